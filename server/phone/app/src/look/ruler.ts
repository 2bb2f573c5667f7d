import { html, svg, type TemplateResult } from "lit";

// Cool is left, warm is right; brackets stand at the limit, the tick is the white. A value further
// out than 2.5 limits is an arrow head at the end of the line.
const middle = 150, limitAt = 56, most = 2.5;

/** ruler draws how far something lies from its white, both as the engine told them. */
export function ruler(mired: number | undefined, limit: number, words: string): TemplateResult {
  const share = mired === undefined ? undefined : mired / limit;
  return html`<svg class="ruler" viewBox="0 0 300 26" role="img" aria-label=${words}>
    <path class="a" d="M10 13h280"/>
    <path class=${share === undefined ? "z dash" : "z"} d="M99 5h-5v16h5M201 5h5v16h-5"/>
    <path class="z" d="M150 9v8"/>
    ${share === undefined ? "" : svg`<path class="m" d=${markAt(share)}/>`}
  </svg>`;
}

function markAt(share: number): string {
  if (share > most) return "M286 4l12 9l-12 9z";
  if (share < -most) return "M14 4l-12 9l12 9z";
  const x = (middle + share * limitAt).toFixed(1);
  return `M${x} 3l8 10l-8 10l-8-10z`;
}
