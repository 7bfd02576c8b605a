"""Bodies of a case file: read into shapes, refused where they, metal or places cannot be."""

from math import inf

import numpy as np
import pytest

from ohmscape.cases.designs import design_case
from ohmscape.cases.differences import put
from ohmscape.cases.family.columns import column_of
from ohmscape.cases.fitting import fit_soil
from ohmscape.cases.loading import case_file, case_from, load_case
from ohmscape.cases.reading.documents import plain_document
from ohmscape.solver.bodies import Ball, Body, Cylinder, HalfSpace, Prism
from ohmscape.solver.errors import CaseError

POOL = {
    "name": "pool",
    "kind": "box",
    "corner": ["-7 m", "2 m"],
    "size": ["14 m", "7 m"],
    "bottom": "2 m",
    "resistivity": "20 ohm*m",
}
CELLAR = {
    "name": "cellar",
    "kind": "prism",
    "outline": [["10 m", "0 m"], ["10 m", "6 m"], ["16 m", "6 m"], ["16 m", "0 m"]],
    "bottom": "2.5 m",
    "void": True,
}


FILLING = {"resistivity": "60 ohm*m"}


def case_with(*bodies, parts=None, soil=None, **more):
    rod = {"kind": "rod", "at": ["0 m", "-3 m"], "top_depth": "0 m", "length": "3 m"}
    soil = soil or {"layers": [{"resistivity": "100 ohm*m"}], "bodies": list(bodies)}
    return case_from(
        {
            "ohmscape": 1,
            "title": "bodies",
            "soil": soil,
            "electrodes": [
                {
                    "name": "yard",
                    "drive": {"current": "10 A"},
                    "parts": parts or [rod | {"diameter": "16 mm"}],
                }
            ],
            **more,
        }
    )


def wire(*points, name="wire"):
    ends = [[f"{value} m" for value in point] for point in points]
    return {"kind": "conductor", "name": name, "points": ends, "diameter": "10 mm"}


def of(body, **more):
    changed = body | more
    return {key: value for key, value in changed.items() if value is not None}


def problems(*bodies, **more):
    with pytest.raises(CaseError) as caught:
        case_with(*bodies, **more)
    return [str(item) for item in caught.value.problems]


def test_each_kind_is_what_it_says():
    slab = {
        "name": "deck",
        "kind": "slab",
        "outline": CELLAR["outline"],
        "thickness": "150 mm",
        "top": "0.1 m",
        "resistivity": "3 kohm*m",
    }
    mast = of(POOL, name="mast", kind="cylinder", corner=None, size=None)
    mast |= {"centre": ["-20 m", "0 m"], "radius": "2 ft", "bottom": "1 m"}
    pond = {"name": "pond", "kind": "ball", "centre": ["0 m", "40 m"], "depth": "-1 m"}
    pond |= {"radius": "5 m", "resistivity": "30 ohm*m"}
    rock = {"name": "rock", "kind": "beyond", "line": [["0 m", "-60 m"], ["10 m", "-60 m"]]}
    rock |= {"side": "right", "top": "0.5 m", "bottomless": True, "resistivity": "2 kohm*m"}
    found = case_with(slab, mast, pond, rock).soil.bodies
    # Corners that run clockwise are turned round.
    corners = ((16.0, 0.0), (16.0, 6.0), (10.0, 6.0), (10.0, 0.0))
    assert found[0] == Body("deck", Prism(corners, 0.1, 0.25), 3000.0)
    assert found[1].shape == Cylinder((-20.0, 0.0), 0.6096, 0.0, 1.0)
    assert found[2].shape == Ball((0.0, 40.0, -1.0), 5.0)
    assert found[3].shape == HalfSpace((0.0, -60.0), (0.0, -1.0), 0.5, inf)


def test_a_box_turns_about_its_corner_or_centre():
    (about_corner,) = case_with(of(POOL, rotation="90 deg")).soil.bodies
    np.testing.assert_allclose(
        about_corner.shape.corners, [[-7, 2], [-7, 16], [-14, 16], [-14, 2]]
    )
    centred = of(POOL, corner=None, centre=["0 m", "5.5 m"], rotation="180 deg")
    (about_centre,) = case_with(centred).soil.bodies
    assert about_centre.shape.bounds()[0].tolist() == pytest.approx([-7, 2, -2])


def test_a_void_has_no_resistivity_and_may_lie_within():
    inner = of(CELLAR, name="plant room", within="pool", bottom="1.5 m")
    inner["outline"] = [["0 m", "3 m"], ["2 m", "3 m"], ["2 m", "5 m"]]
    soil = case_with(inner, POOL).soil
    places = np.array([[1.5, 3.5, -1.0], [1.5, 3.5, -1.7], [0.0, -3.0, -1.0]])
    assert soil.resistivity_at(places).tolist() == [inf, 20.0, 100.0]


