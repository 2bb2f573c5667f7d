// What people call a record, from the record as the engine lists it.

/** A record as it is listed: its fields by name, nested where a name has a slash. */
export type Listed = { id: string; kind: string } & Record<string, unknown>;

const text = (v: unknown): string => (typeof v === "string" || typeof v === "number" ? String(v) : "");

/** nameOf is what the crew calls a record: a lamp by its name, a day by number and place. */
export function nameOf(r: Listed): string {
  switch (r.kind) {
    case "production": return text(r["title"]);
    case "day": return [text(r["number"]), text(r["place"]) || text(r["date"])].filter(Boolean).join(" ");
    case "camera": return text(r["letter"]);
    case "body": return text(r["label"]);
    case "take": return `take ${text(r["number"])}${text(r["suffix"])}`;
    case "clip": return text((r["name"] as { text?: unknown } | undefined)?.text) || "clip";
    case "note": case "acceptance": return text(r["text"]) || text(r["reason"]);
  }
  return text(r["name"]) || r.kind;
}
