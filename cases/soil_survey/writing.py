"""Readings as the table of a survey, of the very layout that `table.py` reads."""

import csv
import io
from collections.abc import Iterable, Sequence

from ...solver.model import Floats
from ...solver.soil_survey.planned import PlannedTraverse

_names = ("traverse", "direction")
_wenner = ("spacing [m]",)
_schlumberger = ("half_current_spacing [m]", "half_potential_spacing [m]")
_values = ("resistance [ohm]", "deviation [%]")


def survey_table(
    traverses: Sequence[PlannedTraverse],
    resistances: Sequence[Floats],
    *,
    notes: Iterable[str],
    directions: Sequence[str],
) -> str:
    """Table (CSV) of readings of planned traverses, each middle a traverse of its own.

    Parameters
    ----------
    resistances : sequence of ndarray of float, each of shape (middles, n)
        Voltage over current. [Ω]
    notes : iterable of str
        Lines on top; each is marked with #.
    directions : sequence of str
        Which way each traverse runs, in words.
    """
    equal = [_is_wenner(each) for each in traverses]
    layout = (_wenner if any(equal) else ()) + (() if all(equal) else _schlumberger)
    text = io.StringIO()
    text.writelines(f"# {line}\n" for line in notes)
    table = csv.writer(text, lineterminator="\n")
    table.writerow([*_names, *layout, *_values])
    for traverse, ohms, way, wenner in zip(
        traverses, resistances, directions, equal, strict=True
    ):
        for title, row in zip(traverse.titles, ohms, strict=True):
            for pins, value in zip(traverse.pins, row, strict=True):
                half = {
                    "spacing [m]": pins[2] - pins[1] if wenner else None,
                    "half_current_spacing [m]": None if wenner else pins[3],
                    "half_potential_spacing [m]": None if wenner else pins[2],
                }
                places = ["" if half[key] is None else f"{half[key]:.6g}" for key in layout]
                share = f"{100 * traverse.deviation:g}"
                table.writerow([title, way, *places, f"{value:.5g}", share])
    return text.getvalue()


def _is_wenner(traverse: PlannedTraverse) -> bool:
    gaps = traverse.pins[:, 1:] - traverse.pins[:, :-1]
    return bool((abs(gaps - gaps[:, :1]) <= 1e-9 * gaps[:, :1]).all())
