// Units and vocabulary; each switch knows nothing of the other.
for (const group of document.querySelectorAll("[data-switch]")) {
  const key = group.dataset.switch === "units" ? "showUnits" : "showVocabulary";
  group.addEventListener("click", (event) => {
    const button = event.target.closest("button");
    if (!button) return;
    root.dataset[key] = button.dataset.value;
    for (const each of group.querySelectorAll("button")) {
      each.setAttribute("aria-pressed", String(each === button));
    }
    for (const draw of redraw) draw();
  });
}
// Tables and pictures that go on beyond the screen say so.
redraw.push(() => {
  for (const each of document.querySelectorAll(".sideways")) {
    each.classList.toggle("wider", each.scrollWidth > each.clientWidth + 1);
  }
});
window.addEventListener("load", () => redraw[0]());
for (const link of document.querySelectorAll(".contents a")) {
  link.addEventListener("click", () => { link.closest("details").open = false; });
}
let resizing = 0;
window.addEventListener("resize", () => {
  clearTimeout(resizing);
  resizing = setTimeout(() => { for (const draw of redraw) draw(); }, 120);
});
window.addEventListener("beforeprint", () => {
  for (const listing of document.querySelectorAll(".listing")) listing.open = true;
});
