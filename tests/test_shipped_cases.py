"""The shipped cases against thin wires, which share no field code with the finite elements."""

import re
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from numpy.testing import assert_allclose

from ohmscape.cases.circuit.operating import operating_of
from ohmscape.cases.fitting import fit_soil
from ohmscape.cases.loading import load_case
from ohmscape.cases.shipped import shipped_case_path, shipped_cases
from ohmscape.jobs.run import run_case
from ohmscape.solver.thin_wire import agreement, second_opinion
from ohmscape.viz.terminal.summary import summary

pytestmark = pytest.mark.slow

# The large ones run coarse, to save time.
LARGE = ("substation-grid", "fence-by-grid", "switchyard", "yard-to-size")
LARGE += ("yard-on-a-rock-edge",)
ACCURACY = dict.fromkeys(LARGE, "coarse")

# Thin wires leave out the flat ends of fence posts, 0.6 m long in 0.25 m of concrete, and
# come out 2.1 % high for one by that; the field is 1.1 % low (both against the axisymmetric
# field with metal, concrete and layers meshed).
RESISTANCE = {"fence-by-grid": 0.02}

VARIANTS = {"kiosk-in-three-seasons": ("dry summer", "frozen top", "another ring")}
# Thin wires know layers only: the variant without bodies in the soil.
WITHOUT_BODIES = {
    "pad-on-a-foundation": "without mat and block",
    "pool-with-deck": "lawn alone",
    "yard-on-a-rock-edge": "no rock",
}
# Thin wires at one potential do not know leads: see test_along_metal_runs.
ALONG_METAL = ("kiosk-by-a-cable", "yard-beside-a-pipe")
EVERY = [
    (name, variant)
    for name in shipped_cases()
    if name not in ALONG_METAL
    for variant in (WITHOUT_BODIES.get(name, ""), *VARIANTS.get(name, ()))
]


@cache
def solved(name, variant, accuracy):
    """Case and result of a shipped case or variant."""
    case = fit_soil(load_case(shipped_case_path(name)))
    case = next((item for item in case.variants if item.variant == variant), case)
    return case, run_case(case, accuracy=accuracy)


@pytest.fixture(scope="module", params=EVERY, ids=" ".join)
def both(request):
    """Name and result of a shipped case or variant, and its second opinion."""
    name, variant = request.param
    case, result = solved(name, variant, ACCURACY.get(name, "normal"))
    opinion = second_opinion(case.conductors, soil=case.soil)
    other, _ = operating_of(case, opinion.current_matrix)
    found = agreement(
        result.operating,
        worst=result.worst,
        metal_groups={metal.name: metal.group for metal in result.metals},
        opinion=opinion,
        other=other,
    )
    return name, result, other, found


def test_resistances_agree_to_one_percent(both):
    name, result, _, found = both
    # Thin wires are good to 0.3 %, the field to 1 % by what the project asks.
    expected = result.operating.resistance.diagonal()
    assert_allclose(expected, found.resistance, rtol=RESISTANCE.get(name, 0.01))


def test_rises_agree_to_one_percent(both):
    _, result, other, _ = both
    assert_allclose(result.operating.voltage, other.voltage, rtol=0.01)


def test_worst_voltages_agree_at_their_places(both):
    _, result, _, found = both
    for item, voltage in zip(result.worst, found.worst, strict=True):
        # 2 % of the voltage, or 0.5 % of the rise where that is more.
        allowed = max(0.02 * item.voltage, 0.005 * result.rise)
        assert abs(voltage - item.voltage) < allowed


def test_differences_are_within_the_errors_that_both_state(both):
    _, result, _, found = both
    accuracy = result.accuracy
    voltage_error = np.max(
        [accuracy.estimate(v) for v in (accuracy.resistance, accuracy.touch, accuracy.step)]
    )
    assert found.agrees(
        resistance_error=accuracy.estimate(accuracy.resistance), voltage_error=voltage_error
    )


# Of what runs on another day, with another mesh generator, may differ by.
NOISE = 1.5e-3


def amounts(text):
    """Voltages, currents and resistances in a text, and half a unit of their last digit."""
    pattern = r"([0-9]+(?:\.([0-9]+))?) ([mk]?)(V|A|Ω)(?![·\w/])"
    factors = {"": 1.0, "k": 1e3, "m": 1e-3}
    return [
        (float(number) * factors[prefix], unit, 0.5 * factors[prefix] / 10 ** len(decimals))
        for number, decimals, prefix, unit in re.findall(pattern, text)
    ]


