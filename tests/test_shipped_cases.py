"""The shipped cases against a thin-wire integral method that shares no code with the solver."""

from pathlib import Path

import numpy as np
import pytest
from numpy.testing import assert_allclose
from thin_wire import ThinWire

from ohmscape.cases.loading import load_case
from ohmscape.cases.shipped import shipped_case_path, shipped_cases
from ohmscape.cases.variants import as_variant
from ohmscape.run import run_case
from ohmscape.solver.circuit import operate
from ohmscape.solver.model import Conductors, Soil

# The two large ones run coarse, to save time.
ACCURACY = dict.fromkeys(("substation-grid", "fence-by-grid", "switchyard"), "coarse")


# Thin wires pass current through a sheath straight outwards only, not through its ends. One
# fence post, 0.6 m long in 0.25 m of concrete, comes out 2.2 % high by that and 1.1 % low
# here (against the axisymmetric field with metal, concrete and layers meshed).
RESISTANCE = {"fence-by-grid": 0.02}

VARIANTS = {"kiosk-in-three-seasons": ("dry summer", "frozen top")}
EVERY = [
    (name, variant) for name in shipped_cases() for variant in ("", *VARIANTS.get(name, ()))
]


@pytest.fixture(scope="module", params=EVERY, ids=" ".join)
def both(request):
    """Result of a shipped case or variant, and the thin wires of the same metal and soil."""
    name, variant = request.param
    case = load_case(shipped_case_path(name))
    case = next((as_variant(case, v) for v in case.variants if v.name == variant), case)
    result = run_case(case, accuracy=ACCURACY.get(name, "normal"))
    return result, ThinWire(case.conductors, case.soil)


def _voltage(result, wires):
    """Voltages of the groups by the thin wires, under the drives or circuit of the result."""
    if result.operation is None:
        return wires.group_voltage(result.drives)
    operation = operate(
        result.operation.circuit,
        current_matrix=np.linalg.inv(wires.resistance),
        group_names=result.group_names,
        bonds=result.bonds,
    )
    return operation.point.voltage


def test_resistances_agree_to_one_percent(both):
    result, wires = both
    # Thin wires are good to 0.2 % (end effect), the field to 1 % by what the project asks.
    found = [result.resistance(k) for k in range(len(result.group_names))]
    allowed = RESISTANCE.get(Path(result.case_file).stem, 0.01)
    assert_allclose(found, wires.resistance.diagonal(), rtol=allowed)


def test_rises_agree_to_one_percent(both):
    result, wires = both
    voltage = _voltage(result, wires)
    assert_allclose(result.operating.voltage, voltage, rtol=0.01)


def test_worst_voltages_agree_at_their_places(both):
    result, wires = both
    voltage = _voltage(result, wires)
    group = {metal.name: metal.group for metal in result.metals}
    for item in result.worst:
        feet = [foot for foot in (item.foot, item.other_foot) if foot is not None]
        ground = wires.surface_potential(np.array(feet), voltage=voltage)
        metal = voltage[group[item.name]] if len(feet) == 1 else ground[1]
        # 2 % of the voltage, or 0.5 % of the rise where that is more.
        allowed = max(0.02 * item.voltage, 0.005 * result.rise)
        assert abs(abs(metal - ground[0]) - item.voltage) < allowed


# Computed independently: boundary integral of the true surface, to five digits.
@pytest.mark.parametrize(
    ("soil", "length", "expected"),
    [
        (Soil((100.0,)), 3.0, 33.1936),
        (Soil((100.0, 500.0), (1.0,)), 3.0, 80.500),
        (Soil((400.0, 100.0), (2.0,)), 6.0, 23.586),
    ],
)
def test_the_thin_wires_themselves_meet_known_rods(soil, length, expected):
    rod = Conductors.bare([0.0, 0.0, 0.0], end=[0.0, 0.0, -length], radius=0.008)
    # Their known bias is +0.1 % in uniform soil; through an interface 0.15 %.
    found = ThinWire(rod, soil).resistance
    assert_allclose(found, expected, rtol=0.004)
