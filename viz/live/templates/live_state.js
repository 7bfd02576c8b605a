// What the page knows, what it was told, and what it asks for.
const byId = (id) => document.getElementById(id);
const surface = { north: null };
const live = {
  number: -1, shown: null, content: null, settled: true, draft: null, confirmed: null, confirming: null, unconfirmed: null,
  without: null, layer: null, cursor: null, pins: [], selected: null, drag: null, refused: null, gone: false, following: false, levels: {},
};
let socket = null, outstanding = 0, waiting = null, asked = false;

function send(message) {
  if (socket && socket.readyState === 1) socket.send(JSON.stringify(message));
}
// Of the moves of a drag one is under way at a time, and the latest follows it.
function sendMove(message) {
  if (outstanding && performance.now() - outstanding < 2000) { waiting = message; return; }
  outstanding = performance.now();
  waiting = null;
  send(message);
}
function answered() {
  outstanding = 0;
  if (waiting) sendMove(waiting);
}
const savings = ["save", "save copy", "run", "export", "report"];
function sendEdit(message) {
  if (!savings.includes(message.do)) live.following = true;
  waiting = null;
  outstanding = 0;
  send(message);
}
function refresh() {
  if (asked) return;
  asked = true;
  requestAnimationFrame(() => { asked = false; for (const draw of redraw) draw(); });
}
// The newest numbers there are: confirmed ones of the last edit, else the last draft.
function picture() {
  const { draft, confirmed } = live;
  if (confirmed && (!draft || confirmed.number >= draft.number)) return confirmed;
  return draft;
}
function isStale() { const found = picture(); return Boolean(found) && found.number < live.number; }
// Whether numbers are confirmed for the very case that is shown, with no edit of it under way.
function isSure(found) {
  return Boolean(found) && found.say === "confirmed" && !isStale() && !live.following && !(live.drag && live.drag.moved) && !live.gone;
}
function standing(found) {
  if (isSure(found) || found.say === "draft") return found.say;
  return live.gone ? "last known" : "of the state before";
}
function arraysOf(header, bytes) {
  const found = {};
  for (const { name, shape, offset } of header.arrays) {
    found[name] = new Float32Array(bytes, offset, shape.reduce((a, b) => a * b, 1));
  }
  return found;
}
function take(message, bytes) {
  const told = {
    case: takeCase, draft: takeNumbers, confirmed: takeNumbers, refused: takeRefusal,
    gone: () => { live.gone = true; },
    confirming: () => { if (message.number >= live.number) { live.confirming = message; live.unconfirmed = null; } },
    "no draft": () => { if (message.number >= live.number) live.without = message; answered(); },
    "not confirmed": () => { if (message.number >= live.number) { live.unconfirmed = message; live.confirming = null; } },
    working: () => { live.work = message; },
    done: () => { live.work = message; say(message.files && message.files.length ? `${message.what}: ${message.files.join(", ")}` : `${message.what}: done`); },
    failed: () => { live.work = message; live.refused = { problems: message.problems, do: {} }; },
  }[message.say];
  if (told) told(message, bytes);
  refresh();
}
function takeCase(message) {
  if (message.number < live.number) return;
  const first = !live.shown, before = live.shown, edited = message.number > live.number;
  Object.assign(live, message, { shown: message.case, settled: message.settled !== false });
  live.content = structuredClone(message.case.content);
  live.refused = live.without = null;
  live.following = false;
  if (edited) live.confirming = live.unconfirmed = null;
  if (live.drag) put(live.content, live.drag.item.path, live.drag.value);
  surface.north = live.shown.north;
  if (first) {
    root.dataset.showUnits = live.shown.units;
    root.dataset.showVocabulary = live.shown.units === "US" ? "ground" : "earth";
  }
  // Another condition has other numbers of the same edit: what was known is not about it.
  if (before && before.variant !== live.shown.variant) live.draft = live.confirmed = null;
  if (live.selected && !valueAt(live.content, live.selected)) live.selected = null;
}
function takeNumbers(message, bytes) {
  const known = picture(), kind = message.say;
  if (kind === "draft") answered();
  if (live.shown && (message.variant || "") !== (live.shown.variant || "")) return;
  if (known && message.number < known.number) return;
  live[kind] = { ...message, values: arraysOf(message, bytes) };
  if (kind === "confirmed") live.confirming = null;
  if (message.map) keepLevels(message.map.layers);
  if (live.settled || kind === "confirmed") say(spoken());
}
// While something is dragged the levels stay, so that colours tell what changes.
function keepLevels(layers) {
  for (const layer of layers) {
    if (!live.drag || !live.levels[layer.key]) live.levels[layer.key] = { levels: layer.levels, colours: layer.colours };
  }
}
function takeRefusal(message) {
  live.following = false;
  live.refused = message;
  if (!live.drag) live.content = structuredClone(live.shown.content);
  answered();
}
function say(text) { byId("said").textContent = text; }
