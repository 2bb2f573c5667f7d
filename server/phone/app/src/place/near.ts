// Whether an element is near the screen: one observer for all, since a day has some seventy that are watched.
type Tell = (near: boolean, height: number) => void;

/** How far from the screen rows are made: beyond the edge of what scrolls as well, so that Tab finds the next one. */
const margin = "600px 0px";

const told = new WeakMap<Element, Tell>();

const all = new IntersectionObserver((seen) => {
  for (const s of seen) told.get(s.target)?.(s.isIntersecting, s.boundingClientRect.height);
}, { rootMargin: margin, scrollMargin: margin });

/** watch tells whether an element is near, and how high it is, now and whenever that changes. */
export function watch(e: Element, tell: Tell): void {
  told.set(e, tell);
  all.observe(e);
}

export function unwatch(e: Element): void {
  told.delete(e);
  all.unobserve(e);
}
