// The plan: where its places are on the page, the map and the metal, the cursor and what is pinned.
const ground = byId("ground"), plan = byId("plan"), sheet = byId("sheet");
const most = { pins: 8 };
const sectionHeight = 140;
let view = null;

function chosenView() {
  const [x0, y0, x1, y1] = live.shown.area, room = Math.max(240, sheet.parentElement.clientWidth);
  if (view && live.drag && view.room === room) return view;
  const box = { left: 52, right: 10, top: surface.north === null ? 10 : 52, bottom: 44 };
  const [dx, dy] = [x1 - x0, y1 - y0], tallest = tallestPlan(box);
  const scale = Math.min((room - box.left - box.right) / dx, tallest / dy), plot = { w: scale * dx, h: scale * dy };
  // Wide enough for its scale bar, however narrow the site is.
  const width = Math.min(room, Math.max(240, plot.w + box.left + box.right));
  const { start, end } = live.shown.metal, rods = start.filter((each, k) => Math.hypot(each[0] - end[k][0], each[1] - end[k][1]) * scale < 1);
  return {
    low: [x0, y0], high: [x1, y1], room, width, height: plot.h + box.top + box.bottom, ratio: Math.min(2, window.devicePixelRatio || 1), box, plot, dx, dy, scale,
    samples: { metal: [], rods, underlay: [] },
    sx: (x) => box.left + (x - x0) * scale,
    sy: (y) => box.top + (y1 - y) * scale,
    toPlace: (px, py) => [x0 + (px - box.left) / scale, y1 - (py - box.top) / scale],
  };
}
// So high that key and section are seen with it, where a window is wide; not too low to drag in.
function tallestPlan(box) {
  if (window.innerWidth <= 736) return Math.max(280, 0.6 * window.innerHeight);
  const above = sheet.getBoundingClientRect().top + window.scrollY, margins = 24;
  return Math.max(250, window.innerHeight - above - box.top - box.bottom - byId("key").offsetHeight - sectionHeight - margins);
}
function refreshMetal() {
  const { start, end } = live.shown.metal;
  view.samples.metal = start.flatMap((each, k) => [each[0], each[1], end[k][0], end[k][1]]);
}
function finest() { return 10 ** Math.round(Math.log10(1 / view.scale)); }
// One step of an arrow key.
function keyStep(event) { return roundStep(view.dx * lengthUnit().factor, event.shiftKey ? 20 : 200) / lengthUnit().factor; }
const ways = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1] };

