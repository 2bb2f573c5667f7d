// The engine's pictures in the page: their own style is left out, the app's sheet draws them in its theme.
import { html, nothing, type TemplateResult } from "lit";

const drawn = new Map<string, SVGSVGElement>();
const kept = 12;

/** drawing puts a picture into the page. plot shows the drawing alone, without the list under it. */
export function drawing(svg: string | undefined, plot = false): TemplateResult | typeof nothing {
  if (!svg) return nothing;
  const key = `${plot} ${svg}`;
  let node = drawn.get(key);
  if (!node) {
    const root = new DOMParser().parseFromString(svg, "image/svg+xml").documentElement;
    if (!(root instanceof SVGSVGElement)) return nothing;
    node = document.importNode(root, true);
    node.querySelector("style")?.remove();
    named(node);
    if (plot && node.dataset["plot"]) node.setAttribute("viewBox", node.dataset["plot"]);
    node.removeAttribute("width");
    node.removeAttribute("height");
    if (drawn.size >= kept) drawn.delete(drawn.keys().next().value!);
    drawn.set(key, node);
  }
  return html`<div class="pic">${node}</div>`;
}

let names = 0;

/** named gives title and description ids of their own: several pictures may stand in one page. */
function named(node: SVGSVGElement): void {
  const ids = ["title", "desc"].flatMap((part) => {
    const e = node.querySelector(`:scope > ${part}`);
    if (!e) return [];
    e.id = `picture-${part}-${++names}`;
    return [e.id];
  });
  node.setAttribute("aria-labelledby", ids[0] ?? "");
  if (ids[1]) node.setAttribute("aria-describedby", ids[1]);
}
