// The theme stands before the first paint, so that nothing flashes on a dark stage; so does the place.
document.documentElement.dataset.theme = localStorage.getItem("evenwhite-theme") || "dark";
document.documentElement.dataset.hand = localStorage.getItem("evenwhite-hand") || "right";
if (!location.hash) {
  const [at, last] = (localStorage.getItem("evenwhite-last") || "").split(" ");
  const start = (localStorage.getItem("evenwhite-start") || "").split(" ")[1];
  const hash = last && Date.now() - at < 600000 ? last : start;
  if (hash) history.replaceState(null, "", hash);
}
