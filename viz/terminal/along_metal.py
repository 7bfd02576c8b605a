"""How metal is wired, as it was read, before anything is solved."""

from collections import Counter
from collections.abc import Sequence

from ...solver.metal.wiring import End, Lead, Port, Terminal, Wiring
from ...solver.model import Conductors
from ..wording import ohms_text


def along_read(
    wiring: Wiring | None, places: Sequence[Port], *, conductors: Conductors
) -> list[str]:
    """The wiring of a case as it was read; no lines where metal is at one potential."""
    if wiring is None:
        return []
    current = f"at {wiring.frequency:g} Hz" if wiring.frequency else "with direct current"
    steel = max((bar.permeability for bar in wiring.bars), default=1.0)
    if steel > 1 and wiring.frequency:
        current += f", steel of relative permeability {steel:g}"
    lines = [f"Voltage along the metal, worked out {current}"]
    fed = {port.name for port in wiring.ports}
    lines += [
        f"  {'fed' if place.name in fed else 'place'}: {place.name}, "
        f"{_end(place.at, conductors)}"
        for place in places
    ]
    names = {place.at: place.name for place in places}
    spans = Counter(lead.told_as for lead in wiring.leads if lead.told_as)
    lines += [f"  {name}: {count:,} in all" for name, count in spans.items()]
    for lead in wiring.leads:
        if lead.told_as:
            continue
        one, other = (names.get(end) or _end(end, conductors) for end in lead.ends)
        lines.append(f"  lead {lead.name}: {one} to {other}, {_made_of(lead)}")
    for joint in wiring.breaks:
        state = "BROKEN" if joint.impedance is None else ohms_text(joint.impedance)
        lines.append(f"  joint {joint.name}: {state}, {_end(joint.feed, conductors)}")
    return lines


def _end(end: End, conductors: Conductors) -> str:
    """Where something is: on a part, or where leads end."""
    if isinstance(end, Terminal):
        return "where leads end"
    way = conductors.start[end.piece] + end.along * conductors.direction[end.piece]
    x, y, z = way + 0.0
    part = conductors.part_names[int(conductors.part[end.piece])]
    return f"on {part} at ({x:.4g}, {y:.4g}) m, {abs(z):.3g} m deep"


def _made_of(lead: Lead) -> str:
    if lead.impedance is not None:
        return ohms_text(lead.impedance) if lead.impedance else "no impedance"
    assert lead.bar is not None  # it has one or the other
    return f"{lead.bar.material.name}"
