// Lengths as the file writes them, and the values of a case by their paths.
const metresOf = { m: 1, cm: 0.01, mm: 0.001, km: 1000, ft: 0.3048, in: 0.0254, yd: 0.9144 };
// {metres, unit} of text such as "2.5 m"; null of anything else, which is then not dragged.
function lengthOf(text) {
  const found = typeof text === "string" && text.match(/^\s*([-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?)\s*(m|cm|mm|km|ft|in|yd)\s*$/);
  return found ? { metres: Number(found[1]) * metresOf[found[2]], unit: found[2] } : null;
}
// A length in a unit, no finer than what was aimed at.
function lengthIn(metres, unit, finest) {
  const value = metres / metresOf[unit], step = finest / metresOf[unit];
  const digits = Math.min(4, Math.max(0, Math.ceil(-Math.log10(step) - 1e-9)));
  return `${Number(value.toFixed(digits)) + 0} ${unit}`;
}
function unitOfNew() { return shown.units === "US" ? "ft" : "m"; }

function valueAt(tree, path) {
  return path.reduce((here, step) => (here === undefined || here === null ? undefined : here[step]), tree);
}
function put(tree, path, value) {
  const owner = valueAt(tree, path.slice(0, -1));
  if (owner) owner[path[path.length - 1]] = value;
}
function samePath(one, other) { return JSON.stringify(one) === JSON.stringify(other); }
function beginsWith(path, start) { return start.every((step, k) => path[k] === step); }

// Places that can be moved in the plan: each point, each radius, each far corner of a part or of
// metal that is touched, with the path of its value.
const pointKeys = ["at", "centre", "corner", "start", "end"];
const listKeys = ["points", "polygon", "body", "line", "outline"];
function isPoint(value) {
  return Array.isArray(value) && value.length >= 2 && value.length <= 3 && value.every((each) => lengthOf(each));
}
function movables(block, path) {
  const found = [];
  if (!block || typeof block !== "object") return found;
  for (const [key, value] of Object.entries(block)) {
    const here = [...path, key];
    if (pointKeys.includes(key) && isPoint(value)) found.push({ shape: "point", path: here, value });
    else if (listKeys.includes(key) && Array.isArray(value)) {
      value.forEach((each, k) => { if (isPoint(each)) found.push({ shape: "point", path: [...here, k], value: each }); });
    } else if ((key === "ring_radius" || key === "circle_radius") && lengthOf(value) && isPoint(block.centre)) {
      found.push({ shape: "radius", path: here, value, centre: block.centre });
    } else if (key === "size" && isPoint(value) && isPoint(block.corner) && !block.rotation) {
      found.push({ shape: "size", path: here, value, corner: block.corner });
    } else if (value && typeof value === "object" && !Array.isArray(value) && key !== "drive") {
      found.push(...movables(value, here));
    }
  }
  return found;
}
function placeOf(item) {
  const [a, b] = (item.corner || item.centre || item.value).map((each) => lengthOf(each).metres);
  if (item.shape === "radius") return [a + lengthOf(item.value).metres, b];
  if (item.shape === "size") return item.value.map((each, k) => [a, b][k] + lengthOf(each).metres);
  return [a, b];
}
// The value that puts a movable at a place; a depth in a point stays what it is.
function valueFor(item, [x, y], finest) {
  if (item.shape === "radius") {
    const [a, b] = item.centre.map((each) => lengthOf(each).metres);
    return lengthIn(Math.max(finest, Math.hypot(x - a, y - b)), lengthOf(item.value).unit, finest);
  }
  if (item.shape === "size") {
    const from = item.corner.map((each) => lengthOf(each).metres);
    return item.value.map((each, k) => lengthIn(Math.max(finest, [x, y][k] - from[k]), lengthOf(each).unit, finest));
  }
  return item.value.map((each, k) => (k < 2 ? lengthIn([x, y][k], lengthOf(each).unit, finest) : each));
}
