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
  const pen = canvas.getContext("2d"), { ratio, box, plot } = view;
  pen.setTransform(ratio, 0, 0, ratio, 0, 0);
  pen.fillStyle = "#fff";
  pen.fillRect(0, 0, view.width, view.height);
  pen.save();
  pen.beginPath();
  pen.rect(box.left, box.top, plot.w, plot.h);
  pen.clip();
  drawBands(pen, view, layer);
  drawPicture(pen, view, view.samples.picture);
  drawSegments(pen, view, view.samples.underlay, [["#fff", 2.5], ["#808080", 1]]);
  drawBodies(pen, view, variant.bodies);
  drawMetal(pen, view);
  for (const ground of layer.grounds || []) {
    if (!ground.outline) continue;
    trace(pen, view, ground.outline, true, [], "#fff", 3);
    trace(pen, view, ground.outline, true, [2, 3], "#000", 1.5);
  }
  const touched = metalOf(variant, layer);
  if (touched) drawTouchable(pen, view, touched);
  if (variant.outline && layer.pace) drawSegments(pen, view, variant.outline.segments, [["#000", 5], ["#fff", 2]]);
  layer.asked.forEach((level, number) => {
    drawSegments(pen, view, level.segments, [["#000", 5]]);
    pen.setLineDash([[10, 5], [3, 5], [14, 4, 3, 4], [6, 4]][number % 4]);
    drawSegments(pen, view, level.segments, [["#fff", 2]]);
    pen.setLineDash([]);
  });
  if (layer.above) drawSegments(pen, view, layer.above.line, [["#fff", 3.5], ["#000", 1.5]]);
  pen.restore();
  drawAxes(pen, view);
  const marks = variant.marks.filter((mark) => mark.layer === layer.key);
  drawLabels(pen, view, layer, marks);
  for (const mark of marks) drawMark(pen, view, mark.feet, `worst ${valueText(layer, mark.value)}`);
}
// The ground, faintly: what it leaves of the light of the bands.
function drawPicture(pen, view, picture) {
  if (!picture || !picture.image.complete) return;
  const [left, right] = [view.sx(picture.low[0]), view.sx(picture.high[0])];
  const [bottom, top] = [view.sy(picture.low[1]), view.sy(picture.high[1])];
  pen.globalCompositeOperation = "multiply";
  pen.drawImage(picture.image, left, top, right - left, bottom - top);
  pen.globalCompositeOperation = "source-over";
}
// From the lowest level up: each outline holds all that reaches its level.
function drawBands(pen, view, layer) {
  const limit = layer.unit === "%" ? layer.levels.indexOf(100) + 1 : 0, lowest = Math.min(...layer.rings.map((ring) => ring.band));
  for (let band = lowest; band < layer.colours.length; band++) {
    const rings = layer.rings.filter((ring) => ring.band === band);
    outline(pen, view, rings);
    pen.fillStyle = layer.colours[band]; pen.fill();
    if (band > lowest) strokeContours(pen, view, rings, "#464a50", 1);
  }
  pen.save();
  outline(pen, view, layer.unsafe);
  pen.clip();
  pen.beginPath();
  for (let x = view.box.left - view.plot.h; x < view.width; x += 9) {
    pen.moveTo(x, view.height); pen.lineTo(x + view.height, 0);
  }
  pen.strokeStyle = "#141414"; pen.lineWidth = 1.1; pen.stroke();
  pen.restore();
  if (limit <= lowest) return;
  const rings = layer.rings.filter((ring) => ring.band === limit);
  for (const [colour, width] of [["#fff", 5], ["#000", 3]]) strokeContours(pen, view, rings, colour, width);
}
function outline(pen, view, rings) {
  pen.beginPath();
  for (const { places } of rings) {
    places.forEach(([x, y], k) => (k ? pen.lineTo(view.sx(x), view.sy(y)) : pen.moveTo(view.sx(x), view.sy(y))));
    pen.closePath();
  }
}
// Sides of outlines that are contours: not those along the edge of the map.
function contourSides(rings, found) {
  for (const { places, edges } of rings) {
    places.forEach((place, k) => { if (!edges[k]) found(place, places[(k + 1) % places.length]); });
  }
}
function strokeContours(pen, view, rings, colour, width) {
  let last = null;
  pen.beginPath();
  contourSides(rings, (from, to) => {
    if (from !== last) pen.moveTo(view.sx(from[0]), view.sy(from[1]));
    pen.lineTo(view.sx(to[0]), view.sy(to[1]));
    last = to;
  });
  pen.strokeStyle = colour; pen.lineWidth = width; pen.lineJoin = "round"; pen.stroke();
}
// Bodies in the soil: dash-dotted outline, hatched, with their names.
const bodyColour = "#5c246b";
function drawBodies(pen, view, bodies) {
  for (const body of bodies) {
    for (const line of body.hatch) trace(pen, view, line, false, [], bodyColour, 0.8);
    trace(pen, view, body.outline, true, [], "#fff", 3.5);
    trace(pen, view, body.outline, true, [8, 3, 2, 3], bodyColour, 2);
    pen.font = "12px sans-serif"; pen.textAlign = "center"; pen.textBaseline = "middle";
    const [x, y] = [view.sx(body.at[0]), view.sy(body.at[1])], wide = pen.measureText(body.name).width + 6;
    pen.fillStyle = "#fffd"; pen.fillRect(x - wide / 2, y - 8, wide, 16);
    pen.fillStyle = bodyColour; pen.fillText(body.name, x, y);
  }
}
function tracePoints(pen, view, points, closed) {
  pen.beginPath();
  points.forEach(([x, y], k) => (k ? pen.lineTo(view.sx(x), view.sy(y)) : pen.moveTo(view.sx(x), view.sy(y))));
  if (closed) pen.closePath();
}
function trace(pen, view, points, closed, dash, colour, width) {
  tracePoints(pen, view, points, closed);
  pen.setLineDash(dash); pen.strokeStyle = colour; pen.lineWidth = width; pen.stroke(); pen.setLineDash([]);
}
function drawTouchable(pen, view, object) {
  for (const [colour, width] of [["#000", 4.5], ["#fff", 2]]) {
    if (object.kind !== "points") { trace(pen, view, object.vertices, object.kind !== "line", [], colour, width); continue; }
    pen.strokeStyle = colour; pen.lineWidth = width;
    for (const [x, y] of object.vertices) pen.strokeRect(view.sx(x) - 4.5, view.sy(y) - 4.5, 9, 9);
  }
}
function drawSegments(pen, view, segments, strokes) {
  for (const [colour, width] of strokes) {
    pen.beginPath();
    for (let k = 0; k < segments.length; k += 4) {
      // One line as long as it goes on, so that dashes do too.
      const on = k && segments[k] === segments[k - 2] && segments[k + 1] === segments[k - 1];
      if (!on) pen.moveTo(view.sx(segments[k]), view.sy(segments[k + 1]));
      pen.lineTo(view.sx(segments[k + 2]), view.sy(segments[k + 3]));
    }
    pen.strokeStyle = colour; pen.lineWidth = width; pen.stroke();
  }
}
function drawMetal(pen, view) {
  const { samples: { metal }, sx, sy } = view;
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
  const unit = lengthUnit(), { box, plot, sx, sy, low, high } = view, { north } = surface;
  const right = box.left + plot.w, bottom = box.top + plot.h;
  pen.strokeStyle = "#333"; pen.lineWidth = 1; pen.strokeRect(box.left, box.top, plot.w, plot.h);
  pen.fillStyle = "#222"; pen.font = "12px sans-serif";
  const step = roundStep(Math.max(view.dx, view.dy) * unit.factor, Math.min(8, plot.w / 60));
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
  const unit = lengthUnit(), { plot, box } = view;
  const least = box.left + plot.w / 2 + 30, named = 46;
  const room = Math.min(140, Math.max(plot.w, plot.h) / 4, view.width - box.right - least - named);
  const perUnit = plot.w / (view.dx * unit.factor), most = room / perUnit;
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
function drawLabels(pen, view, layer, marks) {
  const { box, plot } = view, pitch = 4;
  const taken = [...marks.flatMap((mark) => mark.feet), ...view.samples.rods].map(([x, y]) => [view.sx(x), view.sy(y)]);
  pen.font = "11px sans-serif"; pen.textAlign = "center"; pen.textBaseline = "middle";
  const label = (text, sides) => {
    const line = [];
    sides((from, to) => {
      const [ax, ay, bx, by] = [view.sx(from[0]), view.sy(from[1]), view.sx(to[0]), view.sy(to[1])];
      const count = Math.max(1, Math.round(Math.hypot(bx - ax, by - ay) / pitch));
      for (let k = 0; k < count; k++) line.push([ax + k / count * (bx - ax), ay + k / count * (by - ay)]);
    });
    if (line.length < 6) return;
    const half = pen.measureText(text).width / 2 + 6;
    let best = null, room = 0;
    for (let n = 0; n < line.length; n += Math.max(1, Math.floor(line.length / 150))) {
      const [x, y] = line[n];
      if (x < box.left + half || x > box.left + plot.w - half || y < box.top + 10 || y > box.top + plot.h - 10) continue;
      let gap = 120;
      for (const [tx, ty, wide = 0] of taken) {
        // Side by side only where both boxes have room.
        if (Math.abs(y - ty) < 18 && Math.abs(x - tx) < half + wide) gap = 0;
        gap = Math.min(gap, Math.hypot((x - tx) * 0.6, y - ty));
      }
      if (gap > room) { room = gap; best = [x, y, half]; }
    }
    if (!best || room < 22) return;
    taken.push(best);
    const [x, y] = best, wide = 2 * half - 6;
    pen.fillStyle = "#fffe"; pen.fillRect(x - wide / 2, y - 8, wide, 16);
    pen.fillStyle = "#111"; pen.fillText(text, x, y);
  };
  for (const { name, segments } of layer.asked) label(name, (found) => {
    for (let k = 0; k < segments.length; k += 4) found(segments.slice(k, k + 2), segments.slice(k + 2, k + 4));
  });
  layer.levels.forEach((level, number) => {
    if (layer.unit === "%" && level === 100) return; // a line of its own
    const rings = layer.rings.filter((ring) => ring.band === number + 1);
    label(levelText(layer, level), (found) => contourSides(rings, found));
  });
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
  const wide = pen.measureText(text).width + 10, edge = view.box.left + view.plot.w;
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
