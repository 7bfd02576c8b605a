"""Table of people at the worst places, on solved feet."""

from collections.abc import Sequence
from pathlib import Path

from ...solver.results.result import Result
from ...solver.verdict import PersonThere
from ..feet_words import GOES_BY
from ..wording import prospective
from .result_table import write_result_table

_none = float("nan")


def write_people(result: Result, people: Sequence[PersonThere], path: Path) -> None:
    """Write what somebody gets at each of the worst places."""
    write_result_table(
        path,
        result=result,
        notes=[
            "Feet are discs of 0.08 m radius at one potential, solved on the ground as it is "
            "with its metal at its voltage; resistances are of both feet, in parallel for "
            "touch and in series for a step. Formula: 1.5 rho and 6 rho with Cs of IEEE 80 "
            "equation 27 where it holds.",
            f"{GOES_BY}. Permissible: by the verdict, then with solved feet.",
            prospective,
        ],
        header=["exposure", "kind", "metal", "foot x [m]", "foot y [m]", "other foot x [m]",
                "other foot y [m]", "stands on", "feet solved [ohm]", "feet by formula [ohm]",
                "shoes [ohm]", "prospective [V]", "permissible [V]",
                "permissible with solved feet [V]", "share with solved feet [%]",
                "loaded voltage [V]", "body current [A]", "permitted current [A]", "remark"],
        rows=[_row(person) for person in people],
    )  # fmt: skip


def _row(person: PersonThere) -> tuple[object, ...]:
    effect, limit = person.effect, person.limit
    return (
        person.exposure,
        person.kind,
        " to ".join(person.metals),
        *(coordinate for foot in person.feet for coordinate in foot),
        person.stands_on,
        _none if person.solved is None else person.solved,
        person.by_formula,
        person.shoes,
        person.voltage,
        person.permitted,
        _none if limit is None else limit.voltage,
        _none if person.share is None else 100 * person.share,
        _none if effect is None else effect.loaded_voltage,
        _none if effect is None else effect.body_current,
        _none if person.most_current is None else person.most_current,
        person.unsolved,
    )
