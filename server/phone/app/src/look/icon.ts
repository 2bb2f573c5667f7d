import { html, svg, type SVGTemplateResult, type TemplateResult } from "lit";

// Drawn for this app, on 24 by 24: lines of 2, filled parts by class d. Each stands beside its word.
const drawn = {
  now: svg`<path d="M2 17h20"/><path class="d" d="M12 15 6.5 5h11z"/>`,
  lights: svg`<circle class="d" cx="5" cy="12" r="3.4"/><path d="M11 12h11M10 8.5 19.5 3M10 15.5 19.5 21"/>`,
  takes: svg`<path d="M3 6h18M3 12h11M3 18h15" stroke-width="3.2"/>`,
  settle: svg`<path d="M3 5c7 0 6 7 12 7M3 19c7 0 6-7 12-7h6"/>`,
  handOver: svg`<rect x="12.5" y="4" width="10" height="16"/><path d="M1 12h8M5.5 8 9 12l-3.5 4"/>`,
  other: svg`<path d="M12 21V12M12 12 5 4M12 12l7-8"/>`,
  asked: svg`<path d="M3 4h18v12H10l-5 5v-5H3z"/><path class="d" d="M9 8.5h6v3H9z"/>`,
  measure: svg`<path d="M3 20h18M3 20v-7M9 20v-4M15 20v-4M21 20v-7"/><path class="d" d="M12 2.5l4 5-4 5-4-5z"/>`,
  // where the data is: a small box (this phone) and a large one (the laptop)
  sent: svg`<rect x="1.5" y="7" width="5" height="10" fill="currentColor"/>
    <rect x="12.5" y="4" width="10" height="16" fill="currentColor"/><path d="M6.5 12h6"/>`,
  here: svg`<rect x="1.5" y="7" width="5" height="10" fill="currentColor"/>
    <rect x="12.5" y="4" width="10" height="16" stroke-dasharray="3.2 2.6"/>`,
  old: svg`<rect x="1.5" y="7" width="5" height="10" fill="currentColor"/>
    <rect x="12.5" y="4" width="10" height="16" stroke-dasharray="3.2 2.6"/><path d="M17.5 8v5M17.5 15.5v1.5"/>`,
  notSetUp: svg`<rect x="1.5" y="7" width="5" height="10" stroke-dasharray="2.6 2"/>
    <rect x="12.5" y="4" width="10" height="16" fill="currentColor"/>`,
  notPaired: svg`<rect x="1.5" y="7" width="5" height="10"/><rect x="12.5" y="4" width="10" height="16"/>`,
  revoked: svg`<rect x="1.5" y="7" width="5" height="10"/><rect x="12.5" y="4" width="10" height="16"/><path d="M2 2l20 20"/>`,
  reads: svg`<rect x="1.5" y="7" width="5" height="10" fill="currentColor"/><rect x="12.5" y="4" width="10" height="16"/>
    <path d="M15 9h5M15 13h5"/>`,
} satisfies Record<string, SVGTemplateResult>;

export type IconName = keyof typeof drawn;

export function shape(inside: SVGTemplateResult): TemplateResult {
  return html`<svg class="i" viewBox="0 0 24 24" aria-hidden="true">${inside}</svg>`;
}

export function icon(name: IconName): TemplateResult {
  return shape(drawn[name]);
}
