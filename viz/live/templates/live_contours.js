// Maps of a raster: bands, lines of equal value, values between its places.
// Raster: {low, high, shape: [nx, ny]}; values by x, then y, not a number where there is nothing.
function cellOf({ low, high, shape }, x, y) {
  const along = (v, k) => (v - low[k]) / (high[k] - low[k]) * (shape[k] - 1);
  const [u, v] = [along(x, 0), along(y, 1)];
  if (!(u >= -1e-9 && v >= -1e-9 && u <= shape[0] - 1 + 1e-9 && v <= shape[1] - 1 + 1e-9)) return null;
  const i = Math.min(shape[0] - 2, Math.max(0, Math.floor(u))), j = Math.min(shape[1] - 2, Math.max(0, Math.floor(v)));
  return { i, j, s: u - i, t: v - j };
}
function valueBetween(raster, values, x, y) {
  const cell = cellOf(raster, x, y);
  if (!cell) return NaN;
  const n = raster.shape[1], { i, j, s, t } = cell, k = i * n + j;
  const corners = [[values[k], (1 - s) * (1 - t)], [values[k + 1], (1 - s) * t], [values[k + n], s * (1 - t)], [values[k + n + 1], s * t]];
  return corners.reduce((sum, [value, weight]) => (weight > 1e-9 ? sum + value * weight : sum), 0);
}
function valueNearest(raster, values, x, y) {
  const cell = cellOf(raster, x, y);
  if (!cell) return NaN;
  return values[(cell.i + Math.round(cell.s)) * raster.shape[1] + cell.j + Math.round(cell.t)];
}
// Values carried on over two places beyond their edge, which is then cut where it truly is.
function carriedOn({ shape: [nx, ny] }, values) {
  let found = values;
  for (let round = 0; round < 2; round++) {
    const before = found;
    found = Float32Array.from(before);
    for (let i = 0; i < nx; i++) {
      for (let j = 0; j < ny; j++) {
        if (before[i * ny + j] === before[i * ny + j]) continue;
        let sum = 0, count = 0;
        for (let a = Math.max(0, i - 1); a <= Math.min(nx - 1, i + 1); a++) {
          for (let b = Math.max(0, j - 1); b <= Math.min(ny - 1, j + 1); b++) {
            const value = before[a * ny + b];
            if (value === value) { sum += value; count++; }
          }
        }
        if (count) found[i * ny + j] = sum / count;
      }
    }
  }
  return found;
}
function bandOf(levels, value) {
  let k = 0;
  while (k < levels.length && value >= levels[k]) k++;
  return k;
}
function bytesOf(colour) { return [1, 3, 5].map((at) => parseInt(colour.slice(at, at + 2), 16)); }
// The map in pixels of the page, hatched where the limit is not kept.
function paintBands(pen, view, raster, layer, values, unsafe) {
  const { box, plot, ratio } = view, n = raster.shape[1];
  const left = Math.round(view.sx(Math.max(raster.low[0], view.low[0])) * ratio), right = Math.round(view.sx(Math.min(raster.high[0], view.high[0])) * ratio);
  const top = Math.round(view.sy(Math.min(raster.high[1], view.high[1])) * ratio), bottom = Math.round(view.sy(Math.max(raster.low[1], view.low[1])) * ratio);
  const wide = right - left, tall = bottom - top;
  if (wide < 2 || tall < 2) return;
  const image = pen.createImageData(wide, tall), pixels = image.data, colours = layer.colours.map(bytesOf);
  const columns = new Float64Array(wide), gap = Math.round(9 * ratio), line = Math.max(1, Math.round(1.1 * ratio));
  for (let p = 0; p < wide; p++) {
    const x = view.low[0] + ((left + p + 0.5) / ratio - box.left) / plot.w * view.dx;
    columns[p] = Math.min(raster.shape[0] - 1.000001, Math.max(0, (x - raster.low[0]) / (raster.high[0] - raster.low[0]) * (raster.shape[0] - 1)));
  }
  for (let q = 0; q < tall; q++) {
    const y = view.high[1] - ((top + q + 0.5) / ratio - box.top) / plot.h * view.dy;
    const v = Math.min(n - 1.000001, Math.max(0, (y - raster.low[1]) / (raster.high[1] - raster.low[1]) * (n - 1)));
    const j = Math.floor(v), t = v - j;
    for (let p = 0; p < wide; p++) {
      const i = Math.floor(columns[p]), s = columns[p] - i, k = i * n + j;
      const value = (values[k] * (1 - t) + values[k + 1] * t) * (1 - s) + (values[k + n] * (1 - t) + values[k + n + 1] * t) * s;
      if (!(value === value)) continue;
      const dark = unsafe && (left + p + top + q) % gap < line && unsafe(value, i + (s > 0.5), j + (t > 0.5));
      const [r, g, b] = dark ? [20, 20, 20] : colours[bandOf(layer.levels, value)];
      const at = 4 * (q * wide + p);
      pixels[at] = r; pixels[at + 1] = g; pixels[at + 2] = b; pixels[at + 3] = 255;
    }
  }
  pen.putImageData(image, left, top);
}
// Lines of one value as chains of places: {places, edges}, open ones with their last side marked.
function linesAt(raster, values, level) {
  const [nx, ny] = raster.shape, dx = (raster.high[0] - raster.low[0]) / (nx - 1), dy = (raster.high[1] - raster.low[1]) / (ny - 1);
  const ends = new Map(), links = [];
  const meet = (i, j, down) => {
    // The place on the side from node (i, j) up along y, or along x.
    const k = i * ny + j, other = down ? k + 1 : k + ny, share = (level - values[k]) / (values[other] - values[k]);
    return { key: 2 * k + (down ? 1 : 0), at: down ? [raster.low[0] + i * dx, raster.low[1] + (j + share) * dy] : [raster.low[0] + (i + share) * dx, raster.low[1] + j * dy] };
  };
  const join = (one, other) => {
    const link = { ends: [one, other], used: false };
    links.push(link);
    for (const end of [one, other]) ends.set(end.key, [...(ends.get(end.key) || []), link]);
  };
  for (let i = 0; i < nx - 1; i++) {
    for (let j = 0; j < ny - 1; j++) {
      const k = i * ny + j, a = values[k], b = values[k + ny], c = values[k + ny + 1], d = values[k + 1];
      const low = Math.min(a, b, c, d), high = Math.max(a, b, c, d);
      if (!(low < level && high >= level)) continue;
      const over = [a, b, c, d].map((value) => value >= level), sides = [];
      if (over[0] !== over[1]) sides.push(meet(i, j, false));
      if (over[1] !== over[2]) sides.push(meet(i + 1, j, true));
      if (over[2] !== over[3]) sides.push(meet(i, j + 1, false));
      if (over[3] !== over[0]) sides.push(meet(i, j, true));
      if (sides.length === 2) join(sides[0], sides[1]);
      if (sides.length === 4) {
        const middle = (a + b + c + d) / 4 >= level;
        if (middle === over[0]) { join(sides[0], sides[1]); join(sides[2], sides[3]); } else { join(sides[3], sides[0]); join(sides[1], sides[2]); }
      }
    }
  }
  const next = (key) => (ends.get(key) || []).find((link) => !link.used);
  const follow = (key, places) => {
    for (let link = next(key); link; link = next(key)) {
      link.used = true;
      const to = link.ends[0].key === key ? link.ends[1] : link.ends[0];
      places.push(to.at);
      key = to.key;
    }
    return key;
  };
  const found = [];
  for (const link of links) {
    if (link.used) continue;
    link.used = true;
    const [one, other] = link.ends, places = [one.at, other.at];
    const last = follow(other.key, places), back = [];
    const closed = last === one.key;
    if (!closed) follow(one.key, back);
    const whole = [...back.reverse(), ...places];
    if (closed) whole.pop();
    found.push({ places: whole, edges: whole.map((_, k) => !closed && k === whole.length - 1) });
  }
  return found;
}
