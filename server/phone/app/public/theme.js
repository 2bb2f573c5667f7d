// The theme stands before the first paint, so that nothing flashes on a dark stage.
document.documentElement.dataset.theme = localStorage.getItem("evenwhite-theme") || "dark";
document.documentElement.dataset.hand = localStorage.getItem("evenwhite-hand") || "right";
