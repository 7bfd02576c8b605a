"use strict";
const data = JSON.parse(document.getElementById("data").textContent);
const byId = (id) => document.getElementById(id);
const { columns, rows, kinds, standings, remedies, pages, places, geographic } = data;
const pitch = 28;
const texts = rows.map((row, k) => [...row, standings[k]].join(" ").toLowerCase());
let order = rows.map((_, k) => k), sorted = 0, down = false, marked = -1;
let shown = order;

function compared(a, b) {
  const x = rows[a][sorted], y = rows[b][sorted];
  const lacks = (value) => value === null || value === "";
  if (lacks(x) || lacks(y)) return lacks(x) - lacks(y) || a - b;
  const way = typeof x === "number" ? x - y : x.localeCompare(y, undefined, { numeric: true });
  return (down ? -way : way) || a - b;
}

function chosen() {
  const words = byId("find").value.toLowerCase().split(/\s+/).filter(Boolean);
  const standing = byId("standing").value;
  const remedy = remedies ? byId("remedy").value : "";
  shown = order.filter((k) => (!standing || standings[k] === standing)
    && (!remedy || remedies[k] === remedy)
    && words.every((word) => texts[k].includes(word)));
  byId("count").textContent = `${shown.length.toLocaleString("en")} of ${rows.length.toLocaleString("en")} rows`;
  byId("space").style.height = `${shown.length * pitch}px`;
  listed();
  drawn();
}

// Only rows that are seen stand in the document.
function listed() {
  const body = byId("body");
  for (const old of body.querySelectorAll(".row")) old.remove();
  const first = Math.max(0, Math.floor(body.scrollTop / pitch) - 5);
  const last = Math.min(shown.length, first + Math.ceil(body.clientHeight / pitch) + 10);
  const piece = document.createDocumentFragment();
  for (let place = first; place < last; place++) {
    const k = shown[place], line = document.createElement("div");
    line.className = `row ${kinds[k]}${k === marked ? " marked" : ""}`;
    line.setAttribute("role", "row");
    line.style.top = `${place * pitch}px`;
    rows[k].forEach((value, c) => {
      const cell = document.createElement("span");
      cell.setAttribute("role", "cell");
      const text = value === null ? "–" : typeof value === "number" && c ? written(value) : value;
      if (c === 1 && pages[k]) {
        const link = document.createElement("a");
        link.href = pages[k];
        link.textContent = text;
        cell.append(link);
      } else cell.textContent = text;
      cell.title = text;
      line.append(cell);
    });
    line.addEventListener("click", () => mark(k, false));
    piece.append(line);
  }
  body.append(piece);
}

function written(value) {
  return Number(value.toPrecision(3)).toLocaleString("en", { maximumFractionDigits: 6 });
}

function mark(k, jump) {
  marked = k;
  if (jump) byId("body").scrollTop = Math.max(0, shown.indexOf(k) * pitch - 100);
  listed();
  drawn();
}

function heads() {
  columns.forEach((name, c) => {
    const button = document.createElement("button");
    button.type = "button";
    button.setAttribute("role", "columnheader");
    button.addEventListener("click", () => {
      down = sorted === c ? !down : false;
      sorted = c;
      order = rows.map((_, k) => k).sort(compared);
      for (const other of byId("head").children) other.removeAttribute("aria-sort");
      button.setAttribute("aria-sort", down ? "descending" : "ascending");
      byId("body").scrollTop = 0;
      chosen();
    });
    button.textContent = name;
    byId("head").append(button);
  });
  for (const name of [...new Set(standings)].sort()) byId("standing").add(new Option(name, name));
  const offered = remedies ? [...new Set(remedies)].filter(Boolean).sort() : [];
  for (const name of offered) byId("remedy").add(new Option(name, name));
}

// ---------------------------------------------------------------- map
const canvas = byId("map");
const view = { x: 0, y: 0, scale: 1 };
const points = places && places.map((place) => place
  && [geographic ? place[0] * Math.cos(data.middle * Math.PI / 180) : place[0], place[1]]);

