"""Fences and rails: posts, gates and breaks, what joins them, what is refused."""

import numpy as np
import pytest
from fence_case import FENCE as CASE
from numpy.testing import assert_allclose

from ohmscape.cases.electrodes.counts import count_pieces
from ohmscape.cases.electrodes.fences import fence_pieces, posts_of, rails_pieces
from ohmscape.cases.electrodes.schema_fences import Fence, Rails
from ohmscape.cases.loading import load_case_text
from ohmscape.solver.errors import CaseError

GATE = "        gates: [{at: 6 m, width: 4 m, bonded: false}]\n"
RAILS = """
ohmscape: 1
title: Track
soil: {layers: [{resistivity: 100 ohm*m}]}
system: {frequency: 50 Hz}
electrodes:
  - name: track
    drive: {current: 10 A}
    parts:
      - kind: rails
        points: [[0 m, 0 m], [600 m, 0 m]]
        depth: 0.3 m
        leakage: 4 ohm*km
        bonded_every: 250 m
        stranded: {cross_section: 77 cm^2, overall_diameter: 220 mm}
        material: steel 1020
"""


def fence(**more):
    block = {
        "kind": "fence",
        "points": [["0 m", "0 m"], ["20 m", "0 m"], ["20 m", "12 m"]],
        "spacing": "3 m",
        "footing": "0.7 m",
        "diameter": "48 mm",
        "rail": {"height": "1.6 m", "diameter": "42 mm"},
        **more,
    }
    return Fence.model_validate(block)


def test_posts_stand_at_corners_and_evenly_between():
    part = fence()
    posts = posts_of(part)
    # 20 m in 7 spans of 2.86 m, 12 m in 4 of 3 m.
    assert len(posts.place) == 12
    assert_allclose(posts.place[7], [20, 0], atol=1e-12)
    gaps = np.linalg.norm(np.diff(posts.place, axis=0), axis=1)
    assert_allclose(gaps, [20 / 7] * 7 + [3.0] * 4)
    assert posts.spans.tolist() == [[k, k + 1] for k in range(11)]
    pieces = fence_pieces(part)
    assert_allclose(pieces.start[:, 2], 0.0)
    assert_allclose(pieces.end[:, 2], -0.7)
    assert len(pieces.raised) == 11
    assert count_pieces(part) >= 12


def test_a_closed_fence_comes_back_to_its_first_post():
    posts = posts_of(fence(closed=True))
    # 23.3 m more in 8 spans; the first post is not there twice.
    assert len(posts.place) == 19
    assert posts.spans[-1].tolist() == [18, 0]
    assert len(np.unique(posts.place.round(6), axis=0)) == 19


def test_a_gate_has_a_post_on_both_sides_and_none_between():
    open_gate = fence(gates=[{"at": "6 m", "width": "4 m", "bonded": False}])
    posts = posts_of(open_gate)
    inside = (posts.place[:, 0] > 6 + 1e-6) & (posts.place[:, 0] < 10 - 1e-6)
    assert not inside.any()
    number = [
        int(np.flatnonzero(np.abs(posts.place - [x, 0]).sum(axis=1) < 1e-9)[0]) for x in (6, 10)
    ]
    assert number not in posts.spans.tolist()
    bonded = posts_of(fence(gates=[{"at": "6 m", "width": "4 m"}]))
    assert number in bonded.spans.tolist()


def test_a_break_takes_one_span_out():
    posts = posts_of(fence(breaks=["21 m"]))
    assert posts.spans.tolist() == [[k, k + 1] for k in range(11) if k != 7]


