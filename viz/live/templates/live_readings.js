// What the numbers say at a place and of the whole, in words.
function chosenLayer() {
  const found = picture();
  if (!found || !found.map) return null;
  const { layers } = found.map, first = layers.find((layer) => layer.unit === "%") || layers[0];
  const layer = layers.find((each) => each.key === live.layer) || first;
  return { ...layer, ...(live.drag ? live.levels[layer.key] : null), asked: [] };
}
function layerTitle(layer) {
  if (layer.unit === "%") return `share: ${layer.name}`;
  return { potential: "surface potential", touch: `touch: ${layer.name}`, step: "step" }[layer.kind];
}
// Values that a map is drawn by: sizes, shares in percent.
function drawnValues(found, layer) {
  const values = found.values[layer.key];
  found.drawn ||= {};
  return (found.drawn[layer.key] ||= Float32Array.from(values, layer.unit === "%" ? (v) => 100 * v : layer.kind === "touch" ? Math.abs : (v) => v));
}
function readAt(x, y) {
  const found = picture();
  if (!found || !found.map || !cellOf(found.map, x, y)) return null;
  const { map, values } = found, at = (key) => valueBetween(map, values[key], x, y);
  const angle = valueNearest(map, values.direction, x, y), rows = [];
  const potential = at("potential");
  if (Number.isNaN(potential)) return { x, y, rows: [{ name: "no ground", text: "nobody stands here" }] };
  rows.push({ name: "potential", text: `${withUnit(Math.abs(potential), "V")}${potential < 0 ? ", opposite to the rise" : ""}` });
  map.metals.forEach((name, k) => {
    const value = at(`touch${k}`);
    rows.push({ name: `touch, ${name}`, text: Number.isNaN(value) ? "out of reach" : `${withUnit(Math.abs(value), "V")}${value < 0 ? ", the soil ABOVE the metal" : ", the metal above the soil"}`, quiet: Number.isNaN(value) });
  });
  const step = at("step"), otherFoot = [x + map.pace * Math.cos(angle), y + map.pace * Math.sin(angle)];
  rows.push({ name: "step", text: `${withUnit(step, "V")}, other foot at ${placeText(...otherFoot)}` });
  for (const layer of map.layers) {
    if (layer.unit !== "%") continue;
    const share = at(layer.key), limit = valueNearest(map, values[layer.key.replace("share", "limit")], x, y);
    if (Number.isNaN(share)) continue;
    // A draft is read and not judged.
    const over = isSure(found) && !(share * limit + layer.error <= limit);
    rows.push({ name: layer.name, over, text: `${over ? "✕ " : ""}${shareText(100 * share)} of ${withUnit(limit, "V")} ${term("permissible")}${over && share <= 1 ? ", too close" : ""}` });
  }
  return { x, y, rows, otherFoot };
}
// The electrode that rises most is what the large numbers are of.
function mainElectrode(found) {
  return found && found.electrodes.length ? found.electrodes.reduce((a, b) => (b.rise > a.rise ? b : a)) : null;
}
// How a confirmed result and the draft of the same edit agree: null while there is only one.
function agreementOf() {
  const { draft, confirmed } = live, mine = mainElectrode(draft), sure = mainElectrode(confirmed);
  if (!mine || !sure || draft.number !== confirmed.number) return null;
  const apart = mine.resistance / sure.resistance - 1, band = confirmed.bands.resistance + draft.error;
  const volts = Math.max(confirmed.bands.touch, confirmed.bands.step) + draft.error * sure.rise;
  const worst = confirmed.worst.map((item) => {
    const other = draft.worst.find((each) => each.kind === item.kind && each.name === item.name);
    return other ? { item, apart: other.voltage - item.voltage } : null;
  }).filter(Boolean).find((each) => Math.abs(each.apart) > volts);
  return { apart, band, differs: Math.abs(apart) > band, worst };
}
function percent(share) { return `${significant(100 * Math.abs(share), 2)} %`; }
function stateWords() {
  const found = picture();
  if (live.gone) return ["none", "gone: nothing follows any more"];
  if (live.without) return ["none", `no draft: ${live.without.problems.map((each) => each.message || each).join("; ")}`];
  if (live.unconfirmed) return ["none", `draft, not confirmed: ${live.unconfirmed.problems.map((each) => each.message || each).join("; ")}`];
  if (live.confirming && live.confirming.number >= live.number) {
    const { share, step } = live.confirming;
    return ["confirming", `${found && found.electrodes.length ? "draft" : "no draft"} – confirming${share ? ` ${Math.round(100 * share)} %` : ""}${step ? `: ${step}` : ""}`];
  }
  if (!found) return ["draft", "reading the case"];
  if (!found.electrodes.length) return ["none", "no draft: the finite elements are waited for"];
  if (live.drag) return ["draft", "draft – moving"];
  if (found.say === "confirmed" && !isSure(found)) return ["draft", "confirmed of the state before – following"];
  if (found.number < live.number) return ["draft", "draft of the state before – following"];
  if (found.say === "draft") return ["draft", "draft"];
  const agreed = agreementOf(), sure = `confirmed ± ${percent(found.bands.resistance)}`;
  if (agreed && agreed.differs) return ["differs", `differs: the draft was ${percent(agreed.apart)} ${agreed.apart > 0 ? "above" : "below"}; what is shown is confirmed ± ${percent(found.bands.resistance)}`];
  if (agreed && agreed.worst) {
    const { item, apart } = agreed.worst;
    return ["differs", `differs: the draft of ${item.kind}${item.name ? ` '${item.name}'` : ""} was ${withUnit(Math.abs(apart), "V")} ${apart > 0 ? "above" : "below"}; what is shown is ${sure}`];
  }
  return ["confirmed", sure];
}
function spoken() {
  const found = picture(), main = mainElectrode(found);
  if (!main) return stateWords()[1];
  const worst = [...found.judged].sort((a, b) => b.share - a.share)[0];
  return [
    isSure(found) ? found.verdict.words : standing(found),
    `${term("resistance")} ${withUnit(main.resistance, "Ω")}`, `rise ${withUnit(main.rise, "V")}`,
    worst ? `${worst.name}: ${shareText(100 * worst.share)} of its limit` : "",
  ].filter(Boolean).join(", ");
}
