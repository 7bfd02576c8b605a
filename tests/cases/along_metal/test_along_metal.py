"""The along_metal block: what it becomes, and every way in which it does not fit."""

from copy import deepcopy

import jsonschema
import pytest
from numpy.testing import assert_allclose

from ohmscape.cases.loading import case_from
from ohmscape.cases.schema import case_file_schema
from ohmscape.solver.errors import CaseError
from ohmscape.solver.metal.wiring import REMOTE_EARTH, Terminal

METAL = {"diameter": "11 mm", "material": "annealed copper"}


def loop(name, x, **more):
    corners = [(x, 0), (x + 20, 0), (x + 20, 20), (x, 20)]
    points = [[f"{a} m", f"{b} m"] for a, b in corners]
    return {"kind": "loop", "name": name, "points": points, "depth": "0.8 m", **METAL, **more}


ROD = {
    "kind": "rod",
    "name": "rod",
    "at": ["0 m", "0 m"],
    "top_depth": "0.8 m",
    "length": "3 m",
    "diameter": "16 mm",
    "material": "zinc-coated steel rod",
}
LEAD = {
    "name": "sheath",
    "between": ["gland", "kiosk"],
    "made_of": {"material": "annealed copper", "diameter": "8 mm"},
}
CONTENT = {
    "ohmscape": 1,
    "title": "Two yards",
    "soil": {"layers": [{"resistivity": "100 ohm*m"}]},
    "system": {"frequency": "50 Hz"},
    "electrodes": [
        {
            "name": "station",
            "drive": {"current": "100 A"},
            "fed_at": ["0 m", "20 m"],
            "parts": [loop("ring", 0), ROD],
        },
        {
            "name": "kiosk",
            "drive": {"floating": True},
            "fed_at": ["200 m", "0 m"],
            "parts": [loop("other ring", 200)],
        },
    ],
    "along_metal": {
        "places": [
            {"name": "gland", "electrode": "station", "at": ["20 m", "0 m"]},
            {"name": "far corner", "electrode": "kiosk", "at": ["220 m", "20 m"]},
            {"name": "box"},
        ],
        "leads": [LEAD, {"name": "tail", "between": ["box", "kiosk"], "impedance": {}}],
        "joints": [{"name": "clamp", "part": "rod", "resistance": "0.3 ohm"}],
    },
}


def changed(*path, to=None, take=False, base=CONTENT):
    content = deepcopy(base)
    here = content
    for step in path[:-1]:
        here = here[step]
    if take:
        del here[path[-1]]
    else:
        here[path[-1]] = to
    return content


def wired(content):
    return case_from(content)


def place(case, end):
    metal = case.conductors
    return metal.start[end.piece] + end.along * metal.direction[end.piece]


def test_a_case_becomes_a_wiring_of_ports_leads_and_joints():
    case = wired(CONTENT)
    wiring = case.wiring
    assert wiring.frequency == 50.0
    assert [port.name for port in wiring.ports] == ["station"]
    assert_allclose(place(case, wiring.ports[0].at), [0, 20, -0.8])
    sheath, tail = wiring.leads
    assert_allclose(place(case, sheath.ends[0]), [20, 0, -0.8])
    assert_allclose(place(case, sheath.ends[1]), [200, 0, -0.8])
    assert sheath.radius == 0.004
    assert tail.ends[0] == Terminal("box")
    assert tail.impedance == 0
    (clamp,) = wiring.breaks
    assert clamp.impedance == 0.3
    assert case.conductors.part_names[case.conductors.part[clamp.feed.piece]] == "rod"
    assert_allclose(place(case, clamp.feed), [0, 0, -0.8])
    names = [part.name for part in case.parts]
    assert [bar.permeability for bar in wiring.bars] == [
        200.0 if name == "rod" else 1.0 for name in names
    ]
    assert [item.name for item in case.places] == [
        "station", "kiosk", "gland", "far corner", "box"
    ]  # fmt: skip


def test_a_case_without_the_block_has_its_metal_at_one_potential():
    assert wired(changed("along_metal", take=True)).wiring is None
    assert wired(changed("along_metal", to={})).wiring.leads == ()


