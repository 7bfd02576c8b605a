// One view of a map: which triangle each pixel lies in, and the picture of a layer in pixels.
// All of the area, or what is within reach of a metal, which may be a small part of it.
function extentOf(metal) {
  if (!metal) return [surface.low, surface.high];
  const far = metal.reach + 0.5;
  const along = (k) => metal.vertices.map((vertex) => vertex[k]);
  const low = [0, 1].map((k) => Math.max(surface.low[k], Math.min(...along(k)) - far));
  const high = [0, 1].map((k) => Math.min(surface.high[k], Math.max(...along(k)) + far));
  return [low, high];
}
function mapView(stage, [low, high]) {
  const { X, Y, corners } = surface;
  const width = Math.max(240, stage.clientWidth), ratio = Math.min(2, window.devicePixelRatio || 1);
  const [dx, dy] = [high[0] - low[0], high[1] - low[1]];
  const box = { left: 56, right: 10, top: surface.north === null ? 10 : 52, bottom: 44 };
  const room = width - box.left - box.right;
  const scale = Math.min(room / dx, Math.max(260, 0.8 * window.innerHeight) / dy);
  const plot = { w: Math.max(1, Math.round(scale * dx * ratio)), h: Math.max(1, Math.round(scale * dy * ratio)) };
  const owner = new Int32Array(plot.w * plot.h).fill(-1);
  const px = (x) => (x - low[0]) / dx * plot.w, py = (y) => (high[1] - y) / dy * plot.h;
  for (let t = 0; t < corners.length / 3; t++) {
    const ids = [corners[3 * t], corners[3 * t + 1], corners[3 * t + 2]];
    const xs = ids.map((k) => px(X[k])), ys = ids.map((k) => py(Y[k]));
    const area = (xs[1] - xs[0]) * (ys[2] - ys[0]) - (xs[2] - xs[0]) * (ys[1] - ys[0]);
    if (Math.abs(area) < 1e-12) continue;
    const first = Math.max(0, Math.floor(Math.min(...ys) - 0.5)), last = Math.min(plot.h - 1, Math.ceil(Math.max(...ys)));
    const left = Math.max(0, Math.floor(Math.min(...xs) - 0.5)), right = Math.min(plot.w - 1, Math.ceil(Math.max(...xs)));
    for (let row = first; row <= last; row++) {
      for (let column = left; column <= right; column++) {
        const x = column + 0.5, y = row + 0.5;
        const u = ((xs[1] - x) * (ys[2] - y) - (xs[2] - x) * (ys[1] - y)) / area;
        const v = ((xs[2] - x) * (ys[0] - y) - (xs[0] - x) * (ys[2] - y)) / area;
        if (u >= -1e-9 && v >= -1e-9 && 1 - u - v >= -1e-9) owner[row * plot.w + column] = t;
      }
    }
  }
  return {
    low, high, width, height: plot.h / ratio + box.top + box.bottom, ratio, box, plot, dx, dy, px, py,
    // Places in pixels of the page, within the stage.
    sx: (x) => box.left + px(x) / ratio,
    sy: (y) => box.top + py(y) / ratio,
    triangleAt(column, row) { return owner[row * plot.w + column]; },
    toPlace(column, row) {
      return [low[0] + (column + 0.5) / plot.w * dx, high[1] - (row + 0.5) / plot.h * dy];
    },
    pictures: {},
  };
}

// Colour bands, lines between them, hatching of what does not pass.
function mapPicture(view, variant, layer) {
  const { w, h } = view.plot, ratio = view.ratio;
  const band = new Int16Array(w * h).fill(-1), bad = new Uint8Array(w * h);
  for (let row = 0; row < h; row++) {
    for (let column = 0; column < w; column++) {
      const k = row * w + column, t = view.triangleAt(column, row);
      if (t < 0) continue;
      const [x, y] = view.toPlace(column, row);
      const found = surface.reading(variant, layer, x, y, surface.weights(t, x, y));
      if (!found) continue;
      let b = 0;
      while (b < layer.levels.length && found.value >= layer.levels[b]) b++;
      band[k] = b;
      if (surface.unsafe(layer, found)) bad[k] = 1;
    }
  }
  const image = new ImageData(w, h), pixels = image.data, edges = {};
  const pitch = Math.round(9 * ratio), stroke = Math.round(1.6 * ratio);
  const hundred = layer.unit === "%" ? layer.levels.indexOf(100) : -1;
  for (let k = 0; k < w * h; k++) {
    if (band[k] < 0) continue;
    const row = Math.floor(k / w), column = k % w;
    let colour = layer.fills[band[k]];
    if (bad[k] && (column + row) % pitch < stroke) colour = [20, 20, 20];
    const right = column + 1 < w ? k + 1 : k, below = row + 1 < h ? k + w : k;
    for (const other of [right, below]) {
      if (band[other] < 0 || band[other] === band[k]) continue;
      colour = [70, 74, 80];
      const level = Math.min(band[other], band[k]);
      (edges[level] ||= []).push(k);
    }
    pixels.set([...colour, 255], 4 * k);
  }
  if (hundred >= 0) {
    for (const k of edges[hundred] || []) {
      for (let j = -1; j <= Math.round(ratio); j++) {
        for (const n of [k + j, k + j * w]) if (band[n] >= 0) pixels.set([150, 20, 12, 255], 4 * n);
      }
    }
  }
  return { image, edges };
}
