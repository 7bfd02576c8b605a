"""The words of a fault circuit that terminal and report share."""

from ..solver.circuit import REMOTE_EARTH, Path, Supply
from .wording import ohms_text, with_unit
from .words.text import Text, say


def node_text(name: str) -> Text:
    """A node by the user's name, or remote earth."""
    return say("{remote}") if name == REMOTE_EARTH else say("'{}'", name)


def source_text(supply: Supply) -> str:
    """What drives the fault."""
    if supply.current is not None:
        return f"fault current {with_unit(supply.current, symbol='A')}"
    volts = with_unit(supply.voltage or 0.0, symbol="V")
    return f"{volts} behind {ohms_text(supply.impedance)}"


def impedance_text(path: Path) -> str:
    """Impedance of a path, or of what its ladder is made."""
    ladder = path.ladder
    if ladder is None:
        return ohms_text(path.impedance or 0j)
    count = "endless" if ladder.spans is None else f"{ladder.spans} spans, {ladder.end} end"
    broken = ladder.broken_after
    cut = "" if broken is None else f", broken after {broken}"
    footing = ohms_text(complex(ladder.footing))
    return f"ladder of {ohms_text(ladder.span)} a span and {footing} a pole, {count}{cut}"