@pytest.mark.slow
def test_the_schema_takes_the_block():
    jsonschema.validate(CONTENT, case_file_schema())


def test_variants_cut_leads_and_joints_by_their_names():
    variants = [
        {"name": "stolen", "open": ["sheath", "clamp"]},
        {
            "name": "mended",
            "along_metal": {"joints": [{"name": "clamp", "resistance": "0 ohm"}]},
        },
        {"name": "at one potential", "open": ["tail"]},
    ]
    case = wired({**CONTENT, "variants": variants})
    stolen, mended, other = case.variants
    assert [lead.name for lead in stolen.wiring.leads] == ["tail"]
    assert stolen.wiring.breaks[0].impedance is None
    assert mended.wiring.breaks == ()
    # A box that no lead comes to is not there.
    assert "box" not in [item.name for item in other.places]


def test_steel_has_the_permeability_asked_for():
    case = wired(changed("along_metal", "steel", to="high"))
    assert max(bar.permeability for bar in case.wiring.bars) == 1000.0


def test_closed_bonds_are_leads_without_impedance_and_may_end_at_remote_earth():
    content = changed(
        "bonds", to=[{"name": "bond", "between": ["station", "kiosk"], "closed": True}]
    )
    assert [lead.name for lead in wired(content).wiring.leads] == ["sheath", "tail", "bond"]
    far = {
        "name": "far",
        "between": ["station", "remote earth"],
        "impedance": {"resistance": "4 ohm"},
    }
    case = wired(changed("along_metal", "leads", to=[LEAD, far]))
    assert case.wiring.leads[1].ends[1] == REMOTE_EARTH


def test_nodes_of_a_circuit_may_be_places():
    circuit = {
        "frequency": "60 Hz",
        "supply": {"current": "500 A", "to": "box", "return": "station"},
        "leads_divide": True,
    }
    content = changed("electrodes", 0, "drive", to={"circuit": True})
    content = changed("circuit", to=circuit, base=changed("system", take=True, base=content))
    case = wired(content)
    assert {port.name for port in case.wiring.ports} == {"box", "station"}
    assert case.wiring.frequency == 60.0


BETWEEN = ("along_metal", "leads", 0, "between")
REFUSED = [
    (("system",), {"voltage_to_earth": "6 kV"}, "needs the frequency"),
    (("electrodes", 0, "parts", 0, "material"), None, "has no material"),
    (("electrodes", 0, "fed_at"), None, "nothing says where on its metal"),
    (("electrodes", 0, "fed_at"), "ring", "more than one straight piece"),
    ((*BETWEEN,), ["gland", "nowhere"], "no electrode or place of along_metal 'nowhere'"),
    ((*BETWEEN,), ["gland", "gland"], "from 'gland' to itself"),
    (("along_metal", "places", 0, "electrode"), None, "go together"),
    (("along_metal", "places", 0, "at"), ["50 m", "0 m"], "from the axis of any metal"),
    (("along_metal", "places", 1, "name"), "kiosk", "is an electrode; take another name"),
    (("along_metal", "places", 1, "name"), "gland", "place name 'gland' is taken"),
    (("along_metal", "leads", 0, "name"), "clamp", "name 'clamp' is taken"),
    (("along_metal", "leads", 0, "made_of", "material"), "tin foil", "tin foil"),
    (("along_metal", "leads", 0, "made_of", "strip"), ["30 mm", "3 mm"], "exactly one"),
    (("along_metal", "leads", 0, "impedance"), {"resistance": "1 ohm"}, "impedance.*made_of"),
    (("along_metal", "joints", 0, "part"), "rods", "rods"),
    (("along_metal", "joints", 0, "at"), ["0 m", "0 m", "3.8 m"], "free end"),
    (("study",), {"soil_shares": True}, "metal at one potential"),
    (
        ("safety",),
        {
            "duration": "0.5 s",
            "limits": [{"name": "all", "ieee_80": {}}],
            "exposures": [{"name": "walking", "step": "anywhere", "limit": "all"}],
            "solved_feet": {},
        },
        "somebody on solved feet",
    ),
]


