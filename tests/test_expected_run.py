"""What `check` says that a run will take, beside what the parts of a run are."""

import re
from dataclasses import replace

import numpy as np
import pytest
from scipy.spatial import cKDTree
from well_rod import WELL_ROD

from ohmscape.cases.loading import case_of, load_case_text
from ohmscape.jobs import expected_time
from ohmscape.jobs.expected_course import Course, seconds_of
from ohmscape.jobs.expected_drawing import drawing, telling
from ohmscape.jobs.expected_field import field_work
from ohmscape.jobs.expected_time import expected_run, time_of_yardstick, works_of
from ohmscape.jobs.expected_work import case_work
from ohmscape.jobs.run import run_case, run_variants
from ohmscape.jobs.solving import plan
from ohmscape.jobs.step_costs import bytes_for, seconds_for, yardstick
from ohmscape.jobs.understood import rounded, understood
from ohmscape.meshes import build_mesh
from ohmscape.meshes.sizing import points_along
from ohmscape.solver.field import element_fields, sheets
from ohmscape.solver.field.clouds import clouds_of
from ohmscape.solver.field.elements import CYLINDER, line_elements
from ohmscape.solver.field.images import rays
from ohmscape.solver.field.near_field import reach_of_pairs, rows_apart
from ohmscape.solver.field.solution import solve
from ohmscape.solver.thin_wire import second_opinion

GRID = """
ohmscape: 1
title: Yard
soil: {layers: [{resistivity: 90 ohm*m, thickness: 1.1 m}, {resistivity: 420 ohm*m}]}
electrodes:
  - name: yard
    drive: {current: 300 A}
    parts:
      - {kind: grid, name: mesh, corner: [0 m, 0 m], size: [14 m, 9 m], meshes: [3, 2],
         depth: 0.6 m, diameter: 10 mm}
      - {kind: rods, length: 2.5 m, diameter: 14 mm, along: {part: mesh, every: 3}}
study: {area: {margin: 3 m, spacing: 0.5 m}}
numerics: {accuracy: coarse}
"""
THIN = WELL_ROD.replace(
    "[{resistivity: 75 ohm*m}]",
    "[{resistivity: 2520 ohm*m, thickness: 0.13 m}, {resistivity: 9 ohm*m, thickness: 0.19 m},"
    " {resistivity: 450 ohm*m, thickness: 6.4 m}, {resistivity: 3.6 ohm*m}]",
).replace("length: 1.8 m", "length: 8.1 m")


TANK = """\
ohmscape: 1
title: tank on its bottom
soil: {layers: [{resistivity: 60 ohm*m}]}
electrodes:
  - name: tank
    drive: {current: 10 A}
    parts: [{kind: tank bottom, name: bottom, centre: [0 m, 0 m], tank_diameter: 9 m}]
numerics: {accuracy: coarse}
"""


@pytest.fixture(scope="module")
def grid():
    return load_case_text(GRID)


@pytest.fixture(scope="module")
def work(grid):
    return case_work(grid)


def _lines(case, planned):
    return line_elements(
        case.conductors,
        soil=case.soil,
        element_size=planned.element_size,
        spread=planned.spread,
    )


def test_line_elements_are_counted_as_they_are_cut(grid, work):
    lines = _lines(grid, work.fine.planned)
    assert work.fine.lines == (lines.face <= CYLINDER).sum()


def test_near_pairs_of_line_elements_are_counted(grid, work):
    lines = _lines(grid, work.fine.planned)
    gap = np.linalg.norm(lines.middle[:, None] - lines.middle, axis=2)
    # Some hundred places stand for all metal, each for the line elements about it.
    near = (gap < reach_of_pairs(lines.spread)).sum() / 2
    assert work.fine.pairs == pytest.approx(near, rel=0.35)
    near = (gap < rows_apart * lines.spread).sum() / 2
    assert work.fine.touching == pytest.approx(near, rel=0.35)


