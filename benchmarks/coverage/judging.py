"""One case at one preset beside its reference: a row for each quantity with its stated band."""

from dataclasses import asdict, dataclass, fields
from time import process_time

import numpy as np

from ohmscape.cases.loading import load_case_text
from ohmscape.jobs.run import run_case
from ohmscape.solver.errors import OhmscapeError

from .drawing import drawn
from .references import LEVELS, solved, voltages

_places = 24  # looked at at random, of map and profile together
_most_attempts = 6
_share_of_band = 1 / 3  # that the reference may be unsettled by


@dataclass(frozen=True)
class Row:
    """One quantity of one case at one preset.

    Errors and bands of resistances are shares of them, those of voltages shares of the rise.
    """

    kind: str  # class of the case
    seed: int
    number: int
    attempt: int
    preset: str
    # resistance, touch, step, map, touch on map, floating; or "no answer", "unsettled"
    quantity: str
    where: str
    value: float = float("nan")  # Ω, V
    reference: float = float("nan")
    error: float = float("nan")
    band: float = float("nan")
    unsettled: float = float("nan")  # of the reference, in the terms of the error
    seconds: float = float("nan")  # processor time of the finite elements
    elements: int = 0
    note: str = ""

    @property
    def within(self) -> bool:
        return abs(self.error) <= self.band


COLUMNS = [item.name for item in fields(Row)]


def judged(kind: str, *, seed: int, number: int, preset: str) -> list[Row]:
    """Rows of one case; drawn anew while its reference does not settle, with a row for that."""
    rows: list[Row] = []
    for attempt in range(_most_attempts):
        common = {"kind": kind, "seed": seed, "number": number, "attempt": attempt}
        case = load_case_text(drawn(kind, seed=seed, number=number, attempt=attempt))
        begin = process_time()
        try:
            result = run_case(case, accuracy=preset)
        except OhmscapeError as error:
            note = f"{type(error).__name__}: {error}"[:300]
            nothing = Row(**common, preset=preset, quantity="no answer", where="", note=note)
            return [*rows, nothing]
        common |= {"preset": preset, "seconds": round(process_time() - begin, 2)}
        common["elements"] = len(result.solution.mesh.tetrahedra)
        found = [Row(**common, **asdict(item)) for item in _compared(case, result, key=[seed, number])]
        bad = [item for item in found if not item.unsettled <= _share_of_band * item.band]
        if not bad:
            return [*rows, *found]
        worst = max(bad, key=lambda item: item.unsettled / item.band)
        rows.append(
            Row(**common, quantity="unsettled", where=f"{worst.quantity} {worst.where}",
                unsettled=worst.unsettled, band=worst.band)
        )  # fmt: skip
    return rows


@dataclass(frozen=True)
class _Item:
    quantity: str
    where: str
    value: float
    reference: float
    error: float
    band: float
    unsettled: float


def _compared(case, result, *, key):
    """Quantities of a result beside references of two neighbouring levels that agree."""
    asked = _asked(case, result, key=key)
    reach = 1.0 + float(np.abs(asked.feet).max()) * 2.9
    known = None
    for level in LEVELS:
        reference = solved(case, fineness=level, reach=reach)
        if reference is None:
            break
        before, known = known, asked.of(reference)
        if before is not None:
            items = asked.items(known, before)
            if all(item.unsettled <= _share_of_band * item.band for item in items):
                break
    return items


class _asked:
    """What is asked of a case, and what the result says of it."""

    def __init__(self, case, result, *, key):
        self.case, self.result = case, result
        self.groups = {metal.name: metal.group for metal in result.metals}
        random = np.random.default_rng(key)
        surface, profile = result.surface, result.profiles[0]
        chosen = random.choice(len(surface.places), 2 * _places // 3, replace=False)
        along = random.choice(len(profile.points), _places // 3, replace=False)
        self.places = np.concatenate([surface.places[chosen], profile.points[along][:, :2]])
        self.potential = np.concatenate([surface.potential[chosen], profile.potential[along]])
        # Within reach of metal: some of the touch map, drawn likewise.
        metal, place = np.nonzero(np.isfinite(surface.touch))
        some = random.choice(len(place), min(8, len(place)), replace=False) if len(place) else []
        self.touched = [(int(metal[k]), surface.places[place[k]], surface.touch[metal[k], place[k]])
                        for k in some]  # fmt: skip
        feet = [np.array(foot) for item in result.worst
                for foot in (item.foot, item.other_foot or item.foot)]  # fmt: skip
        self.feet = np.concatenate(
            [np.reshape(feet, (-1, 2)), self.places, *[at[None] for _, at, _ in self.touched]]
        )

    def of(self, reference):
        """Resistances, voltages of groups, potentials of all feet by a reference."""
        matrix = reference.current_matrix
        voltage = voltages(matrix, drives=self.case.drives)
        potential = reference.surface_potential(self.feet, voltage=voltage)
        return np.linalg.inv(matrix).diagonal(), voltage, potential

    def items(self, known, before):
        """Every quantity: value, reference, error, band, how far the reference has moved."""
        result, accuracy = self.result, self.result.accuracy
        resistance, touch, step = accuracy.estimates
        surface = accuracy.surface_estimate
        rise = result.rise
        found = []
        (ohms, voltage, potential), (old_ohms, old_voltage, old_potential) = known, before
        for group, name in enumerate(result.group_names):
            own = float(result.operating.resistance[group, group])
            found.append(
                _Item("resistance", name, own, ohms[group], own / ohms[group] - 1, resistance,
                      abs(old_ohms[group] / ohms[group] - 1))
            )  # fmt: skip
            if self.case.drives[group].kind == "floating":
                own = float(result.operating.voltage[group])
                found.append(self._share("floating", name, own, voltage[group],
                                         old_voltage[group], resistance, rise))  # fmt: skip
        count = 2 * len(result.worst)
        for number, item in enumerate(result.worst):
            there = []
            for volts, soil in ((voltage, potential), (old_voltage, old_potential)):
                first, second = soil[2 * number : 2 * number + 2]
                other = volts[self.groups[item.name]] if item.other_foot is None else second
                there.append(abs(float(other - first)))
            where = f"{item.name} {item.foot[0]:.3f} {item.foot[1]:.3f}"
            band = touch if item.kind == "touch" else step
            found.append(self._share(item.kind, where.strip(), item.voltage, *there, band, rise))
        end = count + len(self.places)
        mapped = [
            self._share("map", f"{x:.3f} {y:.3f}", float(own), new, old, surface, rise)
            for (x, y), own, new, old in zip(
                self.places, self.potential, potential[count:end], old_potential[count:end],
                strict=True,
            )
        ]  # fmt: skip
        found += _worst(mapped)
        reached = []
        for (metal, at, own), new, old in zip(
            self.touched, potential[end:], old_potential[end:], strict=True
        ):
            group = result.metals[metal].group
            reached.append(
                self._share("touch on map", f"{at[0]:.3f} {at[1]:.3f}", float(own),
                            abs(voltage[group] - new), abs(old_voltage[group] - old), surface, rise)
            )  # fmt: skip
        return found + _worst(reached)

    @staticmethod
    def _share(quantity, where, own, new, old, band, rise):
        return _Item(quantity, where, own, float(new), (own - new) / rise, band,
                     abs(float(new - old)) / rise)  # fmt: skip


def _worst(items):
    """The largest error of some places, with how far any of their references has moved."""
    if not items:
        return []
    worst = max(items, key=lambda item: abs(item.error))
    moved = max(item.unsettled for item in items)
    return [_Item(**(asdict(worst) | {"unsettled": moved}))]