@pytest.mark.parametrize(
    ("bodies", "message"),
    [
        ([of(POOL, resistivity=None)], "give exactly one of resistivity, void; got none"),
        ([of(POOL, bottom=None)], "give exactly one of bottom, bottomless; got none"),
        ([of(POOL, top="2.5 m")], "its bottom, 2 m deep, must be below its top, 2.5 m deep"),
        ([of(POOL, bottom="2 mm")], "is 0.002 m at its narrowest; bodies are 0.02 m thick"),
        ([of(POOL, resistivity="0.05 ohm*m")], "2000 to 1; at most 1000 to 1"),
        ([POOL, POOL], "'pool'"),
        ([of(POOL, within="lake")], "no body 'lake'; there are 'pool'"),
        ([of(CELLAR, within="pool"), POOL], "does not lie within 'pool' as a whole"),
        (
            [of(POOL, name="a", within="b"), of(POOL, name="b", within="a")],
            "lies within 'b', which lies within it",
        ),
        (
            [POOL, of(CELLAR, outline=[["6 m", "8 m"], ["9 m", "8 m"], ["9 m", "9 m"]])],
            "shares",
        ),
        ([of(CELLAR, outline=[["0 m", "0 m"], ["1 m", "1 m"], ["2 m", "2 m"]])], "no area"),
    ],
)
def test_bodies_that_cannot_be_are_refused(bodies, message):
    assert any(message in line for line in problems(*bodies)), problems(*bodies)


def test_all_that_is_wrong_is_told_at_once():
    third = of(POOL, name="third", corner=["5 m", "2 m"])
    thin = of(CELLAR, name="thin", bottom="1 mm")
    told = problems(POOL, third, of(CELLAR, bottom="0.1 mm"), thin)
    assert len(told) == 2  # sizes first: what meets what is asked of bodies that can be
    assert len(problems(POOL, third, of(third, name="fourth"))) == 3


def test_bodies_may_touch():
    beside = of(
        CELLAR, outline=[["7 m", "2 m"], ["9 m", "2 m"], ["9 m", "9 m"], ["7 m", "9 m"]]
    )
    below = of(POOL, name="below", top="2 m", bottom="4 m")
    assert len(case_with(POOL, beside, below).soil.bodies) == 3


def test_metal_in_a_void_is_refused_by_name():
    through = wire((5, 3, 0.6), (20, 3, 0.6), name="tail")
    (told,) = problems(CELLAR, parts=[through])
    assert "'cellar', a void" in told
    assert "'tail'" in told
    below = wire((5, 3, 2.8), (20, 3, 2.8))
    assert case_with(CELLAR, parts=[below]).soil.bodies[0].void


@pytest.mark.parametrize(
    "points",
    [
        [(-7, 3, 0.6), (-7, 8, 0.6)],  # in a wall
        [(-7.004, 3, 0.6), (-7.004, 8, 0.6)],  # cut by it along its length
        [(-3, 4, 2), (3, 4, 2)],  # in the bottom
        [(-12, 2, 1.0), (-2, 2, 1.0)],  # partly along a wall
    ],
)
def test_metal_along_a_face_is_refused_with_how_far_to_move_it(points):
    (told,) = problems(POOL, parts=[wire(*points)])
    assert "runs along a face of 'pool'" in told
    assert "move it 0.1 m or more to one side" in told


@pytest.mark.parametrize(
    "points",
    [
        [(-12, 4, 0.6), (12, 4, 0.6)],  # across it
        [(-12, 4, 0.6), (-7, 4, 0.6)],  # ends at it
        [(-7.1, 3, 0.6), (-7.1, 8, 0.6)],  # beside it
        [(0, 4, 1.0), (0, 4, 2.005)],  # its tip just beyond the bottom
    ],
)
def test_metal_may_cross_a_face_and_end_at_it(points):
    assert case_with(POOL, parts=[wire(*points)]).soil.bodies


def test_named_places_in_a_void_are_refused():
    profile = {"name": "walk", "start": ["0 m", "3 m"], "end": ["30 m", "3 m"]}
    (told,) = problems(CELLAR, study={"profiles": [profile]})
    assert "runs through 'cellar', a void" in told
    # It may run up to the wall, and below the floor.
    for change in ({"end": ["10 m", "3 m"]}, {"depth": "2.6 m"}):
        assert case_with(CELLAR, study={"profiles": [profile | change]}).study.profiles
    safety = {
        "continuous": True,
        "limits": [{"name": "own", "own": {"voltage": "50 V"}}],
        "exposures": [
            {
                "name": "tap",
                "transferred": "yard",
                "at": [["12 m", "3 m"], ["0 m", "3 m"]],
                "limit": "own",
            }
        ],
    }
    (told,) = problems(CELLAR, safety=safety)
    assert "a foot stands in 'cellar', a void, at (12, 3) m" in told