@pytest.mark.parametrize(
    ("more", "said"),
    [
        ({"breaks": ["40 m"]}, "not along the fence, which is 32 m long"),
        ({"breaks": ["20 m"]}, "there is a post"),
        (
            {"breaks": ["8 m"], "gates": [{"at": "6 m", "width": "4 m"}]},
            "say 'bonded: false' of that",
        ),
        ({"gates": [{"at": "30 m", "width": "4 m"}]}, "one ends 34 m along the fence"),
        ({"gates": [{"at": "18 m", "width": "4 m"}]}, "round the corner at 20 m"),
        (
            {"gates": [{"at": "2 m", "width": "4 m"}, {"at": "5 m", "width": "4 m"}]},
            "where another goes on to 6 m",
        ),
        ({"points": [["0 m", "0 m"], ["0 m", "0 m"]]}, "two corners in a row are one place"),
    ],
)
def test_what_does_not_fit_a_fence_is_refused(more, said):
    with pytest.raises(CaseError, match=said):
        posts_of(fence(**more))


def test_a_fence_that_falls_apart_needs_voltages_along_it():
    whole = load_case_text(CASE)
    assert whole.parts[0].raised.apart == 1
    assert whole.study.touchables[0].shape == "line"
    assert len(whole.study.touchables[0].points) == 3
    with pytest.raises(
        CaseError, match=r"(?s)south fence.*falls into 2|falls into 2"
    ) as caught:
        load_case_text(CASE + GATE)
    assert "write the block along_metal" in str(caught.value)
    wired = load_case_text(CASE + GATE + "along_metal: {}\n")
    assert wired.parts[0].raised.apart == 2
    assert len(wired.wiring.leads) == len(wired.parts[0].raised.ends)
    lead = wired.wiring.leads[0]
    assert [place[2] for place in lead.route] == [1.6, 1.6]
    assert lead.radius == pytest.approx(0.021)
    assert {one.told_as for one in wired.wiring.leads} == {"rail of south fence"}


def test_rails_lie_on_both_sides_of_their_line_and_leak_as_given():
    case = load_case_text(RAILS.replace("drive: {current: 10 A}", "drive: {current: 10 A}"))
    metal = case.conductors
    assert_allclose(np.unique(metal.start[:, 1]), [-0.75, 0.75])
    assert metal.length.sum() == pytest.approx(1200)
    # Both films side by side have 4 Ω·km: 6.67 Ω along 600 m.
    area = 2 * np.pi * metal.radius * metal.length
    assert 1 / (area / metal.contact).sum() == pytest.approx(4000 / 600)
    # Three lengths of 200 m: bonds at their ends.
    assert len(case.parts[0].raised.ends) == 4


def test_bonds_of_rails_are_leads_without_impedance():
    fed = RAILS.replace(
        "drive: {current: 10 A}", "drive: {current: 10 A}\n    fed_at: [0 m, 0.75 m]"
    )
    wiring = load_case_text(fed + "along_metal: {}\n").wiring
    assert len(wiring.leads) == 4
    assert all(lead.impedance == 0 and lead.bar is None for lead in wiring.leads)


def test_rails_go_round_corners_at_their_gauge():
    part = Rails.model_validate(
        {
            "kind": "rails",
            "points": [["0 m", "0 m"], ["30 m", "0 m"], ["60 m", "15 m"]],
            "depth": "0.2 m",
            "leakage": "10 ohm*km",
            "diameter": "99 mm",
        }
    )
    pieces = rails_pieces(part)
    left, right = pieces.start[1], pieces.start[3]
    way = np.array([30, 15]) / np.hypot(30, 15)
    for side in (left, right):
        from_first = side[1]
        offset = side[:2] - [30, 0]
        from_second = offset @ [-way[1], way[0]]
        assert abs(from_first) == pytest.approx(0.75)
        assert from_second == pytest.approx(from_first)
    turning = part.model_copy(update={"points": ((0.0, 0.0), (30.0, 0.0), (1.0, 2.0))})
    with pytest.raises(CaseError, match="turn back on themselves"):
        rails_pieces(turning)


def test_rails_above_the_soil_are_refused():
    with pytest.raises(CaseError, match="less than half the width of a rail"):
        load_case_text(RAILS.replace("depth: 0.3 m", "depth: 0.05 m"))