function drawPlan() {
  if (!live.shown) return;
  view = chosenView();
  refreshMetal();
  const { ratio, box, plot, width, height } = view;
  for (const part of [sheet, byId("depths")]) part.style.width = `${width}px`;
  ground.width = Math.round(width * ratio); ground.height = Math.round(height * ratio);
  const pen = ground.getContext("2d"), found = picture(), layer = chosenLayer();
  pen.setTransform(ratio, 0, 0, ratio, 0, 0);
  pen.fillStyle = "#fff"; pen.fillRect(0, 0, width, height);
  if (layer) drawLayer(pen, found, layer);
  pen.save();
  pen.beginPath(); pen.rect(box.left, box.top, plot.w, plot.h); pen.clip();
  drawBodies(pen, view, live.shown.bodies);
  drawPeople(pen);
  drawMetal(pen, view);
  for (const item of live.shown.touch) drawTouchable(pen, view, { kind: item.shape, vertices: item.points });
  pen.restore();
  drawAxes(pen, view);
  if (layer) {
    const marks = marksOf(found, layer);
    drawLabels(pen, view, layer, marks);
    for (const mark of marks) drawMark(pen, view, mark.feet, `${found.say === "draft" ? "draft " : ""}worst ${valueText(layer, mark.value)}`);
  }
  placePlan();
  drawCursor();
}
// Bands and lines on a sheet of their own, cut along the reach and along where people stand.
function drawLayer(pen, found, layer) {
  const own = document.createElement("canvas"), { box, plot, ratio, width, height } = view;
  own.width = ground.width; own.height = ground.height;
  const cut = edgesOf(layer), drawn = drawnValues(found, layer), values = cut.length ? carriedOn(found.map, drawn) : drawn, on = own.getContext("2d");
  paintBands(on, view, found.map, layer, values, layer.unit === "%" ? unsafeAt(found, layer) : null);
  layer.rings = layer.levels.flatMap((level, k) => linesAt(found.map, values, level).map((line) => ({ ...line, band: k + 1 })));
  on.setTransform(ratio, 0, 0, ratio, 0, 0);
  strokeContours(on, view, layer.rings, "#464a50", 1);
  if (layer.unit === "%") {
    const limit = layer.rings.filter((ring) => ring.band === layer.levels.indexOf(100) + 1);
    for (const [colour, wide] of [["#fff", 5], ["#000", 3]]) strokeContours(on, view, limit, colour, wide);
  }
  for (const edge of cut) {
    const shape = document.createElement("canvas");
    shape.width = own.width; shape.height = own.height;
    const by = shape.getContext("2d");
    by.setTransform(ratio, 0, 0, ratio, 0, 0);
    edge(by);
    on.setTransform(1, 0, 0, 1, 0, 0);
    on.globalCompositeOperation = "destination-in";
    on.drawImage(shape, 0, 0);
  }
  pen.save();
  pen.beginPath(); pen.rect(box.left, box.top, plot.w, plot.h); pen.clip();
  pen.drawImage(own, 0, 0, width, height);
  pen.restore();
}
// What fills the ground that a layer is about; none where it is all of it, or has voids in it.
function edgesOf(layer) {
  if (live.shown.bodies.length) return [];
  const touched = live.shown.touch.find((item) => item.name === (layer.kind === "touch" ? layer.name : layer.metal));
  const people = layer.unit === "%" ? live.shown.people.find((each) => each.name === layer.name && each.outline) : null;
  const found = touched ? [(by) => fillReach(by, touched, "#000")] : [];
  if (people) found.push((by) => { tracePoints(by, view, people.outline, true); by.fill(); });
  return found;
}
// All from where a metal can be reached, as feet stand; not inside of a solid thing.
function fillReach(pen, { shape, points }, colour) {
  const reach = live.shown.reach * view.scale;
  pen.lineJoin = pen.lineCap = "round"; pen.strokeStyle = pen.fillStyle = colour; pen.lineWidth = 2 * reach;
  if (shape === "points") {
    pen.beginPath();
    for (const [x, y] of points) { pen.moveTo(view.sx(x) + reach, view.sy(y)); pen.arc(view.sx(x), view.sy(y), reach, 0, 7); }
    pen.fill();
    return;
  }
  tracePoints(pen, view, points, shape !== "line");
  pen.stroke();
  if (shape === "polygon") pen.fill();
  if (shape !== "body" || colour.length > 4) return;
  pen.globalCompositeOperation = "destination-out"; pen.fill(); pen.globalCompositeOperation = "source-over";
}
// Where people stand, what they stand on, and from where metal is reached.
function drawPeople(pen) {
  for (const item of live.shown.touch) fillReach(pen, item, "#0000000d");
  for (const { outline: edge } of live.shown.grounds) { trace(pen, view, edge, true, [], "#fff", 3); trace(pen, view, edge, true, [2, 3], "#000", 1.5); }
  for (const { outline: edge } of live.shown.people) if (edge) { trace(pen, view, edge, true, [], "#fff", 3); trace(pen, view, edge, true, [9, 4], "#3a3a3a", 1.2); }
}
function unsafeAt(found, layer) {
  const limits = found.values[layer.key.replace("share", "limit")], n = found.map.shape[1];
  return (value, i, j) => { const limit = limits[i * n + j]; return !(value / 100 * limit + layer.error <= limit); };
}
function marksOf(found, layer) {
  const from = layer.unit === "%" ? found.judged.filter((item) => item.name === layer.name && item.foot) : found.worst.filter((item) => item.kind === layer.kind && (layer.kind === "step" || item.name === layer.name));
  return from.map((item) => ({ feet: [item.foot, item.otherFoot].filter(Boolean), value: layer.unit === "%" ? 100 * item.share : item.voltage }));
}
function svg(tag, attributes = {}, ...children) {
  const made = document.createElementNS("http://www.w3.org/2000/svg", tag);
  for (const [key, value] of Object.entries(attributes)) made.setAttribute(key, value);
  made.append(...children);
  return made;
}
// The svg has the box of the plot: its pixels are those of the page.
function placePlan() {
  const { box, plot, low, high } = view;
  Object.assign(plan.style, { left: `${box.left}px`, top: `${box.top}px`, width: `${plot.w}px`, height: `${plot.h}px` });
  plan.setAttribute("viewBox", `0 0 ${plot.w} ${plot.h}`);
  plan.dataset.extent = [...low, ...high].join(" ");
}
function onPlan([x, y]) { return [view.sx(x) - view.box.left, view.sy(y) - view.box.top]; }
const cursorLayer = svg("g", { "aria-hidden": "true" }), pinLayer = svg("g", { "aria-hidden": "true" }), handleLayer = svg("g");
plan.append(cursorLayer, pinLayer, handleLayer);

