// Samples of the surface, and what they say at a place: who stands there, voltage, limit. The
// rules are those by which the case was judged; a test holds both against each other.
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
// On the outline to a micrometre, whatever the even-odd rule makes of an edge.
function stands(x, y, outline) {
  return inside(x, y, outline) || distance(x, y, { kind: "body", vertices: outline }) < 1e-6;
}
function limitAt([x, y], layer) {
  let native = 0, lowest = Infinity;
  for (const ground of layer.grounds) {
    if (!ground.outline) native = ground.limit;
    else if (ground.limit < lowest && inside(x, y, ground.outline)) lowest = ground.limit;
  }
  return lowest < Infinity ? lowest : native;
}

// Outlines in metres from their steps; a set bit of border says that a side is no contour.
function outlines({ step, origin, bands, starts, counts, steps, border }) {
  const [from, moves, bits] = [[starts, "u2"], [steps, "i1"], [border, "u1"]].map((each) => unpack(...each));
  let k = 0;
  return Array.from(unpack(bands, "u1"), (band, ring) => {
    const places = [], edges = [];
    let x = from[2 * ring], y = from[2 * ring + 1];
    for (const last = k + counts[ring]; k < last; k++) {
      places.push([origin[0] + step * x, origin[1] + step * y]);
      edges.push((bits[k >> 3] >> (7 - (k & 7))) & 1);
      x += moves[2 * k]; y += moves[2 * k + 1];
    }
    return { band, places, edges };
  });
}

// A picture of the ground; what was drawn before it was there is drawn again.
function pictureOf(source) {
  if (!source) return null;
  const image = new Image();
  image.addEventListener("load", () => redraw.forEach((draw) => draw()));
  image.src = source.address;
  return { ...source, image };
}
// Where the surface was sampled, the triangles between, and the metal below.
function samplesOf(source) {
  const X = unpack(source.x), Y = unpack(source.y);
  const corners = unpack(source.triangles, source.triangleType);
  // Linear interpolation in a triangle.
  function weights(triangle, x, y) {
    const [a, b, c] = [corners[3 * triangle], corners[3 * triangle + 1], corners[3 * triangle + 2]];
    const det = (Y[b] - Y[c]) * (X[a] - X[c]) + (X[c] - X[b]) * (Y[a] - Y[c]);
    const u = ((Y[b] - Y[c]) * (x - X[c]) + (X[c] - X[b]) * (y - Y[c])) / det;
    const v = ((Y[c] - Y[a]) * (x - X[c]) + (X[a] - X[c]) * (y - Y[c])) / det;
    return [a, b, c, u, v, 1 - u - v];
  }
  // Which triangle holds a place: those are tried whose box meets its cell of a raster.
  const { low, high, thinned } = source, metal = unpack(source.metal), rods = [];
  const raster = Math.max(1, Math.round(Math.sqrt(corners.length / 6))), cells = new Map();
  const cellOf = (value, k) => Math.min(raster - 1, Math.max(0, Math.floor((value - low[k]) / (high[k] - low[k]) * raster)));
  for (let t = 0; t < corners.length / 3; t++) {
    const ids = corners.subarray(3 * t, 3 * t + 3);
    const [left, right] = [Math.min, Math.max].map((end) => cellOf(end(...Array.from(ids, (k) => X[k])), 0));
    const [first, last] = [Math.min, Math.max].map((end) => cellOf(end(...Array.from(ids, (k) => Y[k])), 1));
    for (let row = first; row <= last; row++) {
      for (let column = left; column <= right; column++) {
        const cell = row * raster + column, held = cells.get(cell);
        if (held) held.push(t); else cells.set(cell, [t]);
      }
    }
  }
  function weightsAt(x, y) {
    for (const t of cells.get(cellOf(y, 1) * raster + cellOf(x, 0)) || []) {
      const w = weights(t, x, y);
      if (Math.min(w[3], w[4], w[5]) >= -1e-6) return w;
    }
    return null;
  }
  for (let k = 0; k < metal.length; k += 4) {
    if (Math.hypot(metal[k + 2] - metal[k], metal[k + 3] - metal[k + 1]) < 1e-3) rods.push([metal[k], metal[k + 1]]);
  }
  return { low, high, thinned, metal, rods, underlay: unpack(source.underlay), picture: pictureOf(source.picture), weights, weightsAt };
}