@pytest.mark.parametrize(("path", "value", "message"), REFUSED, ids=lambda v: str(v)[:40])
def test_what_does_not_fit_is_refused_with_its_place(path, value, message):
    content = changed(*path, to=value, take=value is None)
    with pytest.raises(CaseError, match=message):
        wired(content)


def test_leads_without_impedance_must_not_close_a_loop():
    bare = [
        {"name": name, "between": ["gland", "kiosk"], "impedance": {}}
        for name in ("one", "two")
    ]
    with pytest.raises(CaseError, match="close a loop"):
        wired(changed("along_metal", "leads", to=[LEAD, *bare]))


def test_a_joint_where_several_pieces_of_a_part_meet_others_is_open():
    joint = {"name": "clamp", "part": "ring", "at": ["0 m", "0 m"], "connected": False}
    with pytest.raises(CaseError, match="which of them comes off is open"):
        wired(changed("along_metal", "joints", to=[joint]))
    aside = {**joint, "at": ["0.5 m", "0 m"]}
    case = wired(changed("along_metal", "joints", to=[aside]))
    assert_allclose(place(case, case.wiring.breaks[0].feed), [0.5, 0, -0.8])


def test_a_port_on_no_metal_needs_a_lead():
    circuit = {
        "frequency": "50 Hz",
        "supply": {"current": "5 A", "to": "box", "return": "station"},
    }
    content = changed("electrodes", 0, "drive", to={"circuit": True})
    content = changed("circuit", to={**circuit, "leads_divide": True}, base=content)
    content = changed("along_metal", "leads", 1, "connected", to=False, base=content)
    with pytest.raises(CaseError, match="no connected lead leads"):
        wired(content)


def test_leads_cannot_divide_what_there_is_not():
    circuit = {
        "frequency": "50 Hz",
        "supply": {"current": "5 A", "to": "station"},
        "leads_divide": True,
    }
    content = changed("electrodes", 0, "drive", to={"circuit": True})
    content = changed("circuit", to=circuit, base=content)
    with pytest.raises(CaseError, match="no lead of along_metal is there"):
        wired(changed("along_metal", take=True, base=content))


def test_a_split_factor_does_not_go_with_leads():
    circuit = {
        "frequency": "50 Hz",
        "supply": {"current": "5 A", "to": "station"},
        "split_factor": 0.5,
    }
    content = changed("electrodes", 0, "drive", to={"circuit": True})
    with pytest.raises(CaseError, match="stands for metal that is not in the case"):
        wired(changed("circuit", to=circuit, base=content))


def test_all_that_is_wrong_is_told_at_once():
    content = changed("electrodes", 0, "parts", 0, "material", take=True)
    content = changed("along_metal", "places", 0, "at", to=["50 m", "0 m"], base=content)
    with pytest.raises(CaseError) as caught:
        wired(content)
    text = str(caught.value)
    assert "has no material" in text
    assert "from the axis of any metal" in text


def test_a_place_at_a_break_is_on_the_metal_that_stays_unless_its_part_is_named():
    joint = {"name": "clamp", "part": "rod", "connected": False}
    content = changed("along_metal", "joints", to=[joint])
    content = changed("along_metal", "places", 0, "at", to=["0 m", "0 m"], base=content)
    content = changed("electrodes", 0, "fed_at", to="rod", base=content)
    case = wired(content)
    (clamp,) = case.wiring.breaks
    by_name = {item.name: item.at for item in case.places}
    parts = case.conductors.part
    assert by_name["gland"] != clamp.feed
    assert_allclose(place(case, by_name["gland"]), [0, 0, -0.8])
    assert case.conductors.part_names[parts[by_name["gland"].piece]] == "ring"
    assert by_name["station"] == clamp.feed


def test_a_place_where_metal_is_cut_in_two_is_open():
    joint = {"name": "cut", "part": "ring", "at": ["10 m", "0 m"], "connected": False}
    content = changed("along_metal", "joints", to=[joint])
    content = changed("along_metal", "places", 0, "at", to=["10 m", "0 m"], base=content)
    with pytest.raises(CaseError, match="on which side is open"):
        wired(content)
