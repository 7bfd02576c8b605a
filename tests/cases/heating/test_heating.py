"""The heating block: what it becomes, and every refusal with its place."""

import re

import pytest
from numpy.testing import assert_allclose

from ohmscape.cases.loading import case_from
from ohmscape.solver.errors import CaseError

RING = {
    "kind": "ring",
    "name": "ring",
    "centre": ["0 m", "0 m"],
    "ring_diameter": "4 m",
    "depth": "0.5 m",
    "strip": ["40 mm", "4 mm"],
    "material": "zinc-coated steel rod",
}
RODS = {
    "kind": "rods",
    "name": "rods",
    "along": {"part": "ring", "count": 2},
    "length": "2.4 m",
    "diameter": "16 mm",
    "material": "copper-clad steel rod 20 %",
}
LEAD = {
    "name": "lead",
    "material": "hard-drawn copper",
    "current": "2 kA",
    "stranded": {"cross_section": "50 mm^2"},
}
CIRCUIT = {
    "frequency": "50 Hz",
    "supply": {"current": "2 kA", "to": "main"},
    "split_factor": 0.4,
}


def heating(**keys):
    found = {"ambient": "40 degC", "joint": "brazed", "duration": "1 s"} | keys
    return {key: value for key, value in found.items() if value is not None}


def planned(content, *parts, keys, **blocks):
    return case_from(content(*parts, heating=heating(**keys), **blocks)).heating


def problems(content, *parts, keys, **blocks):
    with pytest.raises(CaseError) as caught:
        planned(content, *parts, keys=keys, **blocks)
    return [(problem.path, problem.message) for problem in caught.value.problems]


def test_leads_come_first_then_parts_that_have_a_material(content, rod):
    plan = planned(content, RING, RODS, rod | {"name": "old rod"}, keys={"leads": [LEAD]})
    assert [item.name for item in plan.conductors] == ["lead", "ring", "rods"]
    assert [item.use for item in plan.conductors] == ["lead", "wire", "rod"]
    assert_allclose(
        [item.section for item in plan.conductors], [50e-6, 160e-6, 201.06e-6], rtol=1e-5
    )
    # Zinc melts below what a brazed joint stands.
    assert [item.limit.temperature for item in plan.conductors] == [450.0, 419.0, 450.0]
    assert plan.conductors[0].current == 2000.0


def test_what_is_said_of_one_part_goes_before_what_is_said_of_all(content):
    parts = [{"name": "rods", "limit": "300 degC", "share": 0.5}]
    plan = planned(content, RING, RODS, keys={"corrosion": 0.1, "parts": parts})
    ring, rods = plan.conductors
    assert (ring.limit.words, ring.share, ring.corrosion) == ("fusing", None, 0.1)
    assert (rods.limit.words, rods.limit.temperature) == ("as given", 300.0)
    assert (rods.share, rods.corrosion) == (0.5, 0.1)
    parts = [{"name": "rods", "joint": "bolted", "corrosion": 0.0, "current": "70 A"}]
    rods = planned(content, RING, RODS, keys={"corrosion": 0.1, "parts": parts}).conductors[1]
    assert (rods.limit.temperature, rods.corrosion, rods.current) == (250.0, 0.0, 70.0)


def test_a_lead_carries_the_supply_unless_it_says_more(content, rod):
    lead = {key: value for key, value in LEAD.items() if key != "current"}
    blocks = {"circuit": CIRCUIT}
    rods = [rod]
    case = content(*rods, heating=heating(leads=[lead]), **blocks)
    case["electrodes"][0]["drive"] = {"circuit": True}
    assert case_from(case).heating.conductors[0].carries == "supply"
    case["heating"]["leads"] = [lead | {"carries": "other paths"}]
    assert case_from(case).heating.conductors[0].carries == "other paths"
    case["heating"]["leads"] = [lead | {"carries": "shield wire"}]
    with pytest.raises(CaseError, match="no current 'shield wire'; there are 'supply'"):
        case_from(case)


def test_temperatures_in_any_unit(content):
    keys = {"ambient": "104 degF", "joint": None, "limit": "573.15 K", "leads": [LEAD]}
    plan = planned(content, keys=keys)
    assert plan.ambient == 40.0
    assert plan.conductors[0].limit.temperature == 300.0


