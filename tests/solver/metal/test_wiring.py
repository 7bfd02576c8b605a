"""What a wiring refuses."""

import pytest

from ohmscape.solver.errors import CaseError
from ohmscape.solver.metal.internal import Bar
from ohmscape.solver.metal.network import Feed
from ohmscape.solver.metal.wiring import Break, Lead, Port, Terminal, Wiring

from .whole_networks import COPPER

BAR = Bar(COPPER, 1.0)
PORT = Port("feed", Feed(0, 0.0))
ENDS = (Feed(0, 0.0), Feed(1, 0.0))


@pytest.mark.parametrize(
    ("given", "said"),
    [
        ({}, "either an impedance or what it is made of"),
        ({"impedance": 1.0, "bar": BAR}, "either an impedance or what it is made of"),
        ({"impedance": -1.0}, "-1"),
        ({"impedance": complex("nan")}, "nan"),
        ({"bar": BAR}, "radius 0 m"),
        ({"bar": BAR, "radius": 0.01, "route": ((0, 0, 0),)}, "no way"),
        ({"bar": BAR, "radius": 0.01, "route": ((0, 0, 0), (0, 0, 0))}, "no way"),
    ],
)
def test_a_lead_that_is_none_is_refused(given, said):
    with pytest.raises(CaseError, match=said):
        Lead("cable", ENDS, **given)


def test_a_lead_to_a_terminal_needs_its_route():
    with pytest.raises(CaseError, match="give its route"):
        Lead("cable", (Feed(0, 0.0), Terminal("far")), bar=BAR, radius=0.01)


@pytest.mark.parametrize(
    ("given", "said"),
    [
        ({"frequency": -50.0}, "-50 Hz"),
        ({"frequency": float("nan")}, "nan Hz"),
        ({"frequency": 1e5}, "100000 Hz.*up to 1000 Hz"),
        ({"ports": ()}, "at least one port"),
        ({"ports": (PORT, PORT)}, "two ports are named 'feed'"),
        ({"leads": (Lead("gap", ENDS, impedance=1),)}, "named 'gap'"),
        ({"frequency": 0.0, "leads": (Lead("coil", ENDS, impedance=1j),)}, "direct current"),
    ],
)
def test_a_wiring_that_is_none_is_refused(given, said):
    right = {"bars": (BAR,), "frequency": 50.0, "ports": (PORT,)}
    with pytest.raises(CaseError, match=said):
        Wiring(**right | {"breaks": (Break("gap", Feed(0, 1.0)),)} | given)
