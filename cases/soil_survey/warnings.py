"""What looks like a slip in a survey: units, jumps, pins too deep. Nothing is changed."""

import math
from collections.abc import Iterator, Sequence
from itertools import pairwise

import numpy as np

from ...solver.model import Floats, Integers
from ...solver.soil_survey import Survey
from ...solver.wording import number_text, spoken
from .rows import SurveyRow

_lowest, _highest = 1.0, 1e5  # apparent resistivity that needs no remark [Ω·m]
_unlikely = 1e4  # of a whole survey; 100 ohm*m read as ohm*cm [Ω·m]
_jump = 10.0  # between neighbours
# Where layers are level, apparent resistivity grows no faster than the spacing: on log-log
# paper no branch rises by more than 45 degrees (rule of the trade, from memory).
_steepest, _step = 1.2, 1.3
_deepest_pin = 1 / 20  # of the distance between neighbouring pins (IEEE Std 81, from memory)
_shortest, _longest = 0.1, 1000.0  # spacing that needs no remark [m]
_agreement = 0.05  # between a resistance and the apparent resistivity beside it
_foot = 0.3048
# Resistances of uniform soil fall with the power -1 of the spacing; how near that, over how
# wide a range of spacings, and of how many readings.
_as_resistance = (-1.5, -0.75)
_least_range, _fewest, _scatter = 4.0, 4, 0.3


def survey_warnings(survey: Survey, *, rows: Sequence[SurveyRow]) -> tuple[str, ...]:
    """What looks like a slip in the readings, in the survey's order, each in one line."""
    return (
        *_two_values(survey, rows),
        *_levels(survey, rows),
        *_resistances(survey, rows),
        *_neighbours(survey, rows),
        *_pin_depths(survey, rows),
        *_spacings(survey, rows),
    )


def _where(rows: Sequence[SurveyRow], picked: Sequence[int] | Integers) -> str:
    """Lines of some readings, or their places where they have no line."""
    lines = [rows[k].problem("").line for k in picked[:6]]
    more = f" and {len(picked) - 6} more" if len(picked) > 6 else ""
    if any(line is None for line in lines):
        return number_text(len(picked), "reading")
    return f"line{'s' * (len(lines) > 1)} {', '.join(map(str, lines))}{more}"


def _two_values(survey: Survey, rows: Sequence[SurveyRow]) -> Iterator[str]:
    """Resistance and apparent resistivity that do not belong together."""
    written = np.array([row.apparent_resistivity for row in rows])
    measured = np.array([row.resistance for row in rows])
    both = np.flatnonzero(~np.isnan(written) & ~np.isnan(measured))
    exact = survey.apparent_resistivity
    surface = exact.copy()
    if survey.four_pin is not None:
        four = survey.four_pin
        surface[: len(four)] = four.resistance * four.surface_geometric_factor
    off = [
        int(k)
        for k in both
        if min(abs(written[k] / exact[k] - 1), abs(written[k] / surface[k] - 1)) > _agreement
    ]
    if not off:
        return
    ratio = float(np.median(written[off] / exact[off]))
    yield (
        f"{_where(rows, off)}: the apparent resistivity written there is {ratio:.3g} times "
        f"what resistance and pins give{_meaning(ratio)}; the resistance was used"
    )


def _meaning(ratio: float) -> str:
    """What a ratio between two values of one reading suggests."""
    likely = {
        100.0: "ohm*cm headed as ohm*m",
        0.01: "ohm*m headed as ohm*cm",
        _foot: "spacings in feet headed as metres",
        1 / _foot: "spacings in metres headed as feet",
        100 * _foot: "ohm*cm and feet headed as ohm*m and metres",
    }
    for value, words in likely.items():
        if abs(math.log(ratio / value)) < 0.1:
            return f", as with {words}"
    return ""


