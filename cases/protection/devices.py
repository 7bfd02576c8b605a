"""From the protection block of a case to devices the solver takes."""

from collections.abc import Sequence

from ...solver.circuit import EARTH_CURRENT, OTHER_PATHS, SUPPLY, Circuit
from ...solver.errors import CaseError, Problem
from ...solver.protection import Device
from ..reading.documents import Document, Step
from ..reading.messages import not_among
from ..reading.problems import in_order
from . import schema as schema


def measurable(circuit: Circuit | None, *, electrodes: Sequence[str]) -> tuple[str, ...]:
    """Currents that a device can see; without a circuit only what enters the soil."""
    into_soil = tuple(f"{EARTH_CURRENT}{name}" for name in electrodes)
    if circuit is None:
        return into_soil
    others = () if circuit.split_factor is None else (OTHER_PATHS,)
    return (SUPPLY, *(path.name for path in circuit.paths), *others, *into_soil)


def devices_of(
    given: Sequence[schema.Device],
    *,
    measurable: Sequence[str],
    document: Document,
    path: tuple[Step, ...] = ("protection",),
) -> tuple[Device, ...]:
    """Devices of the protection block.

    `measurable` are currents as the circuit spells them: ``supply``, its paths, ``earth
    current of X`` for each electrode. `CaseError` if devices measure what there is not, all
    at once.
    """
    problems: list[Problem] = []
    for number, device in enumerate(given):
        if device.measures not in measurable:
            msg = not_among(device.measures, measurable, what="current")
            problems.append(document.problem(msg, path=(*path, number, "measures")))
    if problems:
        raise CaseError(in_order(problems))
    return tuple(
        Device(
            device.name,
            device.measures,
            device.kind.characteristic,
            backup=device.backup,
            fitted=device.fitted,
        )
        for device in given
    )