const surface = (() => {
  const source = data.map, base = samplesOf(source);
  const unpacked = (packed, kind) => (packed ? unpack(packed, kind) : null);
  const variants = source.variants.map((variant) => {
    const layers = variant.layers.map((layer) => ({
      ...layer,
      values: unpacked(layer.values),
      voltage: unpacked(layer.voltage),
      direction: unpacked(layer.direction, "u1"),
      held: unpacked(layer.held),
      heldAhead: unpacked(layer.heldAhead),
      rings: outlines(layer.rings),
      unsafe: outlines(layer.unsafe),
      asked: layer.asked.map((level) => ({ ...level, segments: unpack(level.segments) })),
      above: layer.above && { ...layer.above, line: unpack(layer.above.line) },
      shared: layer.shared && { ...layer.shared, rings: outlines(layer.shared.rings) },
    }));
    return {
      ...variant,
      samples: variant.own ? samplesOf(variant.own) : base,
      layers,
      byKey: Object.fromEntries(layers.map((layer) => [layer.key, layer])),
      real: unpack(variant.real),
      imaginary: unpacked(variant.imaginary),
      outline: variant.outline && { ...variant.outline, segments: unpack(variant.outline.segments) },
    };
  });

  function mixed(values, w) { return w[3] * values[w[0]] + w[4] * values[w[1]] + w[5] * values[w[2]]; }
  // Between soil and something at a voltage: [real, imaginary]. Without phase the sign stays.
  function across(variant, w, [real, imaginary]) {
    const difference = mixed(variant.real, w) - real;
    return variant.imaginary ? Math.hypot(difference, mixed(variant.imaginary, w) - imaginary) : difference;
  }

  // Whether the soil is above something at a voltage, on the side of the largest rise.
  function soilAbove(variant, w, [real, imaginary]) {
    const quadrature = variant.imaginary ? mixed(variant.imaginary, w) - imaginary : 0;
    return (mixed(variant.real, w) - real) * variant.rise[0] + quadrature * variant.rise[1] > 0;
  }

  // Voltage of metal that is touched: one for all of it, or by place.
  function held(layer, w) {
    return layer.held ? [mixed(layer.held, w), layer.heldAhead ? mixed(layer.heldAhead, w) : 0] : layer.at;
  }

  // What one layer says at a place: value, and for a share the voltage and its limit.
  function reading(variant, layer, x, y, w) {
    if (layer.outline && !stands(x, y, layer.outline)) return null;
    if (layer.kind === "potential") return { value: across(variant, w, [0, 0]) };
    if (layer.kind === "touch") {
      if (!reaches(x, y, layer.metal)) return null;
      const at = held(layer, w);
      return { value: Math.abs(across(variant, w, at)), above: soilAbove(variant, w, at) };
    }
    if (layer.kind === "share of touch") {
      const touch = reading(variant, variant.byKey[layer.of], x, y, w);
      if (!touch) return null;
      const voltage = layer.factor * touch.value, limit = limitAt([x, y], layer);
      return { value: 100 * voltage / limit, voltage, limit, above: touch.above };
    }
    // The direction is that of the nearest sample: halfway between two is none.
    const nearest = w[3] >= w[4] && w[3] >= w[5] ? w[0] : w[4] >= w[5] ? w[1] : w[2];
    const angle = layer.direction[nearest] / 128 * Math.PI;
    const otherFoot = [x + layer.pace * Math.cos(angle), y + layer.pace * Math.sin(angle)];
    if (layer.kind === "step") return { value: mixed(layer.values, w), otherFoot };
    const voltage = mixed(layer.voltage, w);
    const limit = Math.min(limitAt([x, y], layer), limitAt(otherFoot, layer));
    return { value: 100 * voltage / limit, voltage, limit, otherFoot };
  }
  // Said of a place where somebody cannot be, and of one where a layer says nothing.
  function within(variant, x, y) {
    const solid = ({ metal }) => metal && metal.kind === "body" && inside(x, y, metal.vertices) && !reaches(x, y, metal);
    const names = variant.layers.filter(solid).map(({ metal }) => `'${metal.name}'`);
    return names.length ? `inside ${names.join(", ")}, where nobody stands` : "";
  }
  function why(variant, layer, x, y) {
    const { metal } = layer.of ? variant.byKey[layer.of] : layer;
    if (metal && !reaches(x, y, metal)) {
      return distance(x, y, metal) > metal.reach || metal.kind !== "body" || !inside(x, y, metal.vertices) ? `out of reach of '${metal.name}'` : `inside '${metal.name}'`;
    }
    return layer.outline && !stands(x, y, layer.outline) ? "nobody is here, by the case" : "";
  }
  function unsafe(layer, found) {
    return found.limit !== undefined && !(found.voltage + layer.error <= found.limit);
  }
  return { ...base, north: source.north, variants, reading, within, why, unsafe };
})();
