"""Patterns for editors take what the reader takes, and nothing of another dimension."""

import re

import pytest

from ohmscape.cases.reading import quantities as q
from ohmscape.cases.reading.unit_patterns import pattern_of
from ohmscape.solver.errors import CaseError

KINDS = [kind for kind in vars(q).values() if isinstance(kind, q.Kind)]
USUAL = """
m mm cm km µm um μm ft foot feet in inch inches yd yards mi miles thou metre meters mil
mm^2 mm² cm² m^2 in² ft^2 kcmil MCM ohm Ohm Ohms ohms kohm Ω kΩ mΩ Mohm µohm milliohm kOhm
ohm*m ohm-m Ωm Ω·m ohm⋅m ohm*cm kohm*cm ohm*ft Ohm-m ohms*m kΩm ohm*m^2 ohm·cm² ohm*ft^2
V kV mV volts A kA mA amp amps amperes s ms µs sec seconds min minutes h hours day days
Hz kHz hertz Hertz kg g lb lbs pounds t tonne oz deg degrees rad radians ° turn percent abc
"""
UNITS = USUAL.split()
NUMBERS = ("3", "2.5", ".5", "5.", "1e3", "1.5E-1", "-2", "+2", "1/2", "8 1/2", "-8 1/2")
BESIDE = ("8 ft 6 in", "8 ft 6 1/2 in", "-8 ft 6 in", "4/0 AWG", "12 AWG", "41 AWG", "  3 m ")
WRONG = ("", "m", "3", "1,5 m", "nan m", "inf m", "8'", "8-1/2 ft", "3 m m", "3 4 m", "3 m/")


def read(text, kind):
    try:
        q.quantity(text, kind=kind)
    except CaseError:
        return False
    return True


@pytest.mark.parametrize("kind", KINDS, ids=lambda kind: kind.name)
def test_a_pattern_takes_what_the_reader_takes(kind):
    pattern = re.compile(pattern_of(kind))
    texts = [f"3 {unit}" for unit in UNITS] + [f"3{unit}" for unit in UNITS]
    texts += [f"{number} {kind.examples[0].split(' ', 1)[1]}" for number in NUMBERS]
    texts += [*BESIDE, *WRONG, *kind.examples]
    taken = {text: pattern.search(text) is not None for text in texts}
    assert taken == {text: read(text, kind) for text in texts}
    assert {True, False} == set(taken.values())