function drawCursor() {
  cursorLayer.replaceChildren();
  if (live.cursor && !live.drag) {
    const [x, y] = onPlan(live.cursor), { w, h } = view.plot;
    for (const kind of ["halo", "cursor"]) cursorLayer.append(svg("path", { class: kind, fill: "none", d: `M${x} 0V${h}M0 ${y}H${w}` }));
    const layer = chosenLayer(), read = layer && (layer.kind === "step" || layer.kind === "share of step") && readAt(...live.cursor);
    if (read && read.otherFoot) {
      const [a, b] = onPlan(read.otherFoot);
      for (const kind of ["halo", "cursor"]) cursorLayer.append(svg("path", { class: kind, fill: "none", d: `M${x} ${y}L${a} ${b}M${a + 6} ${b}a6 6 0 1 0 -12 0a6 6 0 1 0 12 0` }));
    }
  }
  pinLayer.replaceChildren(...live.pins.map((place, k) => {
    const [x, y] = onPlan(place);
    return svg("g", { class: "pin", transform: `translate(${x} ${y})` }, svg("circle", { r: 9 }), svg("text", {}, String(k + 1)));
  }));
}
function pin(place) {
  if (live.pins.length >= most.pins) live.pins.shift();
  live.pins.push(place);
  refresh();
}
function placeUnder(event) {
  const place = plan.getBoundingClientRect();
  return view.toPlace(event.clientX - place.left + view.box.left, event.clientY - place.top + view.box.top);
}
plan.addEventListener("pointermove", (event) => {
  if (!view || live.drag || event.pointerType === "touch") return;
  live.cursor = placeUnder(event);
  drawCursor(); drawHere();
});
plan.addEventListener("pointerleave", () => { if (view && document.activeElement !== plan) { live.cursor = null; drawCursor(); drawHere(); } });
plan.addEventListener("click", (event) => {
  if (!view || event.target.closest(".handle")) return;
  live.cursor = placeUnder(event);
  pin(live.cursor);
});
plan.addEventListener("keydown", (event) => {
  if (event.target !== plan || !view) return;
  const way = ways[event.key];
  if (event.key === "Enter" && live.cursor) { event.preventDefault(); pin([...live.cursor]); say(`place ${live.pins.length} kept`); return; }
  if (event.key === "Escape") { live.cursor = null; refresh(); return; }
  if (!way) return;
  event.preventDefault();
  const at = live.cursor || [0, 1].map((k) => (view.low[k] + view.high[k]) / 2), step = keyStep(event);
  live.cursor = at.map((value, k) => Math.min(view.high[k], Math.max(view.low[k], value + way[k] * step)));
  drawCursor(); drawHere();
  const read = readAt(...live.cursor);
  say(`${placeText(...live.cursor)}: ${read ? read.rows.filter((each) => !each.quiet).map((each) => `${each.name} ${each.text}`).join("; ") : "outside of the map"}`);
});
redraw.push(drawPlan);
window.ohmscapeLive = { toPixel: (x, y) => { const place = plan.getBoundingClientRect(), [a, b] = onPlan([x, y]); return [place.left + a, place.top + b]; } };
