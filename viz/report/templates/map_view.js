// One view of a map: where its places are on the page.
// All of the area, or what is within reach of a metal, which may be a small part of it.
function extentOf({ low: lowest, high: highest }, metal) {
  if (!metal) return [lowest, highest];
  const far = metal.reach + 0.5;
  const along = (k) => metal.vertices.map((vertex) => vertex[k]);
  const low = [0, 1].map((k) => Math.max(lowest[k], Math.min(...along(k)) - far));
  const high = [0, 1].map((k) => Math.min(highest[k], Math.max(...along(k)) + far));
  return [low, high];
}
function mapView(stage, samples, metal) {
  const [low, high] = extentOf(samples, metal);
  const width = Math.max(240, stage.clientWidth), ratio = Math.min(2, window.devicePixelRatio || 1);
  const [dx, dy] = [high[0] - low[0], high[1] - low[1]];
  const box = { left: 56, right: 10, top: surface.north === null ? 10 : 52, bottom: 44 };
  const scale = Math.min((width - box.left - box.right) / dx, Math.max(260, 0.8 * window.innerHeight) / dy);
  const plot = { w: scale * dx, h: scale * dy };
  return {
    samples, low, high, width, height: plot.h + box.top + box.bottom, ratio, box, plot, dx, dy,
    // Places in pixels of the page, within the stage, and back.
    sx: (x) => box.left + (x - low[0]) * scale,
    sy: (y) => box.top + (high[1] - y) * scale,
    toPlace: (x, y) => [low[0] + (x - box.left) / scale, high[1] - (y - box.top) / scale],
  };
}
