"""Results of one case under several conditions, side by side."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ..model import Floats
from .result import Result


@dataclass(frozen=True)
class Quantity:
    """One quantity over all variants.

    Attributes
    ----------
    name : str
        What it is.
    unit : str
        SI unit.
    values : ndarray of float, shape (n,)
        One for each variant; not a number where it does not occur. [`unit`]
    places : tuple of str, length n
        What each value belongs to, for example the metal touched; empty where plain.
    """

    name: str
    unit: str
    values: Floats
    places: tuple[str, ...]

    @property
    def worst(self) -> int:
        """Row of the largest value."""
        return int(np.nanargmax(self.values))


@dataclass(frozen=True)
class Comparison:
    """Variants against quantities.

    Attributes
    ----------
    names : tuple of str, length n
        The variants; the first is the case as it stands.
    quantities : tuple of Quantity
        Resistance of each driven electrode, largest rise, worst touch and step, and the
        largest share of a limit.
    """

    names: tuple[str, ...]
    quantities: tuple[Quantity, ...]


def comparison(results: Sequence[Result], *, first: str = "as it stands") -> Comparison:
    """Results of variants side by side.

    Parameters
    ----------
    results : sequence of Result, length n
        Of a case and its variants, as `run_variants` gives them; their metal may differ.
    first : str, optional
        Name of a result that is no variant.
    """
    plain = tuple("" for _ in results)
    quantities = [
        Quantity(
            f"resistance of {name}",
            "Ω",
            np.array([_resistance(result, name) for result in results]),
            plain,
        )
        for name in _driven(results)
    ]
    quantities.append(
        Quantity("largest rise", "V", np.array([result.rise for result in results]), plain)
    )
    for kind in ("touch", "step"):
        found = [
            max(
                (item for item in result.worst if item.kind == kind),
                key=lambda item: item.voltage,
                default=None,
            )
            for result in results
        ]
        if not any(found):
            continue
        values = np.array([item.voltage if item else np.nan for item in found])
        places = tuple(item.name if item else "" for item in found)
        quantities.append(Quantity(f"worst {kind}", "V", values, places))
    verdicts = [result.verdict for result in results]
    if all(verdicts):
        tightest = [verdict.tightest if verdict else None for verdict in verdicts]
        shares = [np.nan if item is None else 100 * item.worst_share for item in tightest]
        tight = tuple("" if item is None else item.name for item in tightest)
        quantities.append(Quantity("share of the limit", "%", np.array(shares), tight))
    names = tuple(result.variant or first for result in results)
    return Comparison(names, tuple(quantities))


def _driven(results: Sequence[Result]) -> list[str]:
    """Names of the electrodes that are driven in any of the results, each once."""
    return list(
        dict.fromkeys(
            name
            for result in results
            for name, drive in zip(result.group_names, result.drives, strict=True)
            if drive.kind != "floating"
        )
    )


def _resistance(result: Result, name: str) -> float:
    """Resistance of an electrode by its name; not a number where there is none. [Ω]"""
    if name not in result.group_names:
        return float("nan")
    return result.resistance(result.group_names.index(name))