def test_a_variant_changes_adds_and_takes_away_bodies_by_name():
    variants = [
        {"name": "empty", "soil": {"bodies": [{"name": "pool", "void": True}]}},
        {"name": "wet", "soil": {"layers": [{"resistivity": "40 ohm*m"}]}},
        {"name": "without", "soil": {"bodies": [{"name": "pool", "absent": True}]}},
        {"name": "both", "soil": {"bodies": [CELLAR]}},
    ]
    case = case_with(POOL, variants=variants)
    empty, wet, without, both = (item.soil for item in case.variants)
    assert empty.bodies[0].void
    assert empty.resistivity == (100.0,)
    assert wet.bodies == case.soil.bodies
    assert wet.resistivity == (40.0,)
    assert without.bodies == ()
    assert [body.name for body in both.bodies] == ["pool", "cellar"]


def test_a_void_of_a_variant_may_be_filled():
    filled = {"name": "filled", "soil": {"bodies": [{"name": "cellar"} | FILLING]}}
    case = case_with(CELLAR, variants=[filled])
    assert case.soil.bodies[0].void
    assert case.variants[0].soil.bodies[0].resistivity == 60.0


def test_designs_and_tables_set_what_bodies_are_made_of(tmp_path):
    choice = {
        "name": "fill",
        "set": ["soil", "bodies", "pool", "resistivity"],
        "values": ["20 ohm*m", "60 ohm*m"],
    }
    design = {
        "choices": [choice],
        "targets": {"resistance": "20 ohm"},
        "prices": {"currency": "EUR", "rods": {"each": 30, "driven": 10, "per": "1 m"}},
    }
    case = case_with(POOL, design=design)
    chosen = [design_case(case, (k,)).soil.bodies[0].resistivity for k in (0, 1)]
    assert chosen == [20.0, 60.0]
    template = plain_document(case.document.content)
    column = column_of("soil.bodies[pool].resistivity [ohm*m]", template=template)
    assert column.target == ("soil", "bodies", 0, "resistivity")
    assert column.value("35") == "35 ohm*m"


def test_a_survey_gives_its_layers_and_the_case_its_bodies():
    survey = {
        "traverses": [
            {
                "name": "north",
                "array": "wenner",
                "readings": [
                    {"spacing": f"{a} m", "resistance": f"{100 / (2 * np.pi * a):.5f} ohm"}
                    for a in (1, 2, 4, 8)
                ],
            }
        ],
        "layers": 1,
    }
    wet = {"name": "wet", "soil": {"bodies": [{"name": "pool", "resistivity": "60 ohm*m"}]}}
    case = case_with(POOL, variants=[wet], soil={"survey": survey, "bodies": [POOL]})
    fitted = fit_soil(case)
    assert fitted.soil.resistivity == pytest.approx((100.0,), rel=0.01)
    assert [body.resistivity for body in fitted.soil.bodies] == [20.0]
    (variant,) = fitted.variants
    assert [body.resistivity for body in variant.soil.bodies] == [60.0]
    # One survey, fitted once.
    assert variant.survey.found == fitted.survey.found
    assert variant.soil.resistivity == fitted.soil.resistivity


def test_metal_in_a_void_is_seen_before_a_survey_is_fitted():
    file = case_file("surveyed-pump-house")
    content = load_case(file).document.content
    metal = load_case(file).conductors
    x, y = metal.start[0, :2]
    pit = {"name": "pit", "kind": "cylinder", "centre": [f"{x} m", f"{y} m"], "radius": "1 m"}
    pit |= {"bottom": "40 m", "void": True}
    with pytest.raises(CaseError, match="'pit', a void"):
        case_from(put(content, ("soil", "bodies"), [pit]), folder=file.parent)


def test_what_lies_under_the_feet_is_told_apart_by_layers_alone():
    safety = {
        "continuous": True,
        "limits": [{"name": "own", "own": {"voltage": "50 V"}}],
        "exposures": [{"name": "walking", "step": "anywhere", "limit": "own"}],
    }
    empty = {"name": "empty", "soil": {"bodies": [{"name": "pool", "void": True}]}}
    case = case_with(POOL, safety=safety, variants=[empty])
    assert "among" not in case.safety.under_feet.words


def test_python_users_see_bodies():
    assert "in it, pool: 20 Ω·m" in repr(case_with(POOL, CELLAR))
    assert "in it, cellar: void" in repr(case_with(POOL, CELLAR))


def test_a_variant_that_brings_a_body_into_metal_is_refused_where_it_says_so():
    bodies = [of(CELLAR, outline=[["-1 m", "-4 m"], ["1 m", "-4 m"], ["0 m", "2 m"]])]
    told = problems(variants=[{"name": "dug", "soil": {"bodies": bodies}}])
    assert len(told) == 1
    assert "in variant 'dug'" in told[0]
    assert "'cellar', a void" in told[0]
