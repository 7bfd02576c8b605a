// Layers of soil with the metal in them, seen from low y; planes between layers are dragged.
const section = byId("section"), planes = byId("planes");
let depths = null;

function layerBlocks() { return ((live.content.soil || {}).layers) || null; }
function thicknessOf(k) {
  const blocks = layerBlocks(), given = blocks && blocks[k] && lengthOf(blocks[k].thickness);
  return given ? given.metres : live.shown.layers[k].thickness;
}
function drawSection() {
  if (!live.shown || !view) return;
  const { layers, metal, bodies } = live.shown, height = sectionHeight, { width, ratio } = view, box = { top: 16, bottom: 18 };
  const tops = [0];
  for (let k = 0; k < layers.length - 1; k++) tops.push(tops[k] + thicknessOf(k));
  const ends = [...[...metal.start, ...metal.end].map((each) => -each[2]), ...bodies.map((each) => Math.min(...each.side.map(([, depth]) => (depth === null ? Infinity : depth))))];
  const deepest = Math.max(1.25 * tops[tops.length - 1], 1.3 * ends.reduce((a, b) => Math.max(a, b), 0), 1);
  if (!depths || !live.drag) depths = { deepest, tops, box, height };
  depths.tops = tops;
  const sz = (depth) => box.top + depth / depths.deepest * (height - box.top - box.bottom);
  depths.sz = sz;
  depths.toDepth = (py) => (py - box.top) / (height - box.top - box.bottom) * depths.deepest;
  section.width = Math.round(width * ratio); section.height = Math.round(height * ratio);
  const pen = section.getContext("2d"), left = view.box.left, right = left + view.plot.w;
  pen.setTransform(ratio, 0, 0, ratio, 0, 0);
  pen.fillStyle = "#fff"; pen.fillRect(0, 0, width, height);
  const logs = layers.map((each) => Math.log(each.resistivity)), low = Math.min(...logs), span = Math.max(...logs) - low;
  pen.font = "12px sans-serif"; pen.textBaseline = "middle";
  layers.forEach((layer, k) => {
    const top = sz(tops[k]), bottom = k + 1 < layers.length ? sz(tops[k + 1]) : height - box.bottom, tone = span ? (logs[k] - low) / span : 0.5;
    pen.fillStyle = `rgb(${Math.round(222 + 22 * tone)},${Math.round(211 + 25 * tone)},${Math.round(190 + 36 * tone)})`;
    pen.fillRect(left, top, right - left, bottom - top);
    hatchLayer(pen, left, right, top, bottom, tone);
  });
  pen.strokeStyle = "#111"; pen.lineWidth = 1.6;
  pen.beginPath(); pen.moveTo(left, sz(0)); pen.lineTo(right, sz(0)); pen.stroke();
  pen.lineWidth = 1.2; pen.setLineDash([7, 4]);
  for (const top of tops.slice(1)) { pen.beginPath(); pen.moveTo(left, sz(top)); pen.lineTo(right, sz(top)); pen.stroke(); }
  pen.setLineDash([]);
  pen.save(); pen.beginPath(); pen.rect(left, 0, right - left, height - box.bottom); pen.clip();
  for (const body of bodies) drawSide(pen, body, sz);
  for (const [colour, wide] of [["#fff", 4], ["#111", 2]]) {
    pen.strokeStyle = pen.fillStyle = colour; pen.lineWidth = wide; pen.lineCap = "round"; pen.beginPath();
    metal.start.forEach((from, k) => { pen.moveTo(view.sx(from[0]), sz(-from[2])); pen.lineTo(view.sx(metal.end[k][0]), sz(-metal.end[k][2])); });
    pen.stroke();
  }
  pen.restore();
  // What a layer has is not written over a body that has something else.
  const overBody = bodies.some((each) => each.side.some(([x]) => view.sx(x) > right - 90));
  layers.forEach((layer, k) => {
    const top = sz(tops[k]), bottom = k + 1 < layers.length ? sz(tops[k + 1]) : height - box.bottom;
    const text = withUnit(layer.resistivity, "Ω·m"), wide = pen.measureText(text).width + 8;
    if (bottom - top < 14) return;
    const from = overBody ? left + 50 : right - wide - 4;
    pen.fillStyle = "#fffd"; pen.fillRect(from, (top + bottom) / 2 - 8, wide, 16);
    pen.fillStyle = "#111"; pen.textAlign = "left"; pen.fillText(text, from + 4, (top + bottom) / 2);
  });
  const unit = lengthUnit(), step = roundStep(depths.deepest * unit.factor, 4);
  pen.fillStyle = "#222"; pen.strokeStyle = "#333"; pen.lineWidth = 1; pen.textAlign = "right";
  for (let k = 0; k * step <= depths.deepest * unit.factor + 1e-9; k++) {
    const y = sz(k * step / unit.factor);
    pen.beginPath(); pen.moveTo(left, y); pen.lineTo(left - 4, y); pen.stroke(); pen.fillText(short(k * step), left - 7, y);
  }
  const drawnOut = (height - box.top - box.bottom) / depths.deepest / view.scale;
  pen.textAlign = "left"; pen.textBaseline = "top";
  pen.fillText(`depth [${unit.symbol}], drawn ${significant(drawnOut, 2)} times as long as the plan`, left, height - 14);
  drawPlanes();
}
// A body in the soil as seen from the south; one that has no end below ends with the section.
function drawSide(pen, { side, name, of }, sz) {
  const below = sz(depths.deepest) + 9, seen = side.map(([x, depth]) => [view.sx(x), depth === null ? below : sz(depth)]);
  pen.beginPath();
  seen.forEach(([x, y], k) => (k ? pen.lineTo(x, y) : pen.moveTo(x, y)));
  pen.closePath();
  pen.fillStyle = `${bodyColour}1c`; pen.fill();
  for (const [colour, wide, dash] of [["#fff", 3.5, []], [bodyColour, 2, [8, 3, 2, 3]]]) {
    pen.strokeStyle = colour; pen.lineWidth = wide; pen.setLineDash(dash); pen.stroke();
  }
  pen.setLineDash([]);
  const middle = (axis) => (Math.min(...seen.map((each) => each[axis])) + Math.max(...seen.map((each) => each[axis]))) / 2;
  const words = `${name}: ${of}`, wide = pen.measureText(words).width + 6, [x, y] = [middle(0), middle(1)];
  pen.textAlign = "center";
  pen.fillStyle = "#fffd"; pen.fillRect(x - wide / 2, y - 8, wide, 16);
  pen.fillStyle = bodyColour; pen.fillText(words, x, y);
}
// Lines that lie the closer the better a layer leads: colour alone does not tell layers apart.
function hatchLayer(pen, left, right, top, bottom, tone) {
  const gap = 7 + 15 * tone;
  pen.strokeStyle = "#0000001c"; pen.lineWidth = 1; pen.beginPath();
  for (let y = top + gap; y < bottom - 1; y += gap) { pen.moveTo(left, y); pen.lineTo(right, y); }
  pen.stroke();
}
const planeButtons = [];
function drawPlanes() {
  const blocks = layerBlocks(), count = live.shown.layers.length - 1;
  while (planeButtons.length > count) planeButtons.pop().remove();
  while (planeButtons.length < count) planeButtons.push(newPlane(planeButtons.length));
  planeButtons.forEach((button, k) => {
    const path = ["soil", "layers", k, "thickness"], still = live.gone || !blocks || !lengthOf(valueAt(live.content, path)) || isFixed(path);
    button.style.top = `${depths.sz(depths.tops[k + 1])}px`;
    button.style.left = `${view.box.left}px`;
    button.style.width = `${view.plot.w}px`;
    button.hidden = still;
    button.setAttribute("aria-valuenow", String(depths.tops[k + 1]));
    button.setAttribute("aria-valuetext", lengthText(depths.tops[k + 1]));
  });
}
function newPlane(k) {
  const button = element("button", { type: "button", class: "plane", role: "slider", "aria-orientation": "vertical", "aria-valuemin": "0", "aria-label": `depth of the lower side of layer ${k + 1}`, "data-plane": String(k) });
  const path = ["soil", "layers", k, "thickness"];
  const drag = () => (live.drag && live.drag.plane === k ? live.drag : null);
  const value = (depth, fine) => {
    const unit = lengthOf(valueAt(live.content, path)).unit, above = depths.tops[k];
    return lengthIn(Math.max(fine, depth - above), unit, fine);
  };
  button.addEventListener("pointerdown", (event) => {
    if (event.button) return;
    event.preventDefault(); button.focus({ preventScroll: true }); button.setPointerCapture(event.pointerId);
    live.drag = { plane: k, item: { path }, value: valueAt(live.content, path), moved: false };
  });
  button.addEventListener("pointermove", (event) => {
    if (!drag()) return;
    const fine = 10 ** Math.round(Math.log10(depths.deepest / 150));
    const to = value(depths.toDepth(event.clientY - section.getBoundingClientRect().top), fine);
    if (to === live.drag.value) return;
    Object.assign(live.drag, { value: to, moved: true });
    put(live.content, path, to);
    sendMove({ do: "set", path, value: to, moving: true });
    refresh();
  });
  for (const end of ["pointerup", "pointercancel"]) button.addEventListener(end, () => {
    const mine = drag();
    if (!mine) return;
    live.drag = null;
    if (mine.moved) sendEdit({ do: "set", path, value: mine.value, moving: false });
    refresh();
  });
  button.addEventListener("keydown", (event) => {
    const way = { ArrowUp: -1, ArrowDown: 1 }[event.key];
    if (!way) return;
    event.preventDefault();
    const step = roundStep(depths.deepest, event.shiftKey ? 10 : 50), to = value(depths.tops[k + 1] + way * step, step / 10);
    put(live.content, path, to);
    sendEdit({ do: "set", path, value: to, moving: false });
    refresh();
  });
  planes.append(button);
  return button;
}
redraw.push(drawSection);
