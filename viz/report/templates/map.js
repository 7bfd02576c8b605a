// Maps of the surface: drawn by pixel from the samples, read at the pointer.
(() => {
  const source = data.map;
  const X = unpack(source.x), Y = unpack(source.y);
  const corners = unpack(source.triangles, source.triangleType);
  const metal = unpack(source.metal);
  const layers = source.layers.map((layer) => ({
    ...layer,
    values: layer.values ? unpack(layer.values) : null,
    voltage: layer.voltage ? unpack(layer.voltage) : null,
    fills: layer.colours.map((c) => [1, 3, 5].map((k) => parseInt(c.slice(k, k + 2), 16))),
  }));
  const byKey = Object.fromEntries(layers.map((layer) => [layer.key, layer]));
  const [low, high] = [source.low, source.high];
  const stage = document.getElementById("map-stage");
  const base = document.getElementById("map-base"), over = document.getElementById("map-over");
  const readOut = document.getElementById("read-out");
  const first = source.marks.filter((mark) => mark.layer.startsWith("share") && byKey[mark.layer])
    .sort((a, b) => b.value - a.value)[0];
  let current = first ? byKey[first.layer] : layers[0];
  let at = null, view = null;

  // Geometry of who stands where.
  function inside(x, y, outline) {
    let odd = false;
    for (let k = 0, n = outline.length; k < n; k++) {
      const [ax, ay] = outline[k], [bx, by] = outline[(k + 1) % n];
      if ((ay > y) !== (by > y) && x < ax + (y - ay) / (by - ay) * (bx - ax)) odd = !odd;
    }
    return odd;
  }
  function distance(x, y, object) {
    const points = object.vertices;
    if (object.kind === "polygon" && inside(x, y, points)) return 0;
    let best = Infinity;
    const closed = object.kind === "polygon" || object.kind === "body";
    const count = object.kind === "points" ? points.length : points.length - (closed ? 0 : 1);
    for (let k = 0; k < count; k++) {
      const [ax, ay] = points[k];
      const [bx, by] = object.kind === "points" ? points[k] : points[(k + 1) % points.length];
      const ux = bx - ax, uy = by - ay, square = ux * ux + uy * uy;
      const share = square > 0 ? Math.min(1, Math.max(0, ((x - ax) * ux + (y - ay) * uy) / square)) : 0;
      best = Math.min(best, Math.hypot(x - ax - share * ux, y - ay - share * uy));
    }
    return best;
  }
  function reaches(x, y, object) {
    const gap = distance(x, y, object);
    if (gap > object.reach * (1 + 1e-9)) return false;
    return object.kind !== "body" || gap <= 1e-9 * object.reach || !inside(x, y, object.vertices);
  }
  function limitAt(x, y, layer) {
    let native = 0, lowest = Infinity;
    for (const ground of layer.grounds) {
      if (!ground.outline) native = ground.limit;
      else if (ground.limit < lowest && inside(x, y, ground.outline)) lowest = ground.limit;
    }
    return lowest < Infinity ? lowest : native;
  }

  // Linear interpolation in a triangle.
  function weights(triangle, x, y) {
    const [a, b, c] = [corners[3 * triangle], corners[3 * triangle + 1], corners[3 * triangle + 2]];
    const det = (Y[b] - Y[c]) * (X[a] - X[c]) + (X[c] - X[b]) * (Y[a] - Y[c]);
    const u = ((Y[b] - Y[c]) * (x - X[c]) + (X[c] - X[b]) * (y - Y[c])) / det;
    const v = ((Y[c] - Y[a]) * (x - X[c]) + (X[a] - X[c]) * (y - Y[c])) / det;
    return [a, b, c, u, v, 1 - u - v];
  }
  function mixed(values, w) { return w[3] * values[w[0]] + w[4] * values[w[1]] + w[5] * values[w[2]]; }

  // What one layer says at a place: value, and for a share the voltage and its limit.
  function reading(layer, x, y, w) {
    if (layer.kind === "touch") {
      return reaches(x, y, layer.metal) ? { value: mixed(layer.values, w) } : null;
    }
    if (layer.kind === "share of touch") {
      if (layer.outline && !inside(x, y, layer.outline)) return null;
      const touch = reading(byKey[layer.of], x, y, w);
      if (!touch) return null;
      const voltage = layer.factor * touch.value, limit = limitAt(x, y, layer);
      return { value: 100 * voltage / limit, voltage, limit };
    }
    const value = mixed(layer.values, w);
    if (Number.isNaN(value)) return null;
    if (layer.kind !== "share of step") return { value };
    const voltage = mixed(layer.voltage, w);
    return { value, voltage, limit: 100 * voltage / value };
  }
  function unsafe(layer, found) {
    return found.limit !== undefined && !(found.voltage + layer.error <= found.limit);
  }

  // Which triangle each pixel of the plot lies in, for one size of the stage.
  function makeView() {
    const width = Math.max(240, stage.clientWidth), ratio = Math.min(2, window.devicePixelRatio || 1);
    const [dx, dy] = [high[0] - low[0], high[1] - low[1]];
    const box = { left: 56, right: 10, top: source.north === null ? 10 : 52, bottom: 44 };
    const room = width - box.left - box.right;
    const scale = Math.min(room / dx, Math.max(260, 0.8 * window.innerHeight) / dy);
    const plot = { w: Math.max(1, Math.round(scale * dx * ratio)), h: Math.max(1, Math.round(scale * dy * ratio)) };
    const height = plot.h / ratio + box.top + box.bottom;
    for (const canvas of [base, over]) {
      canvas.width = Math.round(width * ratio); canvas.height = Math.round(height * ratio);
    }
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
    return { width, height, ratio, box, plot, owner, px, py, dx, dy, pictures: {} };
  }
  function toPlace(column, row) {
    return [low[0] + (column + 0.5) / view.plot.w * view.dx, high[1] - (row + 0.5) / view.plot.h * view.dy];
  }

  // Colour bands, lines between them, hatching of what does not pass.
  function makePicture(layer) {
    const { w, h } = view.plot, ratio = view.ratio;
    const band = new Int16Array(w * h).fill(-1), bad = new Uint8Array(w * h);
    for (let row = 0; row < h; row++) {
      for (let column = 0; column < w; column++) {
        const k = row * w + column, t = view.owner[k];
        if (t < 0) continue;
        const [x, y] = toPlace(column, row);
        const found = reading(layer, x, y, weights(t, x, y));
        if (!found) continue;
        let b = 0;
        while (b < layer.levels.length && found.value >= layer.levels[b]) b++;
        band[k] = b;
        if (unsafe(layer, found)) bad[k] = 1;
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

  function drawBase() {
    const picture = (view.pictures[current.key] ||= makePicture(current));
    const pen = base.getContext("2d"), { ratio, box, plot } = view;
    pen.setTransform(1, 0, 0, 1, 0, 0);
    pen.fillStyle = "#fff";
    pen.fillRect(0, 0, base.width, base.height);
    pen.putImageData(picture.image, Math.round(box.left * ratio), Math.round(box.top * ratio));
    pen.setTransform(ratio, 0, 0, ratio, 0, 0);
    const sx = (x) => box.left + view.px(x) / ratio, sy = (y) => box.top + view.py(y) / ratio;
    pen.save();
    pen.beginPath();
    pen.rect(box.left, box.top, plot.w / ratio, plot.h / ratio);
    pen.clip();
    drawMetal(pen, sx, sy);
    if (current.grounds) {
      for (const ground of current.grounds) if (ground.outline) trace(pen, ground.outline, sx, sy, true, [2, 3], "#000", 1.2);
      const judged = current.of ? byKey[current.of].metal : null;
      if (judged) drawTouchable(pen, judged, sx, sy);
    }
    if (current.metal) drawTouchable(pen, current.metal, sx, sy);
    pen.restore();
    drawAxes(pen, sx, sy);
    drawLabels(pen, picture);
    drawMarks(pen, sx, sy);
  }
  function trace(pen, points, sx, sy, closed, dash, colour, width) {
    pen.beginPath();
    points.forEach(([x, y], k) => (k ? pen.lineTo(sx(x), sy(y)) : pen.moveTo(sx(x), sy(y))));
    if (closed) pen.closePath();
    pen.setLineDash(dash); pen.strokeStyle = colour; pen.lineWidth = width; pen.stroke(); pen.setLineDash([]);
  }
  function drawTouchable(pen, object, sx, sy) {
    if (object.kind === "points") {
      for (const [x, y] of object.vertices) {
        pen.strokeStyle = "#7a0f5e"; pen.lineWidth = 2;
        pen.strokeRect(sx(x) - 4, sy(y) - 4, 8, 8);
      }
      return;
    }
    const closed = object.kind !== "line";
    trace(pen, object.vertices, sx, sy, closed, [], "#fff", 4);
    trace(pen, object.vertices, sx, sy, closed, [7, 3], "#7a0f5e", 2);
  }
  function drawMetal(pen, sx, sy) {
    for (const [colour, width] of [["#fff9", 2.6], ["#111", 1.3]]) {
      pen.strokeStyle = colour; pen.fillStyle = colour; pen.lineWidth = width; pen.lineCap = "round";
      pen.beginPath();
      for (let k = 0; k < metal.length; k += 4) {
        const [ax, ay, bx, by] = [sx(metal[k]), sy(metal[k + 1]), sx(metal[k + 2]), sy(metal[k + 3])];
        if (Math.hypot(bx - ax, by - ay) >= 1) { pen.moveTo(ax, ay); pen.lineTo(bx, by); }
      }
      pen.stroke();
      pen.beginPath();
      for (let k = 0; k < metal.length; k += 4) {
        const [ax, ay, bx, by] = [sx(metal[k]), sy(metal[k + 1]), sx(metal[k + 2]), sy(metal[k + 3])];
        if (Math.hypot(bx - ax, by - ay) < 1) { pen.moveTo(ax + 3, ay); pen.arc(ax, ay, width > 2 ? 4.2 : 3, 0, 7); }
      }
      pen.fill();
    }
  }
  function drawAxes(pen, sx, sy) {
    const unit = lengthUnit(), { box, plot, ratio } = view;
    const right = box.left + plot.w / ratio, bottom = box.top + plot.h / ratio;
    pen.strokeStyle = "#333"; pen.lineWidth = 1; pen.strokeRect(box.left, box.top, plot.w / ratio, plot.h / ratio);
    pen.fillStyle = "#222"; pen.font = "12px sans-serif";
    const step = roundStep(Math.max(view.dx, view.dy) * unit.factor, Math.min(8, plot.w / ratio / 60));
    const ticks = (a, b) => {
      const found = [];
      for (let k = Math.ceil(a * unit.factor / step - 1e-9); k * step <= b * unit.factor + 1e-9; k++) found.push(k * step);
      return found;
    };
    pen.textAlign = "center"; pen.textBaseline = "top";
    for (const v of ticks(low[0], high[0])) {
      const x = sx(v / unit.factor);
      pen.beginPath(); pen.moveTo(x, bottom); pen.lineTo(x, bottom + 5); pen.stroke();
      pen.fillText(short(v), x, bottom + 8);
    }
    pen.fillText(`x [${unit.symbol}]`, (box.left + right) / 2, bottom + 26);
    pen.textAlign = "right"; pen.textBaseline = "middle";
    for (const v of ticks(low[1], high[1])) {
      const y = sy(v / unit.factor);
      pen.beginPath(); pen.moveTo(box.left, y); pen.lineTo(box.left - 5, y); pen.stroke();
      pen.fillText(short(v), box.left - 8, y);
    }
    pen.save(); pen.translate(13, (box.top + bottom) / 2); pen.rotate(-Math.PI / 2);
    pen.textAlign = "center"; pen.fillText(`y [${unit.symbol}]`, 0, 0); pen.restore();
    if (source.north !== null) drawNorth(pen, right - 24, box.top / 2);
  }
  // Half black, half white, as on the other maps; the angle is clockwise from up.
  function drawNorth(pen, x, y) {
    const size = 12, across = Math.sin(source.north), up = Math.cos(source.north);
    const point = (a, b) => [x + size * (a * up + b * across), y - size * (b * up - a * across)];
    for (const [side, colour] of [[-0.5, "#111"], [0.5, "#fff"]]) {
      pen.beginPath();
      for (const corner of [[0, 1], [side, -0.8], [0, -0.4]]) pen.lineTo(...point(...corner));
      pen.closePath();
      pen.fillStyle = colour; pen.fill();
      pen.strokeStyle = "#111"; pen.lineWidth = 1; pen.stroke();
    }
    pen.fillStyle = "#111"; pen.font = "bold 12px sans-serif";
    pen.textAlign = "center"; pen.textBaseline = "middle";
    pen.fillText("N", ...point(0, 1.55));
  }
  // One label for each line, where it is farthest from the others and from the frame.
  function drawLabels(pen, picture) {
    const { ratio, box, plot } = view, taken = [];
    for (const mark of source.marks) {
      if (mark.layer === current.key) for (const [x, y] of mark.feet) taken.push([view.px(x), view.py(y)]);
    }
    pen.font = "11px sans-serif"; pen.textAlign = "center"; pen.textBaseline = "middle";
    for (const [level, edge] of Object.entries(picture.edges)) {
      if (edge.length < 24 * ratio) continue;
      const value = current.levels[level];
      const text = current.unit === "%" ? `${short(value)} %` : levelText(current, value);
      const half = pen.measureText(text).width / 2 * ratio + 6 * ratio;
      let best = null, room = 0;
      for (let n = 0; n < edge.length; n += Math.max(1, Math.floor(edge.length / 150))) {
        const x = edge[n] % plot.w, y = Math.floor(edge[n] / plot.w);
        if (x < half || x > plot.w - half || y < 10 * ratio || y > plot.h - 10 * ratio) continue;
        let gap = 120 * ratio;
        for (const [tx, ty] of taken) gap = Math.min(gap, Math.hypot((x - tx) * 0.6, y - ty));
        if (gap > room) { room = gap; best = [x, y]; }
      }
      if (!best || room < 22 * ratio) continue;
      taken.push(best);
      const [x, y] = [box.left + best[0] / ratio, box.top + best[1] / ratio];
      const wide = pen.measureText(text).width + 6;
      pen.fillStyle = "#fffe"; pen.fillRect(x - wide / 2, y - 8, wide, 16);
      pen.fillStyle = "#111"; pen.fillText(text, x, y);
    }
  }
  function levelText(layer, value) {
    const unit = scaledUnit(Math.max(...layer.levels.map(Math.abs)), "V");
    return `${short(value * unit.factor)} ${unit.symbol}`;
  }
  function drawMarks(pen, sx, sy) {
    for (const mark of source.marks) {
      if (mark.layer !== current.key) continue;
      const feet = mark.feet.map(([x, y]) => [sx(x), sy(y)]);
      pen.strokeStyle = "#fff"; pen.lineWidth = 5;
      for (const pass of [0, 1]) {
        if (pass) { pen.strokeStyle = "#7d0f0a"; pen.lineWidth = 2; }
        pen.beginPath();
        feet.forEach(([x, y], k) => (k ? pen.lineTo(x, y) : pen.moveTo(x, y)));
        for (const [x, y] of feet) { pen.moveTo(x + 6, y); pen.arc(x, y, 6, 0, 7); }
        pen.stroke();
      }
      const [x, y] = feet[0], text = `worst ${valueText(current, mark.value)}`;
      pen.font = "bold 12px sans-serif";
      const wide = pen.measureText(text).width + 10;
      const right = x + 12 + wide < view.box.left + view.plot.w / view.ratio;
      const left = right ? x + 12 : x - 12 - wide;
      const top = Math.max(view.box.top + 2, y - 9);
      pen.fillStyle = "#fff"; pen.fillRect(left, top, wide, 18);
      pen.strokeStyle = "#7d0f0a"; pen.lineWidth = 1; pen.strokeRect(left, top, wide, 18);
      pen.fillStyle = "#7d0f0a"; pen.textAlign = "left"; pen.textBaseline = "middle";
      pen.fillText(text, left + 5, top + 9);
    }
  }
  function valueText(layer, value) {
    return layer.unit === "%" ? `${significant(value)} %` : withUnit(value, "V");
  }

  // The pointer.
  function drawPointer() {
    const pen = over.getContext("2d"), { ratio, box, plot } = view;
    pen.setTransform(ratio, 0, 0, ratio, 0, 0);
    pen.clearRect(0, 0, view.width, view.height);
    if (!at) return;
    const x = box.left + view.px(at[0]) / ratio, y = box.top + view.py(at[1]) / ratio;
    for (const [colour, width] of [["#fff", 3], ["#111", 1]]) {
      pen.strokeStyle = colour; pen.lineWidth = width; pen.beginPath();
      pen.moveTo(box.left, y); pen.lineTo(box.left + plot.w / ratio, y);
      pen.moveTo(x, box.top); pen.lineTo(x, box.top + plot.h / ratio); pen.stroke();
    }
  }
  function row(name, text, { key = "", tone = "", more = "" } = {}) {
    const cell = element("dd", { class: tone, "data-key": key }, text);
    if (more) cell.append(element("small", {}, more));
    readOut.append(element("dt", {}, name), cell);
  }
  function read() {
    readOut.replaceChildren();
    if (!at) {
      row("Point at the map", "place, voltages, limit, margin");
      return;
    }
    const [x, y] = at;
    const column = Math.min(view.plot.w - 1, Math.max(0, Math.floor(view.px(x))));
    const line = Math.min(view.plot.h - 1, Math.max(0, Math.floor(view.py(y))));
    const triangle = view.owner[line * view.plot.w + column];
    readOut.dataset.x = x; readOut.dataset.y = y;
    row("Place", placeText(x, y), { key: "place" });
    if (triangle < 0) return;
    const w = weights(triangle, x, y);
    for (const layer of layers) {
      const found = reading(layer, x, y, w);
      if (layer.kind === "touch" && !found) continue;
      if (!found) continue;
      if (layer.unit === "V") {
        const name = layer.kind === "potential" ? `Potential to ${term("remote")}` : layer.kind === "step" ? "Step, worst direction" : layer.title;
        row(name, withUnit(found.value, "V"), { key: layer.key });
        continue;
      }
      const bad = unsafe(layer, found), margin = withUnit(found.limit - found.voltage, "V");
      row(layer.name, `${bad ? "✕" : "✓"} ${significant(found.value)} %`, {
        key: layer.key,
        tone: bad ? "fail" : "",
        more: `${withUnit(found.voltage, "V")} of ${withUnit(found.limit, "V")} ${term("permissible")}, margin ${margin}`,
      });
    }
  }
  function moveTo(x, y) {
    at = [Math.min(high[0], Math.max(low[0], x)), Math.min(high[1], Math.max(low[1], y))];
    drawPointer();
    read();
  }
  function fromEvent(event) {
    const place = over.getBoundingClientRect(), { box, plot, ratio } = view;
    const px = (event.clientX - place.left - box.left) * ratio, py = (event.clientY - place.top - box.top) * ratio;
    moveTo(low[0] + px / plot.w * view.dx, high[1] - py / plot.h * view.dy);
  }
  over.addEventListener("pointermove", fromEvent);
  over.addEventListener("pointerdown", fromEvent);
  stage.addEventListener("keydown", (event) => {
    const step = (event.shiftKey ? 0.05 : 0.01) * view.dx;
    const way = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1] }[event.key];
    if (!way) return;
    event.preventDefault();
    const [x, y] = at || [(low[0] + high[0]) / 2, (low[1] + high[1]) / 2];
    moveTo(x + way[0] * step, y + way[1] * step);
  });

  // What can be chosen, and the key of what is.
  const choices = document.getElementById("map-choices");
  for (const layer of layers) {
    const button = element("button", { type: "button", "data-layer": layer.key }, layer.title);
    button.addEventListener("click", () => { current = layer; draw(); });
    choices.append(button);
  }
  const words = {
    potential: () => `between each point of the surface and ${term("remote")}`,
    touch: (layer) => `between '${layer.metal.name}' and a foot within reach of it; prospective`,
    step: () => `between a foot at each point and one ${lengthText(source.pace)} away, in the worst direction; prospective`,
    "share of touch": (layer) => `prospective touch voltage over what is ${term("permissible")} on the ground at each point`,
    "share of step": (layer) => `prospective step voltage (${lengthText(layer.pace)}) over what is ${term("permissible")} on the ground`,
  };
  function drawKey() {
    const key = document.getElementById("map-key"), { levels, colours } = current;
    const text = (value) => (current.unit === "%" ? `${short(value)} %` : levelText(current, value));
    key.replaceChildren();
    for (let k = colours.length - 1; k >= 0; k--) {
      const name = !levels.length ? "one value" : k === 0 ? `below ${text(levels[0])}` : k === levels.length ? `${text(levels[k - 1])} and above` : `${text(levels[k - 1])} to ${text(levels[k])}`;
      key.append(element("div", { class: "band" }, element("span", { class: "swatch", colour: colours[k] }), name));
    }
    const notes = ["black: metal in the soil; dots go straight down", "red ring: the worst place"];
    if (current.unit === "%") notes.push("red line: the limit; hatched: does not pass", "dotted: surface layer");
    if (current.metal || current.of) notes.push("purple: metal that is touched; blank: out of reach");
    if (source.thinned) notes.push("samples were thinned to keep the page small");
    for (const note of notes) key.append(element("p", {}, note));
    document.getElementById("map-heading").textContent = `${current.title}: ${words[current.kind](current)}`;
    for (const button of choices.children) button.setAttribute("aria-pressed", String(button.dataset.layer === current.key));
  }
  function draw() {
    if (!view || view.width !== Math.max(240, stage.clientWidth)) view = makeView();
    drawKey(); drawBase(); drawPointer(); read();
  }
  redraw.push(draw);
  draw();
})();