def test_balls_of_source_are_counted(grid, work):
    balls = clouds_of(_lines(grid, work.fine.planned))
    # Those at a joint are one ball, and rods have rows of their own in each layer.
    assert work.fine.balls == pytest.approx(len(balls.place), rel=0.05)


def test_elements_that_a_ball_reaches_are_counted(work):
    planned = work.fine.planned
    mesh = build_mesh(planned)
    centroids = mesh.points[mesh.tetrahedra].mean(axis=1)
    seeds, _ = points_along(planned.start, end=planned.end, element_size=planned.element_size)
    near = cKDTree(centroids).query_ball_point(seeds, 0.5 * work.fine.reach, return_length=True)
    assert work.fine.in_ball == pytest.approx(near.mean(), rel=0.4)


def test_images_are_those_of_the_metal_in_each_layer(grid, work):
    lines = _lines(grid, work.fine.planned)
    paths = list(rays(lines, soil=grid.soil, reach=reach_of_pairs(float(lines.spread.max()))))
    share = np.bincount(lines.layer, weights=lines.length) / lines.length.sum()
    mean = sum(share[ray.source_layer] * share[ray.target_layer] for ray in paths)
    assert work.fine.images == pytest.approx(mean, rel=0.02)


def test_what_bodies_add_is_counted(monkeypatch):
    case = case_of("yard-on-a-rock-edge")
    planned = plan(case)
    expected = field_work(planned, conductors=case.conductors, soil=case.soil)
    points, slope = [], element_fields.slope_of_balls

    def counted(places, **given):
        points.append(len(places) * places.shape[2])
        return slope(places, **given)

    monkeypatch.setattr(element_fields, "slope_of_balls", counted)
    solve(build_mesh(planned), soil=case.soil, conductors=case.conductors)
    assert 0.5 < sum(points) / expected.across_faces < 2
    alone = case.soil.layers_alone
    assert field_work(planned, conductors=case.conductors, soil=alone).across_faces == 0


def test_places_beside_plates_grow_as_those_that_are_looked_at(monkeypatch):
    found, told = [0, 0], []
    distance = sheets.inverse_distance
    for k, across in enumerate(("2 m", "9 m")):
        case = load_case_text(TANK.replace("9 m", across))

        def counted(points, k=k, **given):
            found[k] += len(points)
            return distance(points, **given)

        monkeypatch.setattr(sheets, "inverse_distance", counted)
        run_case(case)
        told.append(case_work(case).points_by_plates)
    # Feet are looked for more closely than the map is sampled, by as much on both.
    assert told[0] < 0.5 * told[1]
    assert told[0] / told[1] == pytest.approx(found[0] / found[1], rel=0.5)
    assert case_work(case).patch_pairs == 144**2


def test_heights_of_balls_are_counted(grid, work):
    balls = clouds_of(_lines(grid, work.fine.planned))
    # Each height in each layer, of balls of each width, has a table of its own.
    key = np.column_stack([np.round(balls.place[:, 2], 6), balls.spread, balls.layer])
    assert work.fine.heights == pytest.approx(len(np.unique(key, axis=0)), rel=0.15)


@pytest.mark.parametrize("spacing", [0.5, 0.7, 2.0])
def test_places_of_the_maps_are_counted_finer_over_shallow_metal(grid, spacing):
    case = load_case_text(GRID.replace("spacing: 0.5 m", f"spacing: {spacing} m"))
    sampled = run_case(case).surface.places
    assert case_work(case).points == pytest.approx(len(sampled), rel=0.25)


def test_wires_are_those_of_the_second_opinion(grid, work):
    assert work.wires == len(second_opinion(grid.conductors, soil=grid.soil).wires)
    never = case_work(load_case_text(GRID.replace("coarse}", "coarse, second_opinion: never}")))
    assert never.wires == 0


@pytest.mark.slow
def test_a_rod_between_thin_layers_is_expected_before_the_run_and_solved():
    case = load_case_text(THIN + "numerics: {accuracy: coarse}\n")
    expected = expected_run(case).planned.elements
    made = len(run_case(case).solution.mesh.tetrahedra)
    assert 1 / 1.5 < made / expected < 1.5


