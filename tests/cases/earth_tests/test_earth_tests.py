"""Earth tests written in a case file: places of probes, defaults, every refusal."""

import numpy as np
import pytest
from numpy.testing import assert_allclose

from ohmscape.cases.loading import case_from
from ohmscape.solver.errors import CaseError

GRID = {
    "kind": "grid",
    "corner": ["2 m", "-3 m"],
    "size": ["20 m", "12 m"],
    "meshes": [2, 2],
    "depth": "0.5 m",
    "diameter": "10 mm",
}


def moved_probe(**keys):
    probe = {"distance": "60 m"}
    return {"method": "fall of potential", "name": "a", "electrode": "main"} | (
        {"current_probe": probe} | keys
    )


def driven_rod(**keys):
    return {
        "method": "driven rod",
        "name": "rod",
        "diameter": "16 mm",
        "lengths": ["1 m", "2.5 m"],
        "current_probe": {"distance": "30 m"},
    } | keys


def plan_of(content, test, *parts, **blocks):
    (plan,) = case_from(content(*parts, earth_tests=[test], **blocks)).earth_tests
    return plan


def test_left_out_the_leads_start_in_the_middle_and_p_moves_in_twentieths(content):
    plan = plan_of(content, moved_probe(), GRID)
    assert_allclose(plan.leads.start, (12.0, 3.0))
    assert_allclose(plan.leads.current_place, (72.0, 3.0))
    assert_allclose(plan.distances, 60.0 * np.arange(1, 20) / 20)
    assert (plan.depth, plan.radius) == (0.5, 0.008)
    assert not plan.paths_connected


def test_a_probe_by_distance_and_azimuth_is_one_by_its_place(content):
    by_angle = moved_probe(
        start=["1 m", "2 m"], current_probe={"distance": "50 m", "azimuth": "90 deg"}
    )
    by_place = moved_probe(start=["1 m", "2 m"], current_probe={"at": ["1 m", "52 m"]})
    one, other = (plan_of(content, test).leads for test in (by_angle, by_place))
    assert_allclose(one.current_place, (1.0, 52.0))
    assert_allclose(other.current_place, one.current_place)
    assert_allclose(other.azimuth, one.azimuth)


def test_the_potential_lead_may_run_at_an_angle_and_have_listed_places(content):
    potential = {"angle": "90 deg", "distances": ["10 m", "33 ft"]}
    plan = plan_of(content, moved_probe(start=["0 m", "0 m"], potential_probe=potential))
    assert_allclose(plan.distances, (10.0, 33 * 0.3048))
    points = plan.leads.potential_points(np.array(plan.distances))
    assert_allclose(points[1], (0.0, 33 * 0.3048, 0.0), atol=1e-12)


def test_two_clamps_go_round_an_electrode_or_a_path(content):
    circuit = {
        "frequency": "60 Hz",
        "supply": {"current": "10 A", "to": "main"},
        "paths": [
            {
                "name": "neutral",
                "between": ["main", "remote earth"],
                "impedance": {"resistance": "2 ohm"},
            }
        ],
    }
    tests = [
        {"method": "two clamps", "name": name, "around": name} for name in ("main", "neutral")
    ]
    given = content(earth_tests=tests, circuit=circuit)
    given["electrodes"][0]["drive"] = {"circuit": True}
    assert [plan.around for plan in case_from(given).earth_tests] == ["main", "neutral"]


def test_a_driven_rod_stands_alone_with_its_probes(content):
    plan = plan_of(content, driven_rod(potential_distance="20 m"))
    assert plan.lengths == (1.0, 2.5)
    assert plan.radius == 0.008
    assert plan.potential_distance == 20.0
    assert_allclose(plan.probe.place, (30.0, 0.0))


@pytest.mark.parametrize(
    ("test", "message"),
    [
        (moved_probe(electrode="man"), r"electrode: no electrode 'man'; did you mean 'main'"),
        (
            {"method": "two clamps", "name": "c", "around": "neutral"},
            "around: no electrode or path 'neutral'; there are 'main'",
        ),
        (
            moved_probe(current_probe={"distance": "0.3 m"}),
            r"earth_tests\[1\] 'a': the probe at \(0.3, 0\) m is 0.292 m from the metal",
        ),
        (
            moved_probe(other_distances=["90 m", "0.2 m"]),
            r"the probe at \(0.2, 0\) m is 0.192 m from the metal",
        ),
        (
            moved_probe(current_probe={"distance": "9 m", "depth": "30 mm"}),
            "probe 0.03 m deep with a radius of 0.008 m",
        ),
        (
            moved_probe(current_probe={"at": ["9 m", "1 m"], "azimuth": "3 deg"}),
            "'azimuth' goes with 'distance'",
        ),
        (
            moved_probe(current_probe={"at": ["9 m", "1 m"], "distance": "3 m"}),
            "exactly one of distance, at",
        ),
        (
            moved_probe(potential_probe={"count": 5, "distances": ["3 m"]}),
            "at most one of count, distances",
        ),
        (driven_rod(lengths=["2 m", "0.07 m"]), "0.07 m is below ten radii of the rod, 0.08 m"),
        (
            driven_rod(current_probe={"distance": "0.5 m"}),
            "the current probe is 0.5 m from the rod and 0.5 m deep",
        ),
        (moved_probe(method="fall of the potential"), "method"),
    ],
)
def test_wrong_tests_are_refused_with_their_place(content, test, message):
    with pytest.raises(CaseError, match=message):
        case_from(content(earth_tests=[test]))


def test_names_are_given_once(content):
    with pytest.raises(CaseError, match="earth test name 'a' is taken by"):
        case_from(content(earth_tests=[moved_probe(), moved_probe()]))
