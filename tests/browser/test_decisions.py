"""At each place the page decides as the case was judged: who is there, the limit, if safe."""

from datetime import datetime

import numpy as np
import pytest
from matplotlib.tri import Triangulation

from ohmscape.cases.loading import load_case_text
from ohmscape.jobs.run import run_case
from ohmscape.viz.report.assembly import sections
from ohmscape.viz.report.page import write_page

pytestmark = pytest.mark.slow

_case = """
ohmscape: 1
title: Kiosk between two surface layers that overlap
soil: {layers: [{resistivity: 130 ohm*m, thickness: 1.3 m}, {resistivity: 40 ohm*m}]}
electrodes:
  - name: ring
    drive: {current: 110 A}
    parts:
      - {kind: ring, centre: [0.3 m, 0.2 m], ring_radius: 1.7 m, depth: 0.4 m, diameter: 10 mm}
      - {kind: rod, at: [2 m, 0.2 m], top_depth: 0.4 m, length: 2.1 m, diameter: 16 mm}
study:
  area: {corner: [-4 m, -3.5 m], size: [9 m, 8 m], spacing: 0.25 m}
  touch:
    - {name: kiosk, electrode: ring, SHAPE: [[-0.5 m, -0.3 m], [1.1 m, -0.3 m], [1.1 m, 0.7 m], [-0.5 m, 0.7 m]]}
    - {name: fence, electrode: ring, line: [[-3 m, -2 m], [3.5 m, -2 m], [3.5 m, 2.7 m]]}
    - {name: taps, electrode: ring, points: [[-2 m, 2 m], [1.4 m, 3.1 m]]}
    - {name: yard, electrode: ring, polygon: [[-3 m, 1.5 m], [-1 m, 1.5 m], [-2.2 m, 3 m]]}
safety:
  duration: 0.5 s
  limits: [{name: public, ieee_80: {}}]
  surface:
    - {name: gravel, polygon: [[-1.5 m, -2.5 m], [1 m, -2.5 m], [1 m, 2 m], [-1.5 m, 2 m]], resistivity: 2000 ohm*m, thickness: 10 cm}
    - {name: asphalt, polygon: [[0 m, -1 m], [3 m, -1 m], [2.2 m, 3 m], [0 m, 1.2 m]], resistivity: 700 ohm*m, thickness: 8 cm}
  exposures:
    - {name: at the kiosk, touch: kiosk, limit: public, inside: OUTLINE}
    - {name: at the fence, touch: fence, limit: public}
    - {name: at the taps, touch: taps, limit: public}
    - {name: in the yard, touch: yard, limit: public}
    - {name: walking, step: anywhere, inside: OUTLINE, limit: public}
    - {name: walking anywhere, step: anywhere, limit: public}
numerics: {accuracy: coarse}
"""  # noqa: E501
_outline = (
    "[[-1.9 m, -1.4 m], [2.3 m, -1.4 m], [2.3 m, 1.1 m], [0.4 m, 0.5 m], [-1.9 m, 2.2 m]]"
)
_ask = """([key, asked]) => {
  const variant = surface.variants[0], layer = variant.byKey[key];
  return asked.map(([triangle, x, y]) => {
    const found = surface.reading(variant, layer, x, y, surface.weights(triangle, x, y));
    return found && { ...found, unsafe: surface.unsafe(layer, found) };
  });
}"""


@pytest.fixture(scope="module", params=["polygon", "body"])
def judged(request, browser, tmp_path_factory):
    """A result and its page, with the kiosk seen as an area and as a solid thing."""
    text = _case.replace("OUTLINE", _outline).replace("SHAPE", request.param)
    result = run_case(load_case_text(text))
    path = tmp_path_factory.mktemp("decisions") / "report.html"
    made = datetime(2031, 5, 6)
    found = [each for each in sections([result], made=made) if each.key in ("maps", "scene")]
    return result, write_page([result], found, path, made=made)


def places_of(result):
    """Places at random all over the area, and on all edges and just beside them."""
    generator = np.random.default_rng(20310506)
    low, high = np.array(result.area.low), np.array(result.area.high)
    outlines = [metal.vertices for metal in result.metals]
    for item in result.verdict.judgements:
        outlines += [ground.outline for ground in item.grounds if ground.outline is not None]
        outlines += [] if item.outline is None else [item.outline]
    edges = []
    for outline in outlines:
        ends = np.roll(outline, -1, axis=0)
        share = generator.random((25, len(outline), 1))
        edges += [outline, *(outline + share * (ends - outline))]
    edge = np.concatenate(edges)
    beside = [
        edge + size * generator.normal(size=edge.shape) for size in (1e-8, 1e-5, 0.02, 0.7)
    ]
    found = np.concatenate([generator.uniform(low, high, (3000, 2)), edge, *beside])
    inner = ((found > low + 1e-3) & (found < high - 1e-3)).all(axis=1)
    return found[inner]


