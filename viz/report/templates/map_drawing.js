// What lies on a map: metal, outlines, axes, values of the lines, the worst place.
function levelText(layer, value) {
  if (layer.unit === "%") return `${short(value)} %`;
  const unit = scaledUnit(Math.max(...layer.levels.map(Math.abs)), "V");
  return `${short(value * unit.factor)} ${unit.symbol}`;
}
function valueText(layer, value) {
  return layer.unit === "%" ? shareText(value) : withUnit(value, "V");
}

function metalOf(variant, layer) {
  return layer.metal || (layer.of && variant.byKey[layer.of].metal);
}

function drawMap(canvas, view, variant, layer) {
  const picture = (view.pictures[`${variant.name}/${layer.key}`] ||= mapPicture(view, variant, layer));
  const pen = canvas.getContext("2d"), { ratio, box, plot } = view;
  pen.setTransform(1, 0, 0, 1, 0, 0);
  pen.fillStyle = "#fff";
  pen.fillRect(0, 0, canvas.width, canvas.height);
  pen.putImageData(picture.image, Math.round(box.left * ratio), Math.round(box.top * ratio));
  pen.setTransform(ratio, 0, 0, ratio, 0, 0);
  pen.save();
  pen.beginPath();
  pen.rect(box.left, box.top, plot.w / ratio, plot.h / ratio);
  pen.clip();
  drawMetal(pen, view);
  for (const ground of layer.grounds || []) {
    if (ground.outline) trace(pen, view, ground.outline, true, [2, 3], "#000", 1.2);
  }
  const touched = metalOf(variant, layer);
  if (touched) drawTouchable(pen, view, touched);
  if (variant.outline && layer.pace) drawStepOutline(pen, view, variant.outline.segments);
  pen.restore();
  drawAxes(pen, view);
  const marks = variant.marks.filter((mark) => mark.layer === layer.key);
  drawLabels(pen, view, layer, picture.edges, marks);
  for (const mark of marks) drawMark(pen, view, mark.feet, `worst ${valueText(layer, mark.value)}`);
}
function trace(pen, view, points, closed, dash, colour, width) {
  pen.beginPath();
  points.forEach(([x, y], k) => (k ? pen.lineTo(view.sx(x), view.sy(y)) : pen.moveTo(view.sx(x), view.sy(y))));
  if (closed) pen.closePath();
  pen.setLineDash(dash); pen.strokeStyle = colour; pen.lineWidth = width; pen.stroke(); pen.setLineDash([]);
}
function drawTouchable(pen, view, object) {
  if (object.kind === "points") {
    for (const [x, y] of object.vertices) {
      pen.strokeStyle = "#7a0f5e"; pen.lineWidth = 2;
      pen.strokeRect(view.sx(x) - 4, view.sy(y) - 4, 8, 8);
    }
    return;
  }
  const closed = object.kind !== "line";
  trace(pen, view, object.vertices, closed, [], "#fff", 4);
  trace(pen, view, object.vertices, closed, [7, 3], "#7a0f5e", 2);
}
function drawStepOutline(pen, view, segments) {
  for (const [colour, width] of [["#fff", 5], ["#111", 2]]) {
    pen.beginPath();
    for (let k = 0; k < segments.length; k += 4) {
      pen.moveTo(view.sx(segments[k]), view.sy(segments[k + 1]));
      pen.lineTo(view.sx(segments[k + 2]), view.sy(segments[k + 3]));
    }
    pen.strokeStyle = colour; pen.lineWidth = width; pen.stroke();
  }
}
function drawMetal(pen, view) {
  const { metal } = surface, { sx, sy } = view;
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
function drawAxes(pen, view) {
  const unit = lengthUnit(), { box, plot, ratio, sx, sy, low, high } = view, { north } = surface;
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
  drawScaleBar(pen, view, right, bottom + 32);
  if (north !== null) drawNorth(pen, north, right - 24, box.top / 2);
}
// A round length with room right of the name of the x axis, and how long it is on the page.
function scaleBar(view) {
  const unit = lengthUnit(), { plot, ratio, box } = view;
  const least = box.left + plot.w / ratio / 2 + 30, named = 46;
  const room = Math.min(140, Math.max(plot.w, plot.h) / ratio / 4, view.width - box.right - least - named);
  const perUnit = plot.w / ratio / (view.dx * unit.factor), most = room / perUnit;
  const decade = 10 ** Math.floor(Math.log10(most));
  const length = [5, 2, 1].map((m) => m * decade).find((each) => each <= most);
  return { text: `${short(length)} ${unit.symbol}`, pixels: length * perUnit, least };
}
// Its name and the bar, half black and half white, end at the edge of the map where it is wide enough.
function drawScaleBar(pen, view, right, y) {
  const { text, pixels, least } = scaleBar(view);
  pen.fillStyle = "#222"; pen.font = "12px sans-serif"; pen.textAlign = "left"; pen.textBaseline = "middle";
  const named = pen.measureText(text).width + 6, left = Math.max(least, right - pixels - named);
  pen.fillText(text, left, y);
  pen.fillRect(left + named, y - 3, pixels / 2, 6);
  pen.strokeStyle = "#222"; pen.lineWidth = 1; pen.strokeRect(left + named, y - 3, pixels, 6);
}
// Half black, half white, as on the other maps; the angle is clockwise from up.
function drawNorth(pen, north, x, y) {
  const size = 12, across = Math.sin(north), up = Math.cos(north);
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
// One label for each line, where it is farthest from the others, the marks and the rods.
function drawLabels(pen, view, layer, edges, marks) {
  const { ratio, box, plot } = view;
  const taken = [...marks.flatMap((mark) => mark.feet), ...surface.rods].map(([x, y]) => [view.px(x), view.py(y)]);
  pen.font = "11px sans-serif"; pen.textAlign = "center"; pen.textBaseline = "middle";
  for (const [level, edge] of Object.entries(edges)) {
    if (edge.length < 24 * ratio) continue;
    const text = levelText(layer, layer.levels[level]);
    const half = pen.measureText(text).width / 2 * ratio + 6 * ratio;
    let best = null, room = 0;
    for (let n = 0; n < edge.length; n += Math.max(1, Math.floor(edge.length / 150))) {
      const x = edge[n] % plot.w, y = Math.floor(edge[n] / plot.w);
      if (x < half || x > plot.w - half || y < 10 * ratio || y > plot.h - 10 * ratio) continue;
      let gap = 120 * ratio;
      for (const [tx, ty, wide = 0] of taken) {
        // Side by side only where both boxes have room.
        if (Math.abs(y - ty) < 18 * ratio && Math.abs(x - tx) < half + wide) gap = 0;
        gap = Math.min(gap, Math.hypot((x - tx) * 0.6, y - ty));
      }
      if (gap > room) { room = gap; best = [x, y, half]; }
    }
    if (!best || room < 22 * ratio) continue;
    taken.push(best);
    const [x, y] = [box.left + best[0] / ratio, box.top + best[1] / ratio];
    const wide = pen.measureText(text).width + 6;
    pen.fillStyle = "#fffe"; pen.fillRect(x - wide / 2, y - 8, wide, 16);
    pen.fillStyle = "#111"; pen.fillText(text, x, y);
  }
}
// Ring at each foot, joined where there are two.
function drawFeet(pen, view, places, colour) {
  const feet = places.map(([x, y]) => [view.sx(x), view.sy(y)]);
  for (const [stroke, width] of [["#fff", 5], [colour, 2]]) {
    pen.strokeStyle = stroke; pen.lineWidth = width;
    pen.beginPath();
    feet.forEach(([x, y], k) => (k ? pen.lineTo(x, y) : pen.moveTo(x, y)));
    for (const [x, y] of feet) { pen.moveTo(x + 6, y); pen.arc(x, y, 6, 0, 7); }
    pen.stroke();
  }
  return feet;
}
function drawMark(pen, view, places, text) {
  const feet = drawFeet(pen, view, places, "#7d0f0a");
  pen.font = "bold 12px sans-serif";
  const wide = pen.measureText(text).width + 10, edge = view.box.left + view.plot.w / view.ratio;
  // Beside the feet, away from the line between them.
  const last = Math.max(...feet.map(([x]) => x)), first = Math.min(...feet.map(([x]) => x));
  const [, y] = feet.find(([x]) => x === last);
  const left = last + 12 + wide < edge ? last + 12 : Math.max(view.box.left + 2, first - 12 - wide);
  const top = Math.max(view.box.top + 2, y - 9);
  pen.fillStyle = "#fff"; pen.fillRect(left, top, wide, 18);
  pen.strokeStyle = "#7d0f0a"; pen.lineWidth = 1; pen.strokeRect(left, top, wide, 18);
  pen.fillStyle = "#7d0f0a"; pen.textAlign = "left"; pen.textBaseline = "middle";
  pen.fillText(text, left + 5, top + 9);
}
