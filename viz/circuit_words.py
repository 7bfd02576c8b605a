"""The words of a fault circuit: as a case gives it, on terminal, page and paper."""

from ..solver.circuit import OTHER_PATHS, REMOTE_EARTH, Branch, Circuit, Path, Supply
from ..solver.drives import System
from ..solver.wording import number_text
from .wording import ohms_text, significant, with_unit
from .words.text import Text, say

_some_durations = (0.1, 0.5, 1.0)  # s


def system_text(system: System) -> str:
    """What the case states of the system whose fault drives it."""
    voltage, current = system.voltage_to_earth, system.largest_fault_current
    said = [f"{with_unit(voltage, symbol='V')} from phase to earth"] if voltage else []
    if current:
        said.append(f"a fault current to earth of at most {with_unit(current, symbol='A')}")
    if system.frequency is not None:
        said.append(f"{system.frequency:g} Hz" if system.frequency else "direct current")
    return f"System: {', '.join(said)}"


def supply_text(circuit: Circuit) -> Text:
    """What drives the fault, and between which nodes."""
    supply = circuit.supply
    to, back = _node(supply.to), _node(supply.returns_at)
    return say("supply: {}, to {}, returning at {}", _source(supply), to, back)


def path_text(path: Path) -> Text:
    """A path with its nodes and its impedance, or of what its ladder is made."""
    apart = "" if path.connected else ", NOT CONNECTED"
    return _between(path) + f": {_impedance(path)}{apart}"


def branch_text(branch: Branch) -> Text | str:
    """A path with its nodes, or what stands for all of them."""
    if branch.name == OTHER_PATHS:
        return "other paths (by the split factor)"
    return _between(branch)


def division_text(circuit: Circuit) -> str:
    """How the current was said to divide."""
    if circuit.split_factor is not None:
        return f"Split factor given: {significant(circuit.split_factor)} of it enters the soil."
    if circuit.leads_divide:
        beside = "leads and paths" if circuit.paths else "leads"
        return f"The current divides between the soil and the {beside}."
    if circuit.paths:
        return "The current divides between the soil and the paths."
    if circuit.all_current_in_soil:
        return "All of the fault current was said to enter the soil."
    return "No path beside the soil is given."


def factors_text(circuit: Circuit) -> str:
    """Growth and decrement, which no phasor contains."""
    growth = f"growth factor {circuit.growth_factor:g}"
    if circuit.x_over_r is None:
        return f"NOT in these values: {growth}; no decrement factor, X/R is not given."
    shortest = 1 / (2 * circuit.frequency)
    found = ", ".join(
        f"{circuit.factors(time).decrement:.3f} for {time:g} s"
        for time in _some_durations
        if time >= shortest
    )
    ratio = f"X/R {circuit.x_over_r:g}"
    return f"NOT in these values: {growth}; decrement factor {found} ({ratio})."


def _between(item: Path | Branch) -> Text:
    return say("path '{}', {} to {}", item.name, *map(_node, item.between))


def _node(name: str) -> Text:
    """A node by the user's name, or remote earth."""
    return say("{remote}") if name == REMOTE_EARTH else say("'{}'", name)


def _source(supply: Supply) -> str:
    if supply.current is not None:
        return f"fault current {with_unit(supply.current, symbol='A')}"
    volts = with_unit(supply.voltage or 0.0, symbol="V")
    return f"{volts} behind {ohms_text(supply.impedance)}"


def _impedance(path: Path) -> str:
    ladder = path.ladder
    if ladder is None:
        return ohms_text(path.impedance or 0j)
    count = (
        "endless"
        if ladder.spans is None
        else f"{number_text(ladder.spans, 'span')}, {ladder.end} end"
    )
    broken = ladder.broken_after
    cut = "" if broken is None else f", broken after {broken}"
    footing = ohms_text(complex(ladder.footing))
    return f"ladder of {ohms_text(ladder.span)} a span and {footing} a pole, {count}{cut}"
