// Numbers, choices and lists beside the plan.
function capital(text) { return text[0].toUpperCase() + text.slice(1); }
function mark(node, found, value) { node.dataset.number = found ? found.number : -1; node.dataset.value = value === undefined ? "" : value; }

function drawNumbers() {
  if (!live.shown) return;
  const found = picture(), main = mainElectrode(found), [kind, words] = stateWords(), state = byId("state");
  state.textContent = words; state.dataset.kind = kind;
  mark(state, found, kind);
  byId("gone").hidden = !live.gone;
  const named = main && live.shown.groups.length > 1 ? ` of '${main.name}'` : "";
  byId("resistance-name").textContent = `${capital(term("resistance"))}${named}`;
  byId("rise-name").textContent = `${capital(term("rise"))}${named}`;
  for (const [id, value, unit] of [["resistance", main && main.resistance, "Ω"], ["rise", main && main.rise, "V"]]) {
    const node = byId(id);
    node.replaceChildren(main ? withUnit(value, unit) : "–");
    if (main) node.append(element("small", {}, `${standing(found)} ± ${percent(found.say === "confirmed" ? found.bands.resistance : found.error)}${id === "rise" ? `, ${withUnit(main.current, "A")} into the soil` : ""}`));
    node.classList.toggle("stale", isStale());
    mark(node, found, main ? value : undefined);
  }
  drawVerdict(found);
  drawWorst(found);
  const notes = found ? found.notes : [], others = found && found.say === "draft" && found.map ? [`by ${found.wires} thin wires in ${significant(found.seconds, 2)} s`] : [];
  byId("notes").replaceChildren(...notes.map((note) => element("li", {}, note)));
  const work = live.work, box = byId("work"), doing = work && work.say === "working" ? `${work.what}: ${work.step || ""} ${work.share ? `${Math.round(100 * work.share)} %` : ""}` : work && work.say === "done" ? `${work.what}: ${(work.files || []).join(", ") || "done"}` : others[0] || "";
  box.hidden = !doing; box.textContent = doing;
}
// A verdict comes with a confirmed result alone.
function drawVerdict(found) {
  const box = byId("verdict");
  box.hidden = !found;
  if (!isSure(found)) {
    box.className = "open";
    box.textContent = `no verdict: ${live.gone ? "nothing is confirmed any more" : "a draft is not judged, the finite elements confirm it first"}`;
    return;
  }
  const { verdict } = found;
  box.className = !verdict.judged ? "open" : verdict.passes ? "pass" : "fail";
  box.textContent = `${!verdict.judged ? "" : verdict.passes ? "✓ " : "✕ "}${verdict.words}`;
}
function drawWorst(found) {
  const rows = [];
  if (found) {
    const shares = found.map ? found.map.layers.filter((layer) => layer.unit === "%") : [];
    const named = (item) => (item.kind === "step" && !item.name ? "step" : item.name);
    for (const item of found.judged) {
      const outcome = isSure(found) ? found.verdict.outcomes.find((each) => each.name === item.name) : null;
      const over = Boolean(outcome) && !outcome.passes;
      const share = `${over ? "✕ " : ""}${shareText(100 * item.share)}`;
      rows.push([over, [named(item), withUnit(item.voltage, "V"), withUnit(item.limit, "V"), `${share} ${outcome ? outcome.outcome : standing(found)}`]]);
    }
    for (const item of found.worst) {
      if (shares.some((layer) => layer.kind === `share of ${item.kind}` && (item.kind === "step" || layer.metal === item.name))) continue;
      rows.push([false, [item.kind === "step" ? `step of ${lengthText(live.shown.pace)}` : `touch: ${item.name}`, withUnit(item.voltage, "V"), "–", "–"]]);
    }
  }
  byId("worst").querySelector("tbody").replaceChildren(...rows.map(([over, cells]) => element("tr", { class: over ? "over" : "" }, element("th", { scope: "row" }, cells[0]), ...cells.slice(1).map((cell) => element("td", {}, cell)))));
}
function drawLayers() {
  const found = picture(), box = byId("layers"), layer = chosenLayer(), list = found && found.map ? found.map.layers : [];
  const signature = list.map((each) => each.key + each.name).join("|");
  if (box.dataset.of !== signature) {
    box.dataset.of = signature;
    box.replaceChildren(...list.map((each) => {
      const button = element("button", { type: "button", "data-layer": each.key }, layerTitle(each));
      button.addEventListener("click", () => { live.layer = each.key; refresh(); });
      return button;
    }));
  }
  for (const button of box.children) button.setAttribute("aria-pressed", String(Boolean(layer) && button.dataset.layer === layer.key));
  const words = byId("map-words"), key = byId("key");
  key.replaceChildren();
  const buried = live.shown.bodies.map((body) => `dash-dotted: ${body.name}, in the soil: ${body.of}`);
  if (!layer) {
    words.textContent = "no map: see the notes";
    key.append(element("span", { class: "note" }, ["black: metal; white in black: metal that is touched, the grey round it within reach", ...buried].join("; ")));
    return;
  }
  words.textContent = {
    potential: `between each place of the surface and ${term("remote")}`,
    touch: `between '${layer.name}' and a foot within reach of it; prospective`,
    step: `between a foot at each place and one ${lengthText(found.map.pace)} away, in the worst direction; prospective`,
    "share of touch": `prospective touch voltage over what is ${term("permissible")} on the ground at each place`,
    "share of step": `prospective step voltage over what is ${term("permissible")} on the ground`,
  }[layer.kind] + ` – ${standing(found)}`;
  const text = (value) => levelText(layer, value), { levels, colours } = layer;
  colours.forEach((colour, k) => {
    const name = !levels.length ? "one value" : k === 0 ? `below ${text(levels[0])}` : k === levels.length ? `${text(levels[k - 1])} and above` : `to ${text(levels[k])}`;
    key.append(element("span", { class: "band" }, element("span", { class: "swatch", colour }), name));
  });
  const notes = ["black: metal; white in black: metal that is touched, the grey round it within reach"];
  if (layer.unit === "%") notes.push("bold line: the limit; hatched: above it, or too close to tell by what is shown");
  if (live.shown.grounds.length) notes.push("dotted: surface layers");
  if (live.shown.people.some((each) => each.outline)) notes.push("dashed: where people stand");
  key.append(element("span", { class: "note" }, [...notes, ...buried].join("; ")));
}
function readRows(list, read) {
  list.replaceChildren();
  for (const { name, text, over } of read.rows) list.append(element("dt", {}, name), element("dd", { class: over ? "over" : "" }, text));
}
function drawHere() {
  const list = byId("here");
  if (!live.cursor) { list.replaceChildren(element("dt", {}, "point at the plan; a click keeps the place")); return; }
  const read = readAt(...live.cursor) || { rows: [] };
  readRows(list, { rows: [{ name: "here", text: placeText(...live.cursor) }, ...read.rows] });
}
// Nodes that stay while numbers change in them, so that what has the focus keeps it.
function drawPins() {
  const list = byId("pins"), found = picture();
  while (list.children.length > live.pins.length) list.lastChild.remove();
  while (list.children.length < live.pins.length) {
    const k = list.children.length, drop = element("button", { type: "button", "aria-label": `drop place ${k + 1}` }, "drop");
    drop.addEventListener("click", () => { live.pins.splice(k, 1); refresh(); });
    list.append(element("li", {}, element("div", { class: "row" }, element("strong"), drop), element("dl", { class: "read" })));
  }
  live.pins.forEach((place, k) => {
    const node = list.children[k];
    node.querySelector("strong").textContent = `${k + 1}: ${placeText(...place)}${found ? ` – ${standing(found)}` : ""}`;
    readRows(node.querySelector("dl"), readAt(...place) || { rows: [{ name: "outside", text: "of the map" }] });
  });
}

