"""The shipped yard with a drawing: that drawing, and the same yard typed by hand."""

import numpy as np
import pytest
from drawn_yard import ALONG_X, ALONG_Y, FENCE, HOUSE, RING, ROUNDED, STAKES, draw

from ohmscape import load_case, run_case
from ohmscape.cases.drawings.entities import contents_of
from ohmscape.cases.drawings.opening import opened
from ohmscape.cases.loading import case_from
from ohmscape.cases.shipped import shipped_case_path

NAME = "yard-from-a-drawing"


def metres(corners):
    return [[f"{x!r} m", f"{y!r} m"] for x, y in corners]


def rounded(count):
    """The ring with its arc in chords."""
    angle = np.linspace(np.pi / 2, np.pi, count + 1)
    arc = np.column_stack([4 + 4 * np.cos(angle), 20 + 4 * np.sin(angle)])
    return [*RING[:ROUNDED], *arc.tolist(), *RING[ROUNDED + 2 :]]


@pytest.fixture(scope="module")
def by_hand():
    """The shipped case with all metal and outlines typed."""
    content = load_case(NAME).document.content
    size = {"stranded": {"cross_section": "70 mm^2"}}
    lines = [[(low, y), (high, y)] for y, low, high in ALONG_X]
    lines += [[(x, low), (x, high)] for x, low, high in ALONG_Y]
    parts = [
        {"kind": "loop", "points": metres(rounded(12)), "depth": "0.6 m", **size},
        *({"kind": "conductor", "points": metres(line), "depth": "0.6 m", **size}
          for line in lines),
        {"kind": "rods", "points": metres(STAKES), "top_depth": "0.6 m", "length": "3 m",
         "diameter": "16 mm"},
    ]  # fmt: skip
    house, fence = content["study"]["touch"]
    touch = [{**house, "body": metres(HOUSE)}, {**fence, "line": metres([*FENCE, FENCE[0]])}]
    other = {
        key: value for key, value in content.items() if key not in ("drawing", "site", "safety")
    }
    electrodes = [{**content["electrodes"][0], "parts": parts}]
    study = {**content["study"], "touch": touch}
    return case_from({**other, "electrodes": electrodes, "study": study})


def test_the_shipped_drawing_is_what_its_script_draws(tmp_path):
    draw(tmp_path / "yard.dxf")
    shipped = shipped_case_path(NAME).with_suffix(".dxf")
    both = []
    for path in (shipped, tmp_path / "yard.dxf"):
        drawing, said = opened(path.read_bytes(), file=path.name)
        assert said == ()
        both.append(contents_of(drawing, chord=1.0).entities)
    assert len(both[0]) == len(both[1])
    for one, other in zip(*both, strict=True):
        assert (one.kind, one.layer, one.colour) == (other.kind, other.layer, other.colour)
        np.testing.assert_allclose(one.points, other.points, atol=1e-6)


def test_by_drawing_and_by_hand_it_is_the_same_yard(by_hand):
    drawn = load_case(NAME)
    assert {kind for kind, _ in drawn.drawing.counts} == {"joined", "crossing"}
    assert drawn.drawing.untaken == (("NOTES", "2 texts"),)
    results = [run_case(case, accuracy="coarse") for case in (drawn, by_hand)]
    assert results[0].underlay.shape == (len(FENCE) + len(HOUSE), 2, 2)
    one, other = (result.resistance("station earth") for result in results)
    assert one == pytest.approx(other, rel=1e-4)
    for mine, typed in zip(*(result.worst for result in results), strict=True):
        assert (mine.kind, mine.name) == (typed.kind, typed.name)
        assert mine.voltage == pytest.approx(typed.voltage, rel=1e-3)
