// What is pressed, and the socket to the program.
function removeSelected() {
  const path = live.selected;
  live.selected = null;
  sendEdit({ do: "remove", path });
}
// New metal is like the rod that is selected, or of a size that suits the plan.
function partPath() { return (live.selected && live.selected[0] === "electrodes" ? live.selected : ["electrodes", 0]).slice(0, 2).concat("parts"); }
function newPlace() {
  const unit = unitOfNew(), at = live.cursor || [0, 1].map((k) => (view.low[k] + view.high[k]) / 2);
  return at.map((value) => lengthIn(value, unit, finest()));
}
function addPart(block) {
  const path = partPath(), count = (valueAt(live.content, path) || []).length;
  sendEdit({ do: "add", path, value: block });
  live.selected = [...path, count];
}
byId("add-rod").addEventListener("click", () => {
  const like = live.selected && valueAt(live.content, live.selected), us = shown.units === "US";
  const block = like && like.kind === "rod" ? { ...like } : { kind: "rod", at: null, top_depth: us ? "1.5 ft" : "0.5 m", length: us ? "8 ft" : "2.5 m", diameter: us ? "0.625 in" : "16 mm" };
  delete block.name;
  addPart({ ...block, at: newPlace() });
});
byId("add-ring").addEventListener("click", () => {
  const us = shown.units === "US", radius = Math.min(view.dx, view.dy) / 4;
  addPart({ kind: "ring", centre: newPlace(), ring_radius: lengthIn(radius, unitOfNew(), finest()), depth: us ? "1.5 ft" : "0.5 m", diameter: us ? "0.4 in" : "10 mm" });
});
byId("remove").addEventListener("click", removeSelected);
byId("selected").addEventListener("change", (event) => { live.selected = event.target.value ? JSON.parse(event.target.value) : null; refresh(); });
byId("undo").addEventListener("click", () => sendEdit({ do: "undo" }));
byId("redo").addEventListener("click", () => sendEdit({ do: "redo" }));
byId("save").addEventListener("click", () => sendEdit({ do: "save" }));
byId("discard").addEventListener("click", () => sendEdit({ do: "discard" }));
byId("run").addEventListener("click", () => sendEdit({ do: "run" }));
byId("report").addEventListener("click", () => sendEdit({ do: "report" }));
byId("variants").addEventListener("change", (event) => sendEdit({ do: "variant", name: event.target.value || null }));
const exportKinds = { dxf: "drawing (DXF)", geojson: "maps (GeoJSON)", gpkg: "maps (GeoPackage)", xlsx: "workbook" };
byId("export").append(...Object.entries(exportKinds).map(([value, name]) => element("option", { value }, name)));
byId("export").addEventListener("change", (event) => {
  if (event.target.value) sendEdit({ do: "export", as: event.target.value });
  event.target.value = "";
});
byId("units").addEventListener("click", () => { root.dataset.showUnits = shown.units === "US" ? "SI" : "US"; refresh(); });
byId("vocabulary").addEventListener("click", () => { root.dataset.showVocabulary = shown.vocabulary === "earth" ? "ground" : "earth"; refresh(); });
byId("save-copy").addEventListener("click", () => {
  byId("copy-name").value = (live.file || "case.yaml").replace(/(\.ya?ml)?$/, "-copy.yaml");
  byId("copy").showModal();
});
byId("copy").addEventListener("close", (event) => {
  if (event.target.returnValue === "save" && byId("copy-name").value) sendEdit({ do: "save copy", name: byId("copy-name").value });
});
document.addEventListener("keydown", (event) => {
  if (!(event.ctrlKey || event.metaKey) || event.altKey) return;
  const typing = event.target.closest("input");
  const key = event.key.toLowerCase();
  if (key === "s") { event.preventDefault(); if (typing) typing.blur(); sendEdit({ do: "save" }); return; }
  if (typing) return;
  if (key === "z") { event.preventDefault(); sendEdit({ do: event.shiftKey ? "redo" : "undo" }); }
  if (key === "y") { event.preventDefault(); sendEdit({ do: "redo" }); }
});
window.addEventListener("resize", refresh);
function connect() {
  socket = new WebSocket(`${location.protocol === "https:" ? "wss" : "ws"}://${location.host}${data.socket}`);
  socket.binaryType = "arraybuffer";
  let announced = null;
  socket.addEventListener("message", (event) => {
    if (typeof event.data !== "string") {
      if (announced) take(announced, event.data);
      announced = null;
      return;
    }
    const message = JSON.parse(event.data);
    if (message.arrays && message.arrays.length) announced = message;
    else take(message, new ArrayBuffer(0));
  });
  socket.addEventListener("close", () => { live.gone = true; byId("gone").hidden = false; refresh(); });
}
connect();