def is_near(stated, found):
    value, unit, rounding = stated
    other, other_unit = found
    return unit == other_unit and abs(value - other) <= 1.01 * rounding + NOISE * abs(other)


def found_in(result):
    """Resistances, rises and worst voltages by both methods and by formulas."""
    second = result.agreement
    resistances = [
        *(result.resistance(k) for k in range(len(result.group_names))),
        *second.resistance,
        *(item.formula_resistance for item in result.order_checks),
    ]
    voltages = [
        *np.abs(result.operating.voltage),
        *(item.voltage for item in result.worst),
        *second.worst,
    ]
    return [(value, "Ω") for value in resistances] + [(value, "V") for value in voltages]


def comment_of(name):
    """What stands on top of a shipped case."""
    text = shipped_case_path(name).read_text(encoding="utf-8")
    head = text[: re.search("^[^#\n]", text, re.MULTILINE).start()]
    return " ".join(line.lstrip("# ") for line in head.splitlines())


STATED = {
    name: amounts(comment_of(name).partition("Expected")[2].partition("Never energise")[0])
    for name in shipped_cases()
}


def test_comments_of_five_cases_state_numbers():
    assert sum(map(bool, STATED.values())) == 5
    assert amounts("12.9 Ω, 2.33 kV; 310 Ω·m") == [(12.9, "Ω", 0.05), (2330.0, "V", 5.0)]


@pytest.mark.parametrize("name", [name for name, stated in STATED.items() if stated])
def test_numbers_in_the_comment_of_a_case_are_those_of_a_run(name):
    found = []
    for variant in ("", *VARIANTS.get(name, ())):
        found += found_in(solved(name, variant, "normal")[1])
    for stated in STATED[name]:
        assert any(is_near(stated, each) for each in found), (stated, found)


@pytest.mark.parametrize(
    ("name", "better", "worse"),
    [
        ("pad-on-a-foundation", "", "dry block"),
        ("pad-on-a-foundation", "", "block in plastic"),
        ("pool-with-deck", "", "drained"),
        ("yard-on-a-rock-edge", "no rock", ""),
    ],
)
def test_poorer_bodies_raise_the_resistance(name, better, worse):
    """Rayleigh's monotony law."""
    accuracy = ACCURACY.get(name, "normal")
    one, other = (solved(name, variant, accuracy)[1] for variant in (better, worse))
    assert other.resistance(0) > one.resistance(0)
    assert (other.agreement is None) == (worse != WITHOUT_BODIES[name])


README = Path(__file__).resolve().parent.parent / "README.md"
SHOWN = dict(
    re.findall(r"^```\n\$ ohmscape run (\S+)\n(.*?)^```$", README.read_text(), re.M | re.S)
)


def test_the_readme_shows_two_runs():
    assert set(SHOWN) == {"switchyard", "driven-rod"}


def words_alone(line):
    """A line without its numbers and blanks, for finding it again."""
    return re.sub(r"[-+−]?[0-9][0-9.,]*|\s", "", line)


@pytest.mark.parametrize("name", SHOWN)
def test_the_readme_shows_what_a_run_prints(name):
    printed = summary(solved(name, "", "normal")[1]).splitlines()
    compared = 0
    for line in filter(None, SHOWN[name].splitlines()):
        if line.strip() == "…":
            continue
        # Signs of what is about nought change with the mesh.
        same = [each for each in printed if words_alone(each) == words_alone(line)]
        assert same, line
        pairs = list(zip(amounts(line), amounts(same[0]), strict=True))
        assert all(is_near(stated, shown[:2]) for stated, shown in pairs), (line, same[0])
        compared += len(pairs)
    assert compared >= 6


def test_the_readme_states_how_far_the_methods_are_apart():
    text = " ".join(README.read_text(encoding="utf-8").split())
    stated = re.search(
        r"shipped cases differ by ([\d.]+) % at most, apart from posts in concrete "
        r"\(([\d.]+) %\)",
        text,
    )
    most, posts = (float(each) / 100 for each in stated.groups())
    for name in shipped_cases():
        if name in WITHOUT_BODIES:
            continue
        found = solved(name, "", "normal")[1].agreement
        if found is None:
            continue
        limit = posts if name == "fence-by-grid" else most
        assert max(found.resistance_difference, found.voltage_difference) <= limit, name