def test_the_section_of_a_table_is_its_least(content, tmp_path):
    rows = "x [m],y [m],top_depth [m],length [m],diameter [mm]\n0,0,0,2,14\n5,0,0,2,12\n"
    (tmp_path / "rods.csv").write_text(rows, encoding="utf-8")
    part = {"kind": "rod table", "file": "rods.csv", "material": "copper-clad steel rod 20 %"}
    case = case_from(content(part, heating=heating()), folder=tmp_path)
    assert_allclose(case.heating.conductors[0].section, 113.1e-6, rtol=1e-3)


def test_a_variant_changes_joints_and_materials(content):
    case = content(RING, RODS, heating=heating(leads=[LEAD]))
    case["variants"] = [
        {"name": "bolted", "heating": {"joint": "bolted"}},
        {"name": "my own", "heating": {"limit": "300 degC"}},
        {"name": "thinner", "heating": {"leads": [{"name": "lead", "diameter": "2 mm"}]}},
        {
            "name": "stainless",
            "electrodes": [
                {
                    "name": "main",
                    "parts": [{"name": "rods", "material": "stainless steel 304"}],
                }
            ],
        },
    ]
    bolted, own, thinner, stainless = case_from(case).variants
    assert {item.limit.temperature for item in bolted.heating.conductors} == {250.0}
    assert {item.limit.temperature for item in own.heating.conductors} == {300.0}
    assert_allclose(thinner.heating.conductors[0].section, 3.1416e-6, rtol=1e-4)
    assert stainless.heating.conductors[2].material.name == "stainless steel 304"


FIRST = "heating.leads[1] 'lead'"
REFUSED = [
    ({"leads": [LEAD | {"material": "copper"}]}, f"{FIRST}.material", "no material"),
    ({"leads": [LEAD | {"material": 7}]}, f"{FIRST}.material", "no material '7'"),
    (
        {"leads": [LEAD | {"diameter": "8 mm"}]},
        "heating.leads[1] 'lead'",
        "give exactly one of diameter, strip, stranded",
    ),
    (
        {"leads": [LEAD | {"joint": "bolted", "limit": "300 degC"}]},
        "heating.leads[1] 'lead'",
        "give at most one of joint, limit",
    ),
    (
        {"leads": [LEAD | {"carries": "supply"}]},
        "heating.leads[1] 'lead'",
        "give at most one of current, carries",
    ),
    ({"leads": [LEAD | {"current": "-2 kA"}]}, "heating.leads[1] 'lead'.current", "above 0 A"),
    ({"leads": [LEAD | {"joint": "glued"}]}, "heating.leads[1] 'lead'.joint", "'glued'"),
    ({"leads": [LEAD, LEAD]}, "heating.leads[2] 'lead'", "lead name 'lead' is taken"),
    ({"leads": [LEAD], "ambient": "40"}, "heating.ambient", "the unit is missing"),
    ({"leads": [LEAD], "ambient": "40 m"}, "heating.ambient", "'m' is not a unit of temper"),
    ({"leads": [LEAD], "ambient": "-300 degC"}, "heating.ambient", "is below the -60 degC"),
    ({"leads": [LEAD], "ambient": None}, "heating.ambient", "is missing"),
    ({"leads": [LEAD], "joint": None}, "heating", "give exactly one of joint, limit"),
    ({"leads": [LEAD], "ambient": "260 degC", "joint": "bolted"}, "heating.joint", "250 °C"),
    (
        {"leads": [LEAD | {"limit": "1100 degC"}]},
        "heating.leads[1] 'lead'.limit",
        "at most the 1084 °C at which it melts",
    ),
    ({"leads": [LEAD], "corrosion": 0.95}, "heating.corrosion", "from 0 to 0.9"),
    (
        {"leads": [LEAD], "soil": {"thermal_conductivity": "1 W/m/K",
                                   "highest_temperature": "30 degC"}},
        "heating",
        "is not above the ambient 40 °C",
    ),
    (
        {"leads": [LEAD], "soil": {"thermal_conductivity": "1 W/m",
                                   "highest_temperature": "90 degC"}},
        "heating.soil.thermal_conductivity",
        "'W/m' is not a unit of thermal conductivity",
    ),
    ({"leads": [LEAD], "equation": "en_50522"}, "heating.joint", "give 'limit'"),
    ({"leads": [LEAD], "duration": None}, "heating", "needs the duration of the fault"),
    ({}, "heating", "judges nothing"),
    ({"parts": [{"name": "plate"}]}, "heating.parts[1] 'plate'.name", "no part 'plate'"),
    ({"parts": [{"name": "rod 1"}]}, "heating.parts[1] 'rod 1'", "'rod 1' has no material"),
    (
        {"leads": [{key: LEAD[key] for key in LEAD if key != "current"}]},
        "heating.leads[1] 'lead'",
        "says no current, and the case has no circuit",
    ),
]  # fmt: skip


