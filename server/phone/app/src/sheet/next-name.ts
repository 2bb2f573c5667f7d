/** nextName is the name that follows on a set-up's: the next letter that is in use, or the next number; "" where it is neither. */
export function nextName(last: string, taken: readonly string[], notUsed: string): string {
  const [, head = "", letter = ""] = /^(.*?)([A-Z])$/.exec(last) ?? [];
  if (letter) {
    for (let c = letter.charCodeAt(0) + 1; c <= 90; c++) {
      const name = head + String.fromCharCode(c);
      if (!notUsed.includes(String.fromCharCode(c)) && !taken.includes(name)) return name;
    }
    return "";
  }
  const [, before = "", digits = ""] = /^(.*?)(\d+)$/.exec(last) ?? [];
  if (!digits) return "";
  let n = Number(digits) + 1;
  while (taken.includes(before + String(n))) n++;
  return before + String(n);
}
