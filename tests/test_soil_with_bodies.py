"""What every command makes of bodies in the soil: followed, or refused with the reason."""

import re
from functools import partial

import numpy as np
import pytest
from numpy.testing import assert_allclose

from ohmscape import run_case, summary
from ohmscape.cases.differences import put
from ohmscape.cases.loading import case_file, case_from, load_case
from ohmscape.jobs.curves import curve_of
from ohmscape.jobs.earth_tests import predict_tests
from ohmscape.jobs.field_readings import compare_case
from ohmscape.jobs.uncertainty import uncertainty_of_case
from ohmscape.solver.axisymmetric import solve_rod
from ohmscape.solver.bodies import Body, Cylinder
from ohmscape.solver.drives import Drive, operating_point
from ohmscape.solver.errors import CaseError, LayersOnlyError
from ohmscape.solver.field_readings import point_to_point
from ohmscape.solver.handbook.order_check import order_checks
from ohmscape.solver.model import Conductors, Soil
from ohmscape.solver.thin_wire import TabledImages, second_opinion
from ohmscape.viz.section.deciding import power_density

POND = Body("pond", Cylinder((9.0, 0.0), 2.0, 0.0, 1.5), 25.0)
SOIL = Soil((100.0,), bodies=(POND,))
ROD = Conductors.bare([0.0, 0.0, 0.0], end=[0.0, 0.0, -3.0], radius=0.008)
BESIDE = {
    "name": "pond",
    "kind": "cylinder",
    "centre": ["400 m", "300 m"],
    "radius": "3 m",
    "bottom": "1.5 m",
    "resistivity": "25 ohm*m",
}


def shipped_beside_a_pond(name):
    """A shipped case with a pond far off its metal."""
    file = case_file(name)
    content = put(load_case(file).document.content, ("soil", "bodies"), [BESIDE])
    return case_from(content, folder=file.parent)


@pytest.mark.parametrize(
    "method",
    [
        partial(second_opinion, ROD),
        lambda soil: TabledImages(soil),
        partial(solve_rod, ROD),
        partial(point_to_point, (0.0, 0.0, 0.0), (1.0, 0.0, 0.0)),
    ],
    ids=["thin conductors", "tabled", "axisymmetric", "pins"],
)
def test_methods_for_layers_do_not_solve_bodies_in_silence(method):
    with pytest.raises(LayersOnlyError, match=r"know layers only.*bodies: 'pond'"):
        method(soil=SOIL)
    assert method(soil=SOIL.layers_alone)


def test_layers_alone_are_the_same_layers():
    assert SOIL.layers_alone == Soil((100.0,))
    assert SOIL.leading == (100.0, 25.0)
    place = np.array([[9.0, 0.0, -1.0]])
    assert_allclose(SOIL.layers_alone.resistivity_at(place), 100.0)


@pytest.mark.parametrize(
    ("command", "case"),
    [
        (uncertainty_of_case, "pad-in-doubt"),
        (partial(curve_of, choice="meshes"), "yard-to-size"),
        (compare_case, "measured-fresh-rod"),
        (predict_tests, "grid-test-on-rock"),
    ],
)
def test_what_is_solved_in_layers_alone_refuses_bodies(command, case):
    with pytest.raises(CaseError, match=r"soil\.bodies.*'pond'.*in layers|know layers"):
        command(shipped_beside_a_pond(case))


def test_levels_far_away_are_followed_beside_a_body():
    levels = {"levels": [{"name": "far", "potential": "50 V"}]}
    content = load_case("bench-rod").document.content
    content |= {"distances": levels}
    assert case_from(content)
    case = case_from(put(content, ("soil", "bodies"), [BESIDE]))
    assert case.distances.levels[0].voltage == 50.0
    assert case.soil.bodies


@pytest.mark.slow
def test_shares_of_bodies_are_told_and_drawn():
    content = put(load_case("bench-rod").document.content, ("study", "soil_shares"), True)
    pond = BESIDE | {"centre": ["2 m", "0.4 m"], "radius": "1 m"}
    pit = BESIDE | {"name": "pit", "centre": ["-2 m", "0 m"], "radius": "0.8 m", "void": True}
    del pit["resistivity"]
    content = put(content, ("soil", "bodies"), [pond, pit])
    content = {key: item for key, item in content.items() if key != "variants"}
    result = run_case(case_from(content), accuracy="coarse")
    shares = result.soil_shares
    assert shares.bodies[0, 0] > 0.005
    assert shares.bodies[0, 1] == 0
    assert_allclose(
        shares.layers.sum() + shares.bodies.sum() + shares.coverings.sum(), 1, atol=1e-3
    )
    said = summary(result)
    assert "Shares of the layers and bodies" in " ".join(said.split())
    assert re.search(r"pond, 25(\.0)? Ω·m", " ".join(said.split())), said
    places = np.array([[-2.0, 0.0, -0.5], [1.3, 0.4, -0.5], [2.0, 0.4, -0.5]])
    in_void, in_pond = (power_density(result, places)[k] for k in (0, 2))
    assert in_void == 0 < in_pond


def test_no_handbook_formula_stands_beside_bodies():
    matrix = second_opinion(ROD, soil=Soil((100.0,))).current_matrix
    point = operating_point(matrix, drives=[Drive("current", 1.0)])
    assert order_checks(ROD, soil=Soil((100.0,)), operating=point)
    assert order_checks(ROD, soil=SOIL, operating=point) == ()


def test_a_pin_in_a_void_is_refused():
    content = load_case("grid-test-on-rock").document.content
    content = {key: item for key, item in content.items() if key != "variants"}
    pit = BESIDE | {"name": "pit", "centre": ["60 m", "0 m"], "void": True}
    del pit["resistivity"]
    content = put(content, ("soil", "bodies"), [pit])
    content["earth_tests"] = content["earth_tests"][:1]
    content["study"] = {}
    with pytest.raises(CaseError, match="a pin of the test stands in a void"):
        predict_tests(case_from(content))