@pytest.mark.parametrize(("keys", "place", "words"), REFUSED)
def test_every_refusal_has_its_place_and_a_way_on(content, keys, place, words):
    found = problems(content, keys=keys)
    assert any(where.startswith(place) and words in said for where, said in found), found


def test_a_material_that_the_european_standard_does_not_have(content):
    keys = {"equation": "en_50522", "joint": None, "limit": "300 degC"}
    found = problems(content, RING, RODS, keys=keys)
    assert len(found) == 1
    assert found[0][0] == "electrodes[1] 'main'.parts[2] 'rods'.material"
    assert "EN 50522 annex D has constants for copper, aluminium and steel" in found[0][1]


def test_all_that_is_wrong_is_said_at_once(content):
    parts = [{"name": "ring", "limit": "1000 degC"}, {"name": "rods"}, {"name": "rods"}]
    leads = [LEAD | {"current": "0 A"}]
    found = problems(
        content, RING, RODS, keys={"duration": None, "parts": parts, "leads": leads}
    )
    assert sorted(place for place, _ in found) == [
        "heating",
        "heating.leads[1] 'lead'.current",
        "heating.parts[1] 'ring'.limit",
        "heating.parts[3] 'rods'",
    ]


BRAID = {
    "name": "aged braid",
    "source": "data sheet of the maker",
    "resistivity": "2.1 uohm*cm",
    "temperature_coefficient": "0.0035 K^-1",
    "fusing": "900 degC",
    "heat_capacity": "3.1 J/cm^3/K",
}


def test_leads_and_parts_may_be_of_a_material_of_the_case(content, rod):
    ring = RING | {"material": "aged braid"}
    lead = LEAD | {"material": "aged braid"}
    plan = planned(
        content, ring, keys={"materials": [BRAID], "leads": [lead], "joint": "fusing"}
    )
    for item in plan.conductors:
        metal = item.material
        assert metal.source == "data sheet of the maker"
        assert_allclose([metal.resistivity, metal.heat_capacity], [2.1e-8, 3.1e6])
        # Resistivity grows by α per kelvin from 20 °C: it would vanish 1/α below that.
        assert_allclose(metal.zero, 1 / 0.0035 - 20)
        assert item.limit.temperature == 900.0
    siemens = {k: v for k, v in BRAID.items() if k != "resistivity"} | {
        "conductivity": "47.619 MS/m"
    }
    plan = planned(content, ring, keys={"materials": [siemens]})
    assert_allclose(plan.conductors[0].material.resistivity, 2.1e-8, rtol=1e-5)


@pytest.mark.parametrize(
    ("changes", "message"),
    [
        ({"name": "annealed copper"}, "stands in the table already"),
        ({"conductivity": "50 MS/m"}, "resistivity"),
        ({"source": None}, "source"),
        ({"resistivity": "2.1 ohm*m"}, "above the 1e-05 ohm\\*m allowed"),
        ({"temperature_coefficient": 0.0035}, "needs a unit"),
    ],
)
def test_constants_that_are_no_metals_are_refused(content, changes, message):
    given = {key: value for key, value in (BRAID | changes).items() if value is not None}
    found = problems(content, RING, keys={"materials": [given]})
    assert any(re.search(message, f"{path} {text}") for path, text in found), found


def test_an_unknown_material_is_refused_with_those_of_the_case_too(content):
    ring = RING | {"material": "bronze"}
    ((path, message),) = problems(content, ring, keys={"materials": [BRAID]})
    assert path.endswith("material")
    assert "no material 'bronze'" in message
    assert "'aged braid'" in message
    assert "'annealed copper'" in message


def test_en_50522_has_no_constants_for_a_material_of_the_case(content):
    ring = RING | {"material": "aged braid"}
    keys = {"materials": [BRAID], "equation": "en_50522", "joint": None, "limit": "300 degC"}
    ((_, message),) = problems(content, ring, keys=keys)
    assert "none for aged braid; take equation: ieee_80" in message
