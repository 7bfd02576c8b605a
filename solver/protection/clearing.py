"""How long the fault lasts with several devices, the main ones and their backup."""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from .contract import Device, Trip, never


@dataclass(frozen=True)
class Answer:
    """What one device makes of the current it sees.

    Attributes
    ----------
    name, measures : str
        The user's names of the device and of the current.
    backup, fitted : bool
        Whether it counts only where no main device is certain to open; whether it is there.
    source, caution : str
        Standard, edition and clause; what it assumes.
    current : float
        Current it sees, effective value. [A]
    trip : Trip
        Whether and when it opens, or would.
    remark : str
        What else is to be said of it.
    keeps_rule : bool
        Whether it keeps the rule for choosing it, where there is one.
    """

    name: str
    measures: str
    backup: bool
    fitted: bool
    source: str
    caution: str
    current: float
    trip: Trip
    remark: str = ""
    keeps_rule: bool = True


@dataclass(frozen=True)
class FaultClearing:
    """How long the fault lasts.

    Attributes
    ----------
    answers : tuple of Answer
        Of each device, in the order given.
    trip : Trip
        Of all together, `clearing`; its `longest` is the duration to judge by, `math.inf`
        where nothing is certain to clear the fault.
    without_main : Trip or None
        Of the backup devices alone, as when a main device fails; None if there are none.
    """

    answers: tuple[Answer, ...]
    trip: Trip
    without_main: Trip | None


def clearing(trips: Sequence[Trip], *, backup: Sequence[Trip] = ()) -> Trip:
    """When the first of several devices ends the fault.

    Parameters
    ----------
    backup : sequence of Trip
        Of devices that count only if no main device is certain to open.

    Returns
    -------
    trip : Trip
        Shortest time of any that may open, longest of the first that certainly does;
        `math.inf` for the longest where none does.

    Notes
    -----
    Any one device ends the whole fault, and the current is steady until then.

    Examples
    --------
    >>> slow = Trip("certainly", 0.4, 0.9, "relay")
    >>> clearing([Trip("possibly", 0.1, math.inf, "breaker")], backup=[slow])
    Trip(certainty='certainly', shortest=0.1, longest=0.9, words='relay')
    >>> clearing([]).longest
    inf
    """
    main = _first(trips)
    if main.certainty == "certainly" or not backup:
        return main
    return _first([*trips, *backup])


def fault_clearing(
    devices: Sequence[Device], *, current_through: Callable[[str], complex]
) -> FaultClearing:
    """How long a fault lasts, from the currents its devices see.

    Parameters
    ----------
    current_through : callable
        Gives the current, real or a phasor, by the name a device measures. [A]

    Raises
    ------
    CaseError
        If a current is not finite.
    """
    answers = []
    for device in devices:
        current = float(abs(current_through(device.measures)))
        kind = device.characteristic
        answers.append(
            Answer(
                name=device.name,
                measures=device.measures,
                backup=device.backup,
                fitted=device.fitted,
                source=kind.source,
                caution=kind.caution,
                current=current,
                trip=device.trip(current),
            )
        )
    main = [answer.trip for answer in answers if answer.fitted and not answer.backup]
    backup = [answer.trip for answer in answers if answer.fitted and answer.backup]
    return FaultClearing(
        tuple(answers),
        clearing(main, backup=backup),
        clearing(backup) if backup else None,
    )


def _first(trips: Sequence[Trip]) -> Trip:
    sure = [trip for trip in trips if trip.certainty == "certainly"]
    open_ = [trip for trip in trips if trip.certainty != "never"]
    if not open_:
        return never("; ".join(trip.words for trip in trips) or "there is no device")
    soonest = min(open_, key=lambda trip: trip.shortest)
    if not sure:
        return Trip("possibly", soonest.shortest, math.inf, soonest.words)
    fastest = min(sure, key=lambda trip: trip.longest)
    return Trip("certainly", soonest.shortest, fastest.longest, fastest.words)