def test_every_amount_has_a_cost_and_every_cost_is_none_or_more(work):
    steps = work.solving() | work.evaluating() | work.saving()
    steps |= telling([work], drawn=True) | drawing([work])
    assert set(steps) < set(seconds_for)
    for step, amounts in steps.items():
        assert set(amounts) <= set(seconds_for[step])
        assert all(amount >= 0 for amount in amounts.values())
        assert seconds_of([{step: amounts}]) >= 0
    for costs in (*seconds_for.values(), *bytes_for.values()):
        assert all(cost >= 0 for cost in costs.values())
        assert any(cost > 0 for cost in costs.values())


JUDGED = (
    WELL_ROD
    + """\
study: {area: {margin: 3 m}, profiles: [{name: out, start: [0 m, 0 m], end: [3 m, 0 m]}]}
safety:
  duration: 0.5 s
  limits: [{name: usual, ieee_80: {body: 50 kg}}]
  exposures: [{name: walking, step: anywhere, limit: usual}]
variants:
  - {name: faster, safety: {duration: 0.2 s}}
  - {name: dry, soil: {layers: [{resistivity: 300 ohm*m}]}}
  - {name: longer steps, study: {pace: 0.7 m}}
"""
)


def test_what_differs_in_limits_alone_is_looked_at_and_drawn_once():
    case = load_case_text(JUDGED)
    works = [work for work, _ in works_of(case, accuracy="coarse")]
    assert [work.seen for work in works] == [False, True, False, False]
    results = run_variants(case, accuracy="coarse")
    assert [one.surface is results[0].surface for one in results] == [True, True, False, False]
    assert works[1].evaluating()["maps"]["points"] == 0
    drawn = drawing(works)
    # Potential, touch and step of three, and what all four are judged by.
    assert drawn["map pictures"]["pictures"] == 3 * 3 + 4
    assert (drawn["curves"]["sections"], drawn["curves"]["profiles"]) == (3, 4)
    assert drawn["live maps"]["pictures"] == 4 * 4


def test_the_report_draws_the_case_as_it_stands_and_not_its_variants():
    case = load_case_text(JUDGED)
    few, many = (
        drawing([work for work, _ in works_of(each, accuracy="coarse")])["report pictures"]
        for each in (replace(case, variants=case.variants[:1]), case)
    )
    assert few == many
    assert many["profiles"] == many["compared"] == 1


def test_shares_of_the_soil_are_counted_where_they_are_asked_for():
    usual = load_case_text(JUDGED)
    asked = load_case_text(JUDGED.replace("margin: 3 m}", "margin: 3 m}, soil_shares: true"))
    assert "shares of the soil" not in case_work(usual).evaluating()
    assert case_work(asked).evaluating()["shares of the soil"]["changed"] == 2
    works = [work for work, _ in works_of(asked, accuracy="coarse")]
    # Each has shares of its own, and so a section of its own.
    curves = drawing(works)["curves"]
    assert curves.pop("near") > 0  # what sections see of the metal near them
    assert curves == {
        "profiles": 4, "sections": 4, "soundings": 0, "deciding": 1
    }  # fmt: skip


def test_heads_in_the_surface_are_counted(work):
    assert work.heads == 0
    assert case_work(load_case_text(WELL_ROD)).heads == 1
    row = GRID.replace(
        "along: {part: mesh, every: 3}",
        """top_depth: 0 m,
         rectangle: {corner: [20 m, 0 m], size: [6 m, 4 m], per_side: [4, 3]}""",
    )
    assert case_work(load_case_text(row)).heads == 10


def test_variants_pictures_and_finer_meshes_cost_more(monkeypatch):
    monkeypatch.setattr(expected_time, "time_of_yardstick", lambda: yardstick)
    rod = load_case_text(WELL_ROD)
    two = load_case_text(
        WELL_ROD + "variants: [{name: dry, soil: {layers: [{resistivity: 300 ohm*m}]}}]\n"
    )
    one, both, fine = expected_run(rod), expected_run(two), expected_run(rod, accuracy="fine")
    for cost in (one, both, fine):
        assert cost.drawn.processor > 2 * cost.plain.processor
        assert cost.drawn.memory > cost.plain.memory
        assert 0 < cost.plain.seconds <= cost.plain.processor
    assert both.drawn.processor > 1.2 * one.drawn.processor
    assert fine.planned.elements > 1.5 * one.planned.elements
    assert fine.plain.processor > one.plain.processor