def _levels(survey: Survey, rows: Sequence[SurveyRow]) -> Iterator[str]:
    """Values beyond what soil and rock usually have; traverses a unit apart."""
    values = survey.apparent_resistivity
    median = float(np.median(values))
    beyond = np.flatnonzero((values < _lowest) | (values > _highest))
    if median > _unlikely:
        yield (
            f"half of the apparent resistivities are above {median:.3g} Ω·m, which few soils "
            "reach: were they in ohm*cm, or spacings in feet, headed as ohm*m or metres?"
        )
    elif median < _lowest:
        yield (
            f"half of the apparent resistivities are below {median:.3g} Ω·m, which only salt "
            "water reaches: were they in ohm*m, headed as ohm*cm?"
        )
    elif len(beyond):
        yield (
            f"{_where(rows, beyond)}: apparent resistivity outside {_lowest:g} to "
            f"{_highest:g} Ω·m, which few soils have"
        )
    level = {
        survey.names[t]: float(np.exp(np.log(values[survey.traverse == t]).mean()))
        for t in np.unique(survey.traverse)
    }
    low, high = min(level, key=level.__getitem__), max(level, key=level.__getitem__)
    if level[high] > 30 * level[low]:
        ratio = level[high] / level[low]
        yield (
            f"traverse {high!r} lies {ratio:.3g} times above {low!r}: are both in one unit? "
            "ohm*cm headed as ohm*m is 100 times too high"
        )


def _resistances(survey: Survey, rows: Sequence[SurveyRow]) -> Iterator[str]:
    """Apparent resistivities that fall as the resistances of uniform soil do."""
    given = [row for row in rows if np.isnan(row.resistance)]
    spacing = survey.spacing
    if len(given) < max(len(rows), _fewest) or spacing.max() < _least_range * spacing.min():
        return
    x, y = np.log(spacing), np.log(survey.apparent_resistivity)
    slope, level = np.polyfit(x, y, 1)
    off_the_line = float(np.std(y - slope * x - level))
    if _as_resistance[0] < slope < _as_resistance[1] and off_the_line < _scatter:
        yield (
            "apparent resistivity falls as one over the spacing, which resistances of uniform "
            "soil do: are these resistances? They go under resistance [ohm]"
        )


def _neighbours(survey: Survey, rows: Sequence[SurveyRow]) -> Iterator[str]:
    """Jumps along a traverse, and rises that level layers cannot give."""
    jumps, steep = [], []
    for before, after in _pairs(survey):
        spacing = survey.spacing[after] / survey.spacing[before]
        value = survey.apparent_resistivity[after] / survey.apparent_resistivity[before]
        if max(value, 1 / value) > _jump:
            jumps.append(after)
        elif value > _step and math.log(value) > _steepest * math.log(spacing):
            steep.append(after)
    if jumps:
        yield (
            f"{_where(rows, jumps)}: apparent resistivity more than {_jump:g} times above or "
            "below its neighbour: a slip of a decimal, or buried metal?"
        )
    if steep:
        yield (
            f"{_where(rows, steep)}: apparent resistivity rises faster than the spacing, which "
            "level layers do not give: a wrong value, or ground that changes sideways?"
        )


def _pairs(survey: Survey) -> Iterator[tuple[int, int]]:
    """Neighbouring spacings of each traverse, four pins and rods apart."""
    rods = survey.is_driven_rod
    for t in np.unique(survey.traverse):
        for kind in (False, True):
            mine = np.flatnonzero((survey.traverse == t) & (rods == kind))
            order: Floats = survey.spacing[mine]
            mine = mine[np.argsort(order, kind="stable")]
            for before, after in pairwise(mine):
                if survey.spacing[after] > 1.01 * survey.spacing[before]:
                    yield int(before), int(after)


def _pin_depths(survey: Survey, rows: Sequence[SurveyRow]) -> Iterator[str]:
    if survey.four_pin is None:
        return
    closest = np.diff(np.sort(survey.four_pin.pins, axis=1), axis=1).min(axis=1)
    deep = np.flatnonzero(survey.four_pin.pin_depth > _deepest_pin * closest)
    if len(deep):
        yield (
            f"{_where(rows, deep)}: pins deeper than a twentieth of their distance; they were "
            "taken as points at that depth, which is rough for long pins"
        )


def _spacings(survey: Survey, rows: Sequence[SurveyRow]) -> Iterator[str]:
    odd = np.flatnonzero((survey.spacing < _shortest) | (survey.spacing > _longest))
    if len(odd):
        yield (
            f"{_where(rows, odd)}: spacings outside {spoken(_shortest, _longest)}; are they "
            "in the unit of the heading?"
        )