function fitted() {
  const known = points.filter(Boolean);
  const [x, y] = [0, 1].map((c) => known.map((p) => p[c]));
  const ends = [x, y].map((v) => [v.reduce((a, b) => Math.min(a, b)), v.reduce((a, b) => Math.max(a, b))]);
  view.x = (ends[0][0] + ends[0][1]) / 2;
  view.y = (ends[1][0] + ends[1][1]) / 2;
  const [wide, high] = ends.map(([a, b]) => b - a);
  const room = (size, span) => span > 0 ? (size - 40) / span : Infinity;
  view.scale = Math.min(room(canvas.clientWidth, wide), room(canvas.clientHeight, high));
  if (!Number.isFinite(view.scale)) view.scale = 1;
}

function at(k) {
  return [canvas.clientWidth / 2 + (points[k][0] - view.x) * view.scale,
    canvas.clientHeight / 2 - (points[k][1] - view.y) * view.scale];
}

function drawn() {
  if (!canvas) return;
  const sharp = window.devicePixelRatio || 1;
  canvas.width = canvas.clientWidth * sharp;
  canvas.height = canvas.clientHeight * sharp;
  const pen = canvas.getContext("2d");
  pen.scale(sharp, sharp);
  const colour = { fail: "#8f1d14", pass: "#1c5c36", open: "#8a6a00" };
  for (let place = shown.length - 1; place >= 0; place--) {
    const k = shown[place];
    if (!points[k]) continue;
    const [x, y] = at(k);
    pen.fillStyle = pen.strokeStyle = colour[kinds[k]];
    pen.beginPath();
    if (kinds[k] === "fail") pen.rect(x - 4, y - 4, 8, 8);
    else pen.arc(x, y, kinds[k] === "open" ? 4.5 : 3, 0, 7);
    if (kinds[k] === "open") { pen.lineWidth = 2; pen.stroke(); } else pen.fill();
    if (k === marked) {
      pen.strokeStyle = "#1b4f8a";
      pen.lineWidth = 3;
      pen.beginPath();
      pen.arc(x, y, 10, 0, 7);
      pen.stroke();
    }
  }
}

function zoom(factor, x, y) {
  view.x += (x - canvas.clientWidth / 2) / view.scale * (1 - 1 / factor);
  view.y -= (y - canvas.clientHeight / 2) / view.scale * (1 - 1 / factor);
  view.scale *= factor;
  drawn();
}

function mapped() {
  let from = null, moved = false;
  fitted();
  canvas.addEventListener("wheel", (event) => {
    event.preventDefault();
    zoom(Math.exp(-event.deltaY / 400), event.offsetX, event.offsetY);
  }, { passive: false });
  canvas.addEventListener("pointerdown", (event) => {
    from = [event.offsetX, event.offsetY];
    moved = false;
    canvas.setPointerCapture(event.pointerId);
  });
  canvas.addEventListener("pointermove", (event) => {
    if (!from) return;
    const way = [event.offsetX - from[0], event.offsetY - from[1]];
    if (!moved && Math.hypot(...way) < 4) return;
    moved = true;
    view.x -= way[0] / view.scale;
    view.y += way[1] / view.scale;
    from = [event.offsetX, event.offsetY];
    drawn();
  });
  canvas.addEventListener("pointerup", (event) => {
    from = null;
    if (moved) return;
    let nearest = -1, least = 15;
    for (const k of shown) {
      if (!points[k]) continue;
      const [x, y] = at(k), away = Math.hypot(x - event.offsetX, y - event.offsetY);
      if (away < least) [nearest, least] = [k, away];
    }
    if (nearest >= 0) mark(nearest, true);
  });
  canvas.addEventListener("keydown", (event) => {
    const middle = [canvas.clientWidth / 2, canvas.clientHeight / 2];
    if (event.key === "+") zoom(1.5, ...middle);
    else if (event.key === "-") zoom(1 / 1.5, ...middle);
    else if (event.key === "0") { fitted(); drawn(); }
  });
  window.addEventListener("resize", drawn);
}

heads();
if (canvas) mapped();
byId("find").addEventListener("input", chosen);
byId("standing").addEventListener("change", chosen);
if (remedies) byId("remedy").addEventListener("change", chosen);
byId("body").addEventListener("scroll", listed);
chosen();
