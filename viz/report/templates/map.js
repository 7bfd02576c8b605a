// Maps of the surface: what is chosen, and what is read at the pointer.
(() => {
  const { variants } = surface;
  const stage = document.getElementById("map-stage");
  const base = document.getElementById("map-base"), over = document.getElementById("map-over");
  const readOut = document.getElementById("read-out");
  let variant = variants[0];
  const first = variant.marks.filter((mark) => mark.layer.startsWith("share") && variant.byKey[mark.layer])
    .sort((a, b) => b.value - a.value)[0];
  let current = first ? variant.byKey[first.layer] : variant.layers[0];
  let at = null, view = null, views = {}, sameLevels = true;
  // The chosen layer with the levels that it is drawn by: its own, or those of all conditions.
  const levelled = () => (sameLevels && current.shared ? { ...current, ...current.shared } : current);

  // What all layers say where the pointer is; nothing outside of the samples.
  function readings() {
    const w = variant.samples.weightsAt(...at);
    if (!w) return [];
    return variant.layers.map((layer) => ({ layer, ...surface.reading(variant, layer, ...at, w) }))
      .filter((found) => found.value !== undefined);
  }
  function drawPointer(found) {
    const pen = over.getContext("2d"), { ratio, box, plot } = view;
    pen.setTransform(ratio, 0, 0, ratio, 0, 0);
    pen.clearRect(0, 0, view.width, view.height);
    delete stage.dataset.otherFoot;
    if (!at) return;
    const x = view.sx(at[0]), y = view.sy(at[1]);
    for (const [colour, width] of [["#fff", 3], ["#111", 1]]) {
      pen.strokeStyle = colour; pen.lineWidth = width; pen.beginPath();
      pen.moveTo(box.left, y); pen.lineTo(box.left + plot.w, y);
      pen.moveTo(x, box.top); pen.lineTo(x, box.top + plot.h); pen.stroke();
    }
    const step = found.find((each) => each.layer === current && each.otherFoot);
    if (!step) return;
    drawFeet(pen, view, [at, step.otherFoot], "#111");
    stage.dataset.otherFoot = step.otherFoot.join(" ");
  }
  function row(name, text, { key = "", tone = "", more = "" } = {}) {
    const cell = element("dd", { class: tone, "data-key": key }, text);
    if (more) cell.append(element("small", {}, more));
    readOut.append(element("dt", {}, name), cell);
  }
  function read(found) {
    readOut.replaceChildren();
    if (!at) {
      row("Point at the map", "place, voltages, limit, margin");
      return;
    }
    readOut.dataset.x = at[0]; readOut.dataset.y = at[1];
    row("Place", placeText(...at), { key: "place", more: surface.within(variant, ...at) });
    const why = found.some((each) => each.layer === current) ? "" : surface.why(variant, current, ...at);
    if (why) row(current.title, why, { key: `${current.key}-not` });
    for (const { layer, value, voltage, limit, otherFoot, above } of found) {
      const other = otherFoot ? `other foot at ${placeText(...otherFoot)}` : above ? "the soil ABOVE the metal" : "";
      if (layer.unit === "V") {
        const name = layer.kind === "potential" ? `Potential to ${term("remote")}` : layer.kind === "step" ? "Step, worst direction" : layer.title;
        row(name, withUnit(value, "V"), { key: layer.key, more: other });
        continue;
      }
      const bad = surface.unsafe(layer, { voltage, limit }), margin = withUnit(limit - voltage, "V");
      row(layer.name, `${bad ? "✕" : "✓"} ${shareText(value)}`, {
        key: layer.key,
        tone: bad ? "fail" : "",
        more: `${withUnit(voltage, "V")} of ${withUnit(limit, "V")} ${term("permissible")}, margin ${margin}`,
      });
    }
  }
  function point() {
    const found = at ? readings() : [];
    drawPointer(found);
    read(found);
  }
  function moveTo(x, y) {
    const { low, high } = view;
    at = [Math.min(high[0], Math.max(low[0], x)), Math.min(high[1], Math.max(low[1], y))];
    point();
  }
  function fromEvent(event) {
    const place = over.getBoundingClientRect();
    moveTo(...view.toPlace(event.clientX - place.left, event.clientY - place.top));
  }
  over.addEventListener("pointermove", fromEvent);
  over.addEventListener("pointerdown", fromEvent);
  stage.addEventListener("keydown", (event) => {
    const step = (event.shiftKey ? 0.05 : 0.01) * view.dx;
    const way = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1] }[event.key];
    if (!way) return;
    event.preventDefault();
    const [x, y] = at || [0, 1].map((k) => (view.low[k] + view.high[k]) / 2);
    moveTo(x + way[0] * step, y + way[1] * step);
  });

  // What can be chosen, and the key of what is.
  const choices = document.getElementById("map-choices"), conditions = document.getElementById("map-variants");
  function addChoices() {
    choices.replaceChildren();
    for (const layer of variant.layers) {
      const button = element("button", { type: "button", "data-layer": layer.key }, layer.title);
      button.addEventListener("click", () => { current = layer; draw(); });
      choices.append(button);
    }
  }
  for (const [number, each] of variants.entries()) {
    if (variants.length === 1) break;
    const button = element("button", { type: "button", "data-variant": number }, each.name || "as it stands");
    button.addEventListener("click", () => {
      variant = each;
      current = variant.byKey[current.key] || variant.layers[0];
      addChoices();
      draw();
    });
    conditions.append(button);
  }
  const words = {
    potential: () => `between each point of the surface and ${term("remote")}`,
    touch: (layer) => `between '${layer.metal.name}' and a foot within reach of it; prospective`,
    step: (layer) => `between a foot at each point and one ${lengthText(layer.pace)} away, in the worst direction; prospective`,
    "share of touch": () => `prospective touch voltage over what is ${term("permissible")} on the ground at each point`,
    "share of step": (layer) => `prospective step voltage (${lengthText(layer.pace)}) over what is ${term("permissible")} on the ground`,
  };
  function notes() {
    const found = ["black: metal in the soil; dots go straight down", "ring: the worst place"];
    if (variant.samples.underlay.length) found.push("grey: lines of the drawing");
    if (variant.samples.picture) found.push(`light and dark: ${variant.samples.picture.file}`);
    if (current.pace) found.push("two rings joined: both feet of a step");
    if (current.unit === "%") found.push(`bold line: the limit; hatched: not kept with the numerical error${current.uneven ? " and the voltage along the metal" : ""}`);
    if ((current.grounds || []).some((ground) => ground.outline)) found.push("dotted: edge of a surface layer");
    for (const body of variant.bodies) found.push(`hatched, dash-dotted: ${body.name}, in the soil: ${body.of}`);
    if (current.metal || current.of) found.push("white in black: metal that is touched; blank: out of reach");
    if (current.above) found.push(current.above.words);
    if (current.pace && variant.outline) found.push(`white in black: outside it every step is below ${withUnit(variant.outline.voltage, "V")}${variant.outline.grown ? ", growth and decrement included" : ""}`);
    for (const level of current.asked) found.push(`dashes in black, ${level.words}`);
    if (variant.samples.thinned) found.push("samples were thinned to keep the page small");
    return found;
  }
  function drawKey() {
    const key = document.getElementById("map-key"), layer = levelled(), { levels, colours } = layer;
    const text = (value) => levelText(layer, value);
    key.replaceChildren();
    for (let k = colours.length - 1; k >= 0; k--) {
      const name = !levels.length ? "one value" : k === 0 ? `below ${text(levels[0])}` : k === levels.length ? `${text(levels[k - 1])} and above` : `${text(levels[k - 1])} to ${text(levels[k])}`;
      key.append(element("div", { class: "band" }, element("span", { class: "swatch", colour: colours[k] }), name));
    }
    if (current.shared) {
      const button = element("button", { type: "button", id: "map-levels", "aria-pressed": String(sameLevels) }, sameLevels ? "levels of all conditions" : "levels of this condition");
      button.addEventListener("click", () => { sameLevels = !sameLevels; draw(); document.getElementById("map-levels").focus(); });
      key.append(button);
    }
    for (const note of notes()) key.append(element("p", {}, note));
    const condition = variants.length > 1 ? ` (${variant.name || "as it stands"})` : "";
    document.getElementById("map-heading").textContent = `${current.title}${condition}: ${words[current.kind](current)}`;
    for (const button of choices.children) button.setAttribute("aria-pressed", String(button.dataset.layer === current.key));
    for (const button of conditions.children) button.setAttribute("aria-pressed", String(variants[button.dataset.variant] === variant));
  }
  // The view that suits what is chosen; each is made once for a width of the stage.
  function choose() {
    if (view && view.width !== Math.max(240, stage.clientWidth)) views = {};
    const metal = metalOf(variant, current), own = variant.own ? variant.name : "";
    view = (views[`${own}/${metal ? metal.name : ""}`] ||= mapView(stage, variant.samples, metal));
    for (const canvas of [base, over]) {
      canvas.width = Math.round(view.width * view.ratio); canvas.height = Math.round(view.height * view.ratio);
    }
    const outside = at && [0, 1].some((k) => at[k] < view.low[k] || at[k] > view.high[k]);
    if (outside) at = null;
    stage.dataset.top = view.box.top;
    stage.dataset.extent = [...view.low, ...view.high].join(" ");
  }
  function draw() {
    choose(); drawKey(); drawMap(base, view, variant, levelled()); point();
    const { text, pixels } = scaleBar(view);
    stage.dataset.scale = `${text} ${pixels}`;
  }
  redraw.push(draw);
  addChoices();
  draw();
})();
