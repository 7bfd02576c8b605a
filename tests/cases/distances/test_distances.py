"""The distances block: what it becomes, and every refusal with its place."""

import numpy as np
import pytest

from ohmscape.cases.loading import case_from
from ohmscape.jobs.solving import studied_places
from ohmscape.solver.distances import Apart, Level
from ohmscape.solver.errors import CaseError

TOUCH = {"touch": [{"name": "gate", "electrode": "main", "points": [["0 m", "0 m"]]}]}


def test_levels_and_separations(content):
    given = {
        "levels": [
            {"name": "zone", "potential": "0.43 kV"},
            {"name": "cattle", "step": "25 V"},
            {"name": "gate zone", "touch": "gate", "voltage": "50 V"},
        ],
        "separations": [
            {"name": "fence", "voltage": "25 V", "azimuth": "90 deg"},
            {"name": "other earth", "transfer": 0.05, "rod": "8 ft"},
        ],
    }
    plan = case_from(content(distances=given, study=TOUCH)).distances
    assert plan.levels == (
        Level("zone", "potential", 430.0),
        Level("cattle", "step", 25.0),
        Level("gate zone", "touch", 50.0, "gate"),
    )
    fence, earth = plan.separations
    assert (fence.voltage, fence.rod, round(fence.azimuth, 6)) == (25.0, 0.0, 1.570796)
    assert earth == Apart("other earth", None, 0.05, 2.4384)


def test_a_variant_changes_a_level_by_its_name(content):
    case = content(distances={"levels": [{"name": "zone", "potential": "430 V"}]})
    levels = [{"name": "zone", "step": "30 V"}, {"name": "more", "potential": "60 V"}]
    case["variants"] = [{"name": "other", "distances": {"levels": levels}}]
    (other,) = case_from(case).variants
    assert other.distances.levels == (
        Level("zone", "step", 30.0),
        Level("more", "potential", 60.0),
    )


def test_bodies_in_the_soil_may_stand_beside_it_and_widen_the_mesh(content):
    body = {"name": "pond", "kind": "cylinder", "centre": ["30 m", "0 m"], "radius": "9 m"}
    body |= {"bottom": "2 m", "resistivity": "12 ohm*m"}
    soil = {"layers": [{"resistivity": "100 ohm*m"}], "bodies": [body]}
    given = {"levels": [{"name": "zone", "potential": "430 V"}]}
    with_levels = case_from(content(soil=soil, distances=given))
    without = case_from(content(soil=soil))
    assert with_levels.distances.levels[0].voltage == 430.0
    # Twice the diagonal of a box round metal and pond, which begins at 39 m.
    farthest = np.abs(studied_places(with_levels)).max()
    assert 75 < farthest < 130
    assert np.abs(studied_places(without)).max() < 75


def level(**keys):
    return {"levels": [{"name": "zone", **keys}]}


def separation(**keys):
    return {"separations": [{"name": "fence", **keys}]}


LEVEL, FENCE = "distances.levels[1] 'zone'", "distances.separations[1] 'fence'"
REFUSED = [
    ({}, "distances", "asks for nothing"),
    (level(), LEVEL, "give exactly one of potential, step, touch"),
    (level(potential="1 V", step="1 V"), LEVEL, "give exactly one of potential, step, touch"),
    (level(potential="0 V"), LEVEL, "above 0 V"),
    (level(step="-3 V"), LEVEL, "above 0 V"),
    (level(potential="3 A"), f"{LEVEL}.potential", "is not a unit of voltage"),
    (level(touch="gate"), LEVEL, "'touch' and 'voltage' go together"),
    (level(step="3 V", voltage="3 V"), LEVEL, "'touch' and 'voltage' go together"),
    (level(touch="door", voltage="9 V"), f"{LEVEL}.touch", "no touchable metal 'door'"),
    (separation(), FENCE, "give exactly one of voltage, transfer"),
    (separation(voltage="0 V"), FENCE, "above 0 V"),
    (separation(transfer=1.0), f"{FENCE}.transfer", "from 0.0001 to 0.9"),
    (separation(voltage="9 V", rod="0 m"), f"{FENCE}.rod", "must be above 0 m"),
    (separation(voltage="9 V", side="east"), f"{FENCE}.side", "unknown key"),
    (
        {"levels": [{"name": "a", "step": "3 V"}, {"name": "a", "step": "4 V"}]},
        "distances.levels[2] 'a'",
        "level name 'a' is taken",
    ),
]


@pytest.mark.parametrize(("given", "place", "words"), REFUSED)
def test_every_refusal_has_its_place_and_a_way_on(content, given, place, words):
    with pytest.raises(CaseError) as caught:
        case_from(content(distances=given, study=TOUCH))
    found = [(problem.path, problem.message) for problem in caught.value.problems]
    assert any(where == place and words in said for where, said in found), found