def weighed(result, places):
    """Triangle of each place, its corners and their weights, as the page has its samples."""
    x, y = result.surface.places.astype(np.float32).astype(float).T
    corners = result.surface.triangles
    triangle = Triangulation(x, y, corners).get_trifinder()(*places.T)
    a, b, c = corners[triangle].T
    square = (y[b] - y[c]) * (x[a] - x[c]) + (x[c] - x[b]) * (y[a] - y[c])
    px, py = places.T
    u = ((y[b] - y[c]) * (px - x[c]) + (x[c] - x[b]) * (py - y[c])) / square
    v = ((y[c] - y[a]) * (px - x[c]) + (x[a] - x[c]) * (py - y[c])) / square
    return triangle, corners[triangle], np.column_stack([u, v, 1 - u - v])


def between_samples(values, corners, weights):
    return (values.astype(np.float32).astype(float)[corners] * weights).sum(axis=1)


def test_page_and_verdict_decide_alike_at_thousands_of_places(opened, judged):
    result, path = judged
    page = opened(path)
    places = places_of(result)
    triangle, corners, weights = weighed(result, places)
    assert (triangle >= 0).all()
    assert len(places) > 5000
    asked = np.column_stack([triangle, places]).tolist()
    factor = result.verdict.growth_factor * result.verdict.decrement_factor
    seen = set()
    for number, judgement in enumerate(result.verdict.judgements):
        told = page.evaluate(_ask, [f"share{number}", asked])
        there = np.array([each is not None for each in told])
        expected = judgement.stands(places)
        if judgement.kind == "touch":
            metal = next(item for item in result.metals if item.name == judgement.metals[0])
            expected &= metal.within_reach(places)
            rise = abs(result.operating.voltage[metal.group])
            soil = between_samples(result.surface.potential, corners, weights)
            voltage = factor * np.abs(rise - soil)
            limit = judgement.permissible(places)
        else:
            # Beside an edge of a ground in the direction judged, not in the steepest.
            assert judgement.step is not None
            assert (judgement.step <= factor * result.surface.step * (1 + 1e-9)).all()
            voltage = between_samples(judgement.step, corners, weights)
            limit = judgement.permissible(places)
            feet = np.array([each["otherFoot"] if each else (0, 0) for each in told])
            gaps = np.linalg.norm(feet - places, axis=1)[there]
            np.testing.assert_allclose(gaps, judgement.pace, rtol=1e-9)
            limit = np.minimum(limit, judgement.permissible(feet))
        assert there.tolist() == expected.tolist()
        unsafe = ~(voltage + judgement.error <= limit)
        for row in np.flatnonzero(there):
            assert told[row]["limit"] == limit[row]
            assert told[row]["voltage"] == pytest.approx(voltage[row], rel=1e-9)
            assert told[row]["unsafe"] == unsafe[row]
        seen |= {
            (judgement.kind, float(each), bool(bad))
            for each, bad in zip(limit[there], unsafe[there], strict=True)
        }
    # All three grounds were met, both safe and unsafe, in touch and in step.
    for kind in ("touch", "step"):
        assert len({limit for what, limit, _ in seen if what == kind}) == 3
        assert {bad for what, _, bad in seen if what == kind} == {True, False}


_along = """
ohmscape: 1
title: Long wire that is not at one potential
soil: {layers: [{resistivity: 60 ohm*m}]}
system: {frequency: 50 Hz}
electrodes:
  - name: wire
    drive: {current: 90 A}
    fed_at: [0 m, 0 m]
    parts:
      - kind: conductor
        points: [[0 m, 0 m], [120 m, 0 m]]
        depth: 0.7 m
        diameter: 8 mm
        material: zinc-coated steel rod
along_metal: {}
study:
  area: {corner: [-5 m, -6 m], size: [130 m, 12 m], spacing: 1 m}
  touch: [{name: rail, electrode: wire, line: [[0 m, 1 m], [120 m, 1 m]]}]
numerics: {accuracy: coarse}
"""


def test_page_takes_metal_at_its_voltage_near_the_foot(opened, tmp_path):
    result = run_case(load_case_text(_along))
    made = datetime(2031, 5, 6)
    found = [each for each in sections([result], made=made) if each.key in ("maps", "scene")]
    page = opened(write_page([result], found, tmp_path / "report.html", made=made))
    generator = np.random.default_rng(20310507)
    places = generator.uniform((0.0, 0.1), (120.0, 1.9), (400, 2))
    triangle, corners, weights = weighed(result, places)
    told = page.evaluate(_ask, ["touch0", np.column_stack([triangle, places]).tolist()])
    held = result.field.metal_voltage(0, places=result.surface.places)
    apart = [
        between_samples(part(held), corners, weights)
        - between_samples(part(result.surface.potential), corners, weights)
        for part in (np.real, np.imag)
    ]
    np.testing.assert_allclose([each["value"] for each in told], np.hypot(*apart), rtol=1e-6)
    # At one voltage for all metal the far end would be told far too high.
    far = places[:, 0] > 100
    one = np.abs(
        result.rise - between_samples(np.real(result.surface.potential), corners, weights)
    )
    assert (one[far] > 1.2 * np.hypot(*apart)[far]).all()
