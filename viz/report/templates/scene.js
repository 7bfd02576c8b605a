// The electrode in its soil: a parallel projection that turns, drawn from back to front.
(() => {
  const source = data.scene;
  const canvas = document.getElementById("scene-canvas"), stage = document.getElementById("scene-stage");
  const metal = unpack(source.metal), leakage = unpack(source.leakage);
  const [low, high] = [source.low, source.high], depth = source.depth * source.stretch;
  const middle = [(low[0] + high[0]) / 2, (low[1] + high[1]) / 2, -depth / 2];
  const size = Math.hypot(high[0] - low[0], high[1] - low[1], depth);
  const soils = ["#efe4cf", "#d8c3a0", "#bfa27c", "#a58766", "#8d7157", "#75604d"];
  const start = { azimuth: -0.6, tilt: 0.5, zoom: 1 };
  let { azimuth, tilt, zoom } = start, surface = true, frame = 0;

  // Bands are round in the reader's unit.
  const bands = () => source.leakageBands[shown.units];
  function level(value) {
    const { levels } = bands();
    let band = 0;
    while (band < levels.length && value >= levels[band]) band++;
    return band;
  }

  function draw() {
    frame = 0;
    const width = Math.max(240, stage.clientWidth - 2), height = Math.round(Math.min(0.68 * width, 560));
    const ratio = Math.min(2, window.devicePixelRatio || 1);
    canvas.width = width * ratio; canvas.height = height * ratio;
    let pen = canvas.getContext("2d");
    pen.setTransform(ratio, 0, 0, ratio, 0, 0);
    // All of the block in the first view, below the names of the axes.
    const tall = Math.sin(start.tilt) * Math.hypot(high[0] - low[0], high[1] - low[1]) + Math.cos(start.tilt) * depth;
    const scale = zoom * Math.min(width / size, height / tall) * 0.93;
    const [ca, sa, ct, st] = [Math.cos(azimuth), Math.sin(azimuth), Math.cos(tilt), Math.sin(tilt)];
    // Screen x and y, and how far away: larger is farther.
    const project = (x, y, z) => {
      const [u, v, w] = [x - middle[0], y - middle[1], z - middle[2]];
      const across = ca * u + sa * v, along = -sa * u + ca * v;
      return [width / 2 + scale * across, height / 2 - scale * (ct * w + st * along), ct * along - st * w];
    };
    const face = (points, fill, stroke) => {
      pen.beginPath();
      points.forEach((p, k) => { const [x, y] = project(...p); k ? pen.lineTo(x, y) : pen.moveTo(x, y); });
      pen.closePath();
      if (fill) { pen.fillStyle = fill; pen.fill(); }
      if (stroke) { pen.strokeStyle = stroke; pen.lineWidth = 1; pen.stroke(); }
    };
    // Outward normals of the walls; those that look away from the reader are seen from inside.
    const walls = [
      { n: [0, -1], a: [low[0], low[1]], b: [high[0], low[1]] },
      { n: [1, 0], a: [high[0], low[1]], b: [high[0], high[1]] },
      { n: [0, 1], a: [high[0], high[1]], b: [low[0], high[1]] },
      { n: [-1, 0], a: [low[0], high[1]], b: [low[0], low[1]] },
    ];
    const away = (wall) => -sa * wall.n[0] + ca * wall.n[1] > 0;
    const flat = (z) => [[low[0], low[1], z], [high[0], low[1], z], [high[0], high[1], z], [low[0], high[1], z]];
    if (tilt > 0) face(flat(-depth), soils[(source.layers.length - 1) % soils.length], "#0005");
    for (const wall of walls.filter(away)) {
      source.layers.forEach((layer, k) => {
        const [t, b] = [-layer.top * source.stretch, -layer.bottom * source.stretch];
        face([[...wall.a, t], [...wall.b, t], [...wall.b, b], [...wall.a, b]], soils[k % soils.length], "#0006");
      });
    }
    const drawSurface = () => {
      const s = source.surface;
      // Opaque on a sheet of its own first: neighbours that overlap would show as a grid.
      const sheet = new OffscreenCanvas(canvas.width, canvas.height), screen = pen;
      pen = sheet.getContext("2d");
      pen.setTransform(ratio, 0, 0, ratio, 0, 0);
      for (let i = 0; i + 1 < s.x.length; i++) {
        for (let j = 0; j + 1 < s.y.length; j++) {
          const points = [[s.x[i], s.y[j], 0], [s.x[i + 1], s.y[j], 0], [s.x[i + 1], s.y[j + 1], 0], [s.x[i], s.y[j + 1], 0]];
          face(points, s.colours[s.bands[i][j]], s.colours[s.bands[i][j]]);
        }
      }
      pen = screen;
      pen.globalAlpha = 0.62;
      pen.drawImage(sheet, 0, 0, width, height);
      pen.globalAlpha = 1;
      face(flat(0), null, "#000a");
    };
    if (surface && tilt <= 0) drawSurface();
    // Edges of bodies in the soil, below the metal: what they hold shows through.
    pen.strokeStyle = bodyColour; pen.lineWidth = 1.5; pen.setLineDash([8, 3, 2, 3]);
    for (const line of source.bodies.flatMap((body) => body.lines)) {
      pen.beginPath();
      line.forEach(([x, y, z], k) => { const p = project(x, y, z * source.stretch); k ? pen.lineTo(p[0], p[1]) : pen.moveTo(p[0], p[1]); });
      pen.stroke();
    }
    pen.setLineDash([]);
    const pieces = [];
    for (let k = 0; k < leakage.length; k++) {
      const [ax, ay, az, bx, by, bz] = metal.subarray(6 * k, 6 * k + 6);
      const a = project(ax, ay, az * source.stretch), b = project(bx, by, bz * source.stretch);
      pieces.push([a[2] + b[2], a, b, level(leakage[k])]);
    }
    if (surface && tilt > 0) drawSurface();
    pieces.sort((p, q) => q[0] - p[0]);
    const { colours, widths } = bands();
    pen.lineCap = "round";
    for (const [outline, extra] of [["#000", 1.6], [null, 0]]) {
      for (const [, a, b, band] of pieces) {
        pen.strokeStyle = outline || colours[band];
        pen.lineWidth = 1.6 + 3 * widths[band] + extra;
        pen.beginPath(); pen.moveTo(a[0], a[1]); pen.lineTo(b[0], b[1]); pen.stroke();
      }
    }
    for (const wall of walls.filter((w) => !away(w))) face([[...wall.a, 0], [...wall.b, 0], [...wall.b, -depth], [...wall.a, -depth]], null, "#0007");
    labels(pen, project, width);
    stage.dataset.azimuth = azimuth.toFixed(3); stage.dataset.tilt = tilt.toFixed(3);
  }
  function labels(pen, project, width) {
    // Beside the upright edge that is farthest left.
    const uprights = [[low[0], low[1]], [high[0], low[1]], [high[0], high[1]], [low[0], high[1]]];
    const edge = uprights.sort((p, q) => project(...p, 0)[0] - project(...q, 0)[0])[0];
    pen.font = "12px sans-serif"; pen.textBaseline = "middle"; pen.textAlign = "center";
    let last = -Infinity;
    for (const layer of source.layers) {
      const z = -(layer.top + layer.bottom) / 2 * source.stretch;
      const { text } = layer, wide = pen.measureText(text).width + 8;
      const [left, middle] = project(...edge, z), x = left + wide / 2 + 14;
      // Those of thin layers stand below each other, each joined to its layer.
      const y = last = Math.max(middle, last + 17);
      pen.strokeStyle = "#333"; pen.lineWidth = 1;
      pen.beginPath(); pen.moveTo(left, middle); pen.lineTo(x - wide / 2, y); pen.stroke();
      pen.fillStyle = "#fffc"; pen.fillRect(x - wide / 2, y - 8, wide, 16);
      pen.fillStyle = "#111"; pen.fillText(text, x, y);
    }
    pen.font = "12px sans-serif";
    for (const { text, lines } of source.bodies) {
      // At the corner that is farthest down.
      const [x, y] = lines.flat().map(([a, b, c]) => project(a, b, c * source.stretch)).sort((p, q) => q[1] - p[1])[0];
      const wide = pen.measureText(text).width + 8;
      pen.fillStyle = "#fffc"; pen.fillRect(x - wide / 2, y + 2, wide, 16);
      pen.fillStyle = bodyColour; pen.fillText(text, x, y + 10);
    }
    const axes = [["x", [high[0], low[1], 0], [low[0], low[1], 0]], ["y", [low[0], high[1], 0], [low[0], low[1], 0]]];
    pen.fillStyle = "#111"; pen.strokeStyle = "#111"; pen.lineWidth = 1.5; pen.font = "bold 13px sans-serif";
    for (const [name, end, origin] of axes) {
      const a = project(...origin), b = project(...end), length = Math.hypot(b[0] - a[0], b[1] - a[1]) || 1;
      const reach = length + 14;
      pen.fillText(name, Math.min(width - 8, Math.max(8, a[0] + (b[0] - a[0]) / length * reach)), a[1] + (b[1] - a[1]) / length * reach);
    }
  }
  function key() {
    const box = document.getElementById("scene-key");
    const factor = shown.units === "US" ? 0.3048 : 1, symbol = shown.units === "US" ? "A/ft" : "A/m";
    const { levels, colours } = bands();
    const unit = scaledUnit(Math.max(1e-9, ...levels.map(Math.abs)) * factor, symbol);
    const text = (value) => `${short(Number((value * factor * unit.factor).toPrecision(3)))} ${unit.symbol}`;
    box.replaceChildren(element("p", {}, source.leakageName));
    for (let band = colours.length - 1; band >= 0; band--) {
      const name = !levels.length ? "alike everywhere" : band === 0 ? `below ${text(levels[0])}` : band === levels.length ? `${text(levels[band - 1])} and above` : `${text(levels[band - 1])} to ${text(levels[band])}`;
      box.append(element("div", { class: "band" }, element("span", { class: "swatch", colour: colours[band] }), name));
    }
    box.append(element("p", {}, `The wider the line, the more.${levels[0] <= 0 ? " Negative: current enters the metal." : ""}`));
    box.append(element("p", {}, "Soil, from the surface down"));
    source.layers.forEach((layer, k) => {
      const depths = layer.end !== null ? `${lengthText(layer.top)} to ${lengthText(layer.end)}` : layer.top ? `below ${lengthText(layer.top)}` : "all depths";
      box.append(element("div", { class: "band" }, element("span", { class: "swatch", colour: soils[k % soils.length] }), `${layer.text}, ${depths}`));
    });
    if (source.bodies.length) box.append(element("p", {}, `Dash-dotted, bodies in the soil: ${source.bodies.map((body) => body.text).join("; ")}`));
    const notes = [`Block ${lengthText(high[0] - low[0])} by ${lengthText(high[1] - low[1])}, ${lengthText(source.depth)} deep`];
    notes.push(source.stretch === 1 ? "Depths to the same scale" : `Depths drawn ${short(source.stretch)} times larger`);
    for (const note of notes) box.append(element("p", {}, note));
  }
  function later() { if (!frame) frame = requestAnimationFrame(draw); }
  function turn(by, up, nearer = 1) {
    azimuth += by;
    tilt = Math.min(1.55, Math.max(-1.2, tilt + up));
    zoom = Math.min(12, Math.max(0.5, zoom * nearer));
    later();
  }
  const fingers = new Map();
  stage.addEventListener("pointerdown", (event) => { fingers.set(event.pointerId, [event.clientX, event.clientY]); stage.setPointerCapture(event.pointerId); });
  stage.addEventListener("pointermove", (event) => {
    const before = fingers.get(event.pointerId);
    if (!before) return;
    const now = [event.clientX, event.clientY];
    if (fingers.size === 2) {
      const other = [...fingers].find(([id]) => id !== event.pointerId)[1];
      const apart = (p) => Math.hypot(p[0] - other[0], p[1] - other[1]) || 1;
      turn(0, 0, apart(now) / apart(before));
    } else turn((now[0] - before[0]) * -0.008, (now[1] - before[1]) * 0.006);
    fingers.set(event.pointerId, now);
  });
  for (const end of ["pointerup", "pointercancel"]) stage.addEventListener(end, (event) => fingers.delete(event.pointerId));
  stage.addEventListener("wheel", (event) => { if (document.activeElement !== stage && !event.ctrlKey) return; event.preventDefault(); turn(0, 0, event.deltaY < 0 ? 1.12 : 1 / 1.12); }, { passive: false });
  const ways = { left: [0.2, 0], right: [-0.2, 0], up: [0, -0.12], down: [0, 0.12], nearer: [0, 0, 1.25], farther: [0, 0, 0.8] };
  stage.addEventListener("keydown", (event) => {
    const way = ways[event.key.replace("Arrow", "").toLowerCase()];
    if (way) { event.preventDefault(); turn(...way); }
  });
  for (const button of document.querySelectorAll("[data-turn]")) button.addEventListener("click", () => turn(...ways[button.dataset.turn]));
  const toggle = document.getElementById("scene-surface");
  toggle.addEventListener("click", () => {
    surface = !surface;
    toggle.setAttribute("aria-pressed", String(surface));
    toggle.textContent = surface ? "surface shown" : "surface hidden";
    later();
  });
  redraw.push(() => { key(); draw(); });
  key();
  draw();
})();