// Values of the file, each in a field that stays while it is typed in.
function fieldRows(box, rows) {
  const signature = JSON.stringify(rows.map(({ name, path }) => [name, path]));
  if (box.dataset.of !== signature) {
    box.dataset.of = signature;
    box.replaceChildren(...rows.flatMap(({ name, path }) => (path ? [element("label", { "aria-hidden": "true" }, name), newField(JSON.stringify(path))] : [element("p", { class: "whole" }, name)])));
  }
  const inputs = new Map([...box.querySelectorAll("input")].map((input) => [input.dataset.path, input]));
  for (const { name, path, value } of rows) {
    if (!path) continue;
    const input = inputs.get(JSON.stringify(path)), wrong = live.refused && live.refused.do && samePath(live.refused.do.path, path);
    input.disabled = live.gone || isFixed(path);
    input.setAttribute("aria-label", `${name}${isFixed(path) ? ", set by this condition" : ""}`);
    input.setAttribute("aria-invalid", String(Boolean(wrong)));
    if (document.activeElement !== input) input.value = wrong && typeof live.refused.do.value === "string" ? live.refused.do.value : value;
  }
}
function newField(key) {
  const input = element("input", { "data-path": key, autocomplete: "off", spellcheck: "false" });
  input.addEventListener("change", () => {
    const path = JSON.parse(key), before = valueAt(live.shown.content, path);
    sendEdit({ do: "set", path, value: typeof before === "number" && input.value.trim() !== "" && Number.isFinite(Number(input.value)) ? Number(input.value) : input.value.trim() });
  });
  return input;
}
function leavesOf(block, path, most = 40) {
  const found = [];
  const walk = (value, here, name) => {
    if (found.length >= most) return;
    if (value !== null && typeof value === "object") {
      for (const [key, each] of Object.entries(value)) walk(each, [...here, Array.isArray(value) ? Number(key) : key], Array.isArray(value) ? `${name} ${isPoint(value) ? "xyz"[key] : Number(key) + 1}` : `${name} ${key}`.trim());
    } else if (!(here.length === path.length + 1 && here[path.length] === "kind")) found.push({ name: name.replaceAll("_", " "), path: here, value });
  };
  walk(block, path, "");
  return found;
}
function selectable() {
  const found = live.shown.parts.filter((part) => part.path).map((part) => ({ path: part.path, name: `${part.name}${part.name === part.kind ? "" : ` (${part.kind})`}` }));
  ((live.content.study || {}).touch || []).forEach((each, k) => found.push({ path: ["study", "touch", k], name: `${each.name} (touched)` }));
  return found;
}
function drawFields() {
  const choice = byId("selected"), options = selectable(), signature = JSON.stringify(options);
  if (choice.dataset.of !== signature) {
    choice.dataset.of = signature;
    choice.replaceChildren(element("option", { value: "" }, "nothing"), ...options.map((each) => element("option", { value: JSON.stringify(each.path) }, each.name)));
  }
  choice.value = live.selected ? JSON.stringify(live.selected) : "";
  byId("remove").disabled = !live.selected || live.gone;
  const block = live.selected && valueAt(live.content, live.selected);
  fieldRows(byId("fields"), block ? leavesOf(block, live.selected) : [{ name: "choose a part here or in the plan to read and type its values" }]);
}
function drawSoil() {
  const blocks = layerBlocks();
  if (!blocks) {
    fieldRows(byId("soil"), [
      { name: live.shown.fitted ? "layers are fitted to the survey of the case:" : "the soil is given otherwise:" },
      ...live.shown.layers.map((each, k) => ({ name: `${k + 1}: ${withUnit(each.resistivity, "Ω·m")}${each.thickness ? `, ${lengthText(each.thickness)} thick` : ""}` })),
    ]);
    return;
  }
  fieldRows(byId("soil"), blocks.flatMap((block, k) => leavesOf(block, ["soil", "layers", k]).map((each) => ({ ...each, name: `${k + 1} ${each.name}` }))));
}
function drawBonds() {
  const bonds = live.content.bonds || [], box = byId("bonds");
  byId("bonds-box").hidden = !bonds.length;
  if (box.dataset.of !== String(bonds.length)) {
    box.dataset.of = String(bonds.length);
    box.replaceChildren(...bonds.map((_, k) => {
      const tick = element("input", { type: "checkbox" });
      tick.addEventListener("change", () => sendEdit({ do: "set", path: ["bonds", k, "closed"], value: tick.checked }));
      return element("label", { class: "field" }, tick, element("span"));
    }));
  }
  bonds.forEach((bond, k) => {
    const [tick, words] = box.children[k].children;
    tick.checked = bond.closed; tick.disabled = live.gone || isFixed(["bonds", k, "closed"]);
    words.textContent = `${bond.name}: ${bond.closed ? "made" : "cut"}`;
  });
}
function drawLists() {
  byId("title").textContent = live.shown.title; document.title = `${live.saved === false ? "• " : ""}${live.shown.title} – live`;
  byId("file").textContent = `${live.file || ""}${live.saved === false ? " – changed, not saved" : ""}`;
  byId("undo").disabled = !live.undo || live.gone; byId("redo").disabled = !live.redo || live.gone;
  byId("save").disabled = live.saved !== false || live.gone;
  for (const id of ["save-copy", "run", "report", "export", "add-rod", "add-ring"]) byId(id).disabled = live.gone;
  const names = ["", ...(live.variants || []).map((each) => each.name || each)], choice = byId("variants");
  if (choice.dataset.of !== names.join("|")) { choice.dataset.of = names.join("|"); choice.replaceChildren(...names.map((name) => element("option", { value: name }, name || "as it stands"))); }
  choice.value = live.variant || ""; choice.disabled = names.length < 2;
  byId("changes").replaceChildren(...(live.changes && live.changes.length ? live.changes.map((each) => element("li", {}, each.words || String(each))) : [element("li", { class: "none" }, "none")]));
  const { problems = [] } = live.refused || {}, box = byId("problems");
  box.hidden = !problems.length;
  box.replaceChildren(...(problems.length ? [element("strong", {}, "not taken:")] : []), ...problems.map((each) => element("p", {}, `${each.place ? `${each.place}: ` : ""}${each.message || each}`)));
  const taken = byId("taken");
  taken.hidden = !live.taken_up || !live.undo;
  taken.querySelector("span").textContent = `${live.taken_up} changes of an earlier session were taken up again.`;
  byId("cautions").replaceChildren(...live.shown.cautions[shown.vocabulary].map((text) => element("li", {}, text)));
  byId("units").textContent = shown.units === "US" ? "lengths in ft" : "lengths in m";
  byId("vocabulary").textContent = shown.vocabulary === "earth" ? "terms: earth" : "terms: ground";
}
redraw.push(() => { if (live.shown) for (const draw of [drawNumbers, drawHere, drawPins, drawFields, drawSoil, drawBonds]) draw(); });
// Before the plan, which is as high as these leave it room.
redraw.unshift(() => { if (live.shown) for (const draw of [drawLists, drawLayers]) draw(); });
