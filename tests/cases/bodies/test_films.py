"""Films on bodies of a case file: read, and refused where they cannot be."""

import pytest

from ohmscape.cases.loading import case_from
from ohmscape.solver.bodies import Film
from ohmscape.solver.errors import CaseError
from ohmscape.viz.words.bodies import made_of

MAT = {"name": "mat", "kind": "box", "corner": ["4 m", "0 m"], "size": ["4 m", "3 m"]}
MAT |= {"bottom": "0.4 m", "resistivity": "120 ohm*m"}
BALL = {"name": "tank", "kind": "ball", "centre": ["6 m", "0 m"], "depth": "2 m"}
BALL |= {"radius": "1 m", "resistivity": "5 ohm*m"}


def case_with(body, film, variants=()):
    rod = {"kind": "rod", "at": ["0 m", "0 m"], "top_depth": "0 m", "length": "3 m"}
    return case_from(
        {
            "ohmscape": 1,
            "title": "films",
            "soil": {
                "layers": [{"resistivity": "100 ohm*m"}],
                "bodies": [body | {"film": film}],
            },
            "electrodes": [
                {
                    "name": "yard",
                    "drive": {"current": "1 A"},
                    "parts": [rod | {"diameter": "16 mm"}],
                }
            ],
            "variants": list(variants),
        }
    )


@pytest.mark.parametrize(
    ("body", "film", "found", "words"),
    [
        (
            MAT,
            {"resistance": "40 ohm*m^2"},
            Film(40.0, ("walls", "bottom")),
            "walls and bottom",
        ),
        (
            MAT | {"top": "0.1 m"},
            {"resistivity": "200 Mohm*m", "thickness": "0.2 mm", "faces": ["bottom"]},
            Film(4e4, ("bottom",)),
            "film of 40000 Ω·m² on bottom",
        ),
        (BALL, {"resistance": "3 kohm*m^2"}, Film(3000.0), "5.00 Ω·m, film of 3000 Ω·m²"),
    ],
)
def test_a_film_is_on_the_faces_that_the_body_has(body, film, found, words):
    (read,) = case_with(body, film).soil.bodies
    assert read.film == found
    assert words in made_of(read)


def test_a_variant_changes_a_film():
    changed = {"name": "mat", "film": {"resistance": "7 ohm*m^2"}}
    variant = {"name": "worn", "soil": {"bodies": [changed]}}
    case = case_with(MAT, {"resistance": "40 ohm*m^2", "faces": ["bottom"]}, [variant])
    assert case.soil.bodies[0].film == Film(40.0, ("bottom",))
    assert case.variants[0].soil.bodies[0].film == Film(7.0, ("bottom",))


@pytest.mark.parametrize(
    ("body", "film", "message"),
    [
        (MAT, {}, "give exactly one of resistance, resistivity"),
        (MAT, {"resistance": "0 ohm*m^2"}, "must be above 0"),
        (MAT, {"resistivity": "1e9 ohm*m"}, "or both its resistivity and its thickness"),
        (MAT, {"resistivity": "1e5 ohm*m", "thickness": "5 cm"}, "make it a body of its own"),
        (MAT, {"resistance": "4 ohm*m^2", "faces": ["walls", "walls"]}, "name each once"),
        (
            MAT,
            {"resistance": "4 ohm*m^2", "faces": ["top"]},
            "on its top, which is at the surf",
        ),
        (
            {k: v for k, v in MAT.items() if k != "bottom"} | {"bottomless": True},
            {"resistance": "4 ohm*m^2", "faces": ["bottom"]},
            "on its bottom, which is without end",
        ),
        (BALL, {"resistance": "4 ohm*m^2", "faces": ["walls"]}, "of which a ball has one"),
        (
            {k: v for k, v in MAT.items() if k != "resistivity"} | {"void": True},
            {"resistance": "4 ohm*m^2"},
            "is a void and has a film",
        ),
    ],
)
def test_films_that_cannot_be_are_refused(body, film, message):
    with pytest.raises(CaseError) as caught:
        case_with(body, film)
    told = [str(item) for item in caught.value.problems]
    assert any(message in line for line in told), told
