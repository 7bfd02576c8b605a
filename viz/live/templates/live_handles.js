// Places of the plan that are moved: by the pointer, or by arrow keys once one has the focus.
const handles = new Map();
const manyMovables = 60;
const keyWords = { at: "place", centre: "centre", corner: "corner", start: "start", end: "end", ring_radius: "radius", circle_radius: "radius", size: "far corner" };

function isFixed(path) { return (live.shown.fixed || []).some((each) => beginsWith(path, each) || beginsWith(each, path)); }
function partOf(path) { return live.shown.parts.find((part) => part.path && beginsWith(path, part.path)); }
function movableItems() {
  const found = [];
  // What is touched first: what is in the soil lies over it.
  ((live.content.study || {}).touch || []).forEach((each, k) => found.push(...movables(each, ["study", "touch", k])));
  (live.content.electrodes || []).forEach((electrode, e) => (electrode.parts || []).forEach((part, p) => found.push(...movables(part, ["electrodes", e, "parts", p]))));
  if (found.length <= manyMovables) return found;
  return found.filter((item) => item.path.length === 5 && typeof item.path[4] === "string" || (live.selected && beginsWith(item.path, live.selected)));
}
function nameOf(path) {
  const part = partOf(path);
  if (part) return part.name;
  const owner = valueAt(live.content, path.slice(0, 3));
  return (owner && owner.name) || "metal";
}
function labelOf(item) {
  const last = item.path[item.path.length - 1], words = keyWords[last] || `corner ${last + 1}`;
  const where = item.shape === "radius" ? lengthText(lengthOf(item.value).metres) : placeText(...placeOf(item));
  return `${nameOf(item.path)}: ${words}, ${where}${isFixed(item.path) ? ", set by this condition" : ""}`;
}
function ownerOf(path) { return path[0] === "electrodes" ? path.slice(0, 4) : path.slice(0, 3); }

function drawHandles() {
  if (!live.shown || !view) return;
  const seen = new Set(), items = movableItems();
  const chosenPlaces = items.filter((item) => live.selected && beginsWith(item.path, live.selected)).map((item) => onPlan(placeOf(item)));
  for (const item of items) {
    const key = JSON.stringify(item.path);
    seen.add(key);
    let made = handles.get(key);
    if (!made) { made = newHandle(key); handles.set(key, made); handleLayer.append(made.group); }
    made.item = item;
    const [x, y] = onPlan(placeOf(item)), chosen = live.selected && beginsWith(item.path, live.selected);
    made.group.setAttribute("transform", `translate(${x} ${y})`);
    made.group.setAttribute("aria-label", labelOf(item));
    made.group.setAttribute("aria-current", String(Boolean(chosen)));
    made.group.classList.toggle("fixed", isFixed(item.path));
    // Where two lie on each other the pointer takes that of what is selected.
    const covered = !chosen && chosenPlaces.some(([a, b]) => Math.hypot(a - x, b - y) < 8);
    made.group.style.pointerEvents = covered ? "none" : "";
    made.shape(item.shape);
  }
  for (const [key, made] of handles) if (!seen.has(key)) { made.group.remove(); handles.delete(key); }
}
function newHandle(key) {
  const hit = svg("circle", { class: "hit", r: 12 }), mark = svg("path", { class: "seen" });
  const group = svg("g", { class: "handle", tabindex: "0", role: "button", "data-path": key, "aria-roledescription": "place that arrows move" }, hit, mark);
  const made = { group, item: null, shape: (kind) => mark.setAttribute("d", { point: "M5 0a5 5 0 1 0 -10 0a5 5 0 1 0 10 0", radius: "M0 -6L6 0L0 6L-6 0Z", size: "M-5 -5H5V5H-5Z" }[kind]) };
  group.addEventListener("pointerdown", (event) => beginDrag(event, made));
  group.addEventListener("pointermove", (event) => { if (live.drag && live.drag.made === made) dragTo(placeUnder(event)); });
  for (const end of ["pointerup", "pointercancel"]) group.addEventListener(end, () => endDrag(made));
  group.addEventListener("focus", () => { select(ownerOf(made.item.path)); });
  group.addEventListener("keydown", (event) => nudge(event, made));
  return made;
}
function beginDrag(event, made) {
  select(ownerOf(made.item.path));
  if (live.gone || isFixed(made.item.path) || event.button) return;
  event.preventDefault();
  made.group.setPointerCapture(event.pointerId);
  made.group.focus({ preventScroll: true });
  const from = placeUnder(event), at = placeOf(made.item);
  live.drag = { made, item: made.item, value: made.item.value, off: [at[0] - from[0], at[1] - from[1]], moved: false };
}
function dragTo(place) {
  const { drag } = live, to = [place[0] + drag.off[0], place[1] + drag.off[1]];
  const value = valueFor(drag.item, to, finest());
  if (samePath(value, drag.value)) return;
  drag.value = value;
  drag.moved = true;
  put(live.content, drag.item.path, value);
  sendMove({ do: "set", path: drag.item.path, value, moving: true });
  drawHandles();
}
// Escape puts what is dragged back where it was taken from.
function dragBack() {
  const { drag } = live;
  drag.value = drag.item.value;
  put(live.content, drag.item.path, drag.value);
  endDrag(drag.made);
}
function endDrag(made) {
  const { drag } = live;
  if (!drag || drag.made !== made) return;
  live.drag = null;
  if (drag.moved) sendEdit({ do: "set", path: drag.item.path, value: drag.value, moving: false });
  refresh();
}
function nudge(event, made) {
  const way = ways[event.key], { item } = made;
  if (event.key === "Escape" && live.drag && live.drag.made === made) { event.preventDefault(); dragBack(); return; }
  if (event.key === "Delete" && live.selected) { event.preventDefault(); removeSelected(); return; }
  if (!way || live.gone || isFixed(item.path)) return;
  event.preventDefault();
  const step = keyStep(event), [x, y] = placeOf(item);
  const value = valueFor(item, [x + way[0] * step, y + way[1] * step], step / 10);
  put(live.content, item.path, value);
  sendEdit({ do: "set", path: item.path, value, moving: false });
  refresh();
}
function select(path) {
  if (live.selected && samePath(live.selected, path)) return;
  live.selected = path;
  refresh();
}
redraw.push(drawHandles);