def test_time_is_that_of_this_machine(monkeypatch):
    case = load_case_text(WELL_ROD)
    monkeypatch.setattr(expected_time, "time_of_yardstick", lambda: yardstick)
    usual = expected_run(case)
    monkeypatch.setattr(expected_time, "time_of_yardstick", lambda: 2 * yardstick)
    slower = expected_run(case)
    assert slower.drawn.seconds == pytest.approx(2 * usual.drawn.seconds)
    assert slower.drawn.memory == usual.drawn.memory
    assert time_of_yardstick() > 0


def course(**given):
    usual = {"start": 1.0, "computed": ((8.0, 2.0, 1.0), (8.0, 2.0, 1.0)), "told": 0.5}
    usual |= {"second": 1.5, "apart": (3.0, 2.0), "drawn": 4.0, "serial": 0.7}
    return Course(**usual | given)


def test_the_second_process_draws_while_the_first_computes():
    # 1 + (8 - 2) + 1 + (8 - 2) + 1 + 0.5, then what is drawn of the last result after 14 s, of
    # which 0.5 s are left, half of 4.5, and what comes one after the other.
    assert course().wall(cores=2) == pytest.approx(15.5 + 0.5 * 4.5 + 0.7)
    # Of a single result little is drawn before all is computed.
    one = course(computed=((8.0, 2.0, 1.0),), apart=(3.0,))
    assert one.wall(cores=2) == pytest.approx(8.5 + 0.5 * (1.5 + 4.0) + 0.7)


def test_one_core_does_one_thing_after_the_other():
    assert course().wall(cores=1) == course().processor == pytest.approx(30.7)


def test_two_cores_do_no_more_than_two_can():
    busy = course(computed=((40.0, 20.0, 1.0),), apart=(30.0,), second=15.0)
    assert busy.wall(cores=2) > 0.5 * busy.processor


def test_check_says_what_the_whole_command_takes(grid):
    text = understood(grid)
    cost = expected_run(grid)
    assert f"about {rounded(cost.planned.elements):,} elements, " in text
    assert f"{cost.drawn.memory / 1e9:.1f} GB of memory to run it on this machine" in text
    plain = f"{cost.plain.memory / 1e9:.1f} GB of memory without pictures and report"
    assert f"{plain} (--no-pictures)" in text


@pytest.mark.parametrize(
    ("value", "shown"), [(0.2, 1), (3.4, 3), (47.3, 47), (132.0, 130), (54_321.0, 54_000)]
)
def test_a_number_is_said_no_finer_than_it_is_known(value, shown):
    assert rounded(value) == shown


def test_a_coarser_mesh_has_wider_reach_and_fewer_elements(grid, work):
    rough = field_work(plan(grid, coarser=2.0), conductors=grid.conductors, soil=grid.soil)
    assert rough.elements < work.fine.elements
    assert rough.reach > work.fine.reach


def test_check_says_what_it_takes_to_choose_a_design():
    text = " ".join(understood("pad-to-size").split())
    found = re.search(
        r"about (\d+) s on two cores in 2 conditions: (\d+) s to try them by thin conductors, "
        r"(\d+) s for each that is proven by finite elements, some (\d+) as a rule",
        text,
    )
    whole, trying, proof, proofs = map(int, found.groups())
    # Each is rounded, and a whole run of what is found comes to it.
    assert whole > trying + (proof - 0.5) * proofs
    assert whole < trying + (proof + 0.5) * proofs + 30


def test_a_proof_takes_less_than_a_run(grid):
    cost = expected_run(grid)
    assert 0 < cost.proof < cost.plain.seconds
