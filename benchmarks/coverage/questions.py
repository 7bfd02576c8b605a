"""What is asked of one result and of its reference: resistances, worst voltages, places."""

from dataclasses import asdict, dataclass

import numpy as np

from .references import voltages

_on_map, _on_line, _touched = 16, 8, 8  # places drawn from the map, the profile, the touch map


@dataclass(frozen=True)
class Item:
    """One quantity; errors and bands are shares of a resistance, or of the rise."""

    quantity: str  # resistance, floating, touch, step, map, touch on map
    where: str
    value: float  # Ω, V
    reference: float
    error: float
    band: float
    unsettled: float  # by how much the reference has moved when it was refined


class Questions:
    """Places and quantities of one result, the same for each level of its reference.

    Attributes
    ----------
    feet : ndarray of float, shape (n, 2)
        All places of the surface that are asked for: two of each worst voltage, then those
        of map and profile, then those of the touch map. [m]
    """

    def __init__(self, case, result, *, key):
        self.drives, self.result = case.drives, result
        self.groups = {metal.name: metal.group for metal in result.metals}
        random = np.random.default_rng(key)
        surface, profile = result.surface, result.profiles[0]
        chosen = random.choice(len(surface.places), _on_map, replace=False)
        along = random.choice(len(profile.points), _on_line, replace=False)
        self.places = np.concatenate([surface.places[chosen], profile.points[along][:, :2]])
        self.potential = np.concatenate([surface.potential[chosen], profile.potential[along]])
        metal, place = np.nonzero(np.isfinite(surface.touch))
        some = random.choice(len(place), min(_touched, len(place)), replace=False)
        self.metal, self.touched = metal[some], surface.places[place[some]]
        self.touch = surface.touch[metal[some], place[some]]
        feet = [
            foot for item in result.worst for foot in (item.foot, item.other_foot or item.foot)
        ]
        self.feet = np.concatenate([np.reshape(feet, (-1, 2)), self.places, self.touched])

    def answered(self, reference):
        """Resistances, voltages of groups, potentials of all feet by a reference."""
        matrix = reference.current_matrix
        voltage = voltages(matrix, drives=self.drives)
        potential = reference.surface_potential(self.feet, voltage=voltage)
        return np.linalg.inv(matrix).diagonal(), voltage, potential

    def items(self, answers, *, before):
        """Every quantity beside the answers of two neighbouring levels of the reference."""
        split = np.cumsum([2 * len(self.result.worst), len(self.places)])
        (ohms, volts, feet), (old_ohms, old_volts, old_feet) = answers, before
        at_worst, at_places, at_touched = np.split(feet, split)
        old_worst, old_places, old_touched = np.split(old_feet, split)
        return [
            *self._resistances(ohms, before=old_ohms),
            *self._floating(volts, before=old_volts),
            *self._worst_voltages((volts, at_worst), before=(old_volts, old_worst)),
            *self._map(at_places, before=old_places),
            *self._touch_map((volts, at_touched), before=(old_volts, old_touched)),
        ]

    def _resistances(self, ohms, *, before):
        band = self.result.accuracy.estimates[0]
        own = self.result.operating.resistance.diagonal()
        return [
            Item("resistance", name, here, there, here / there - 1, band, abs(old / there - 1))
            for name, here, there, old in zip(
                self.result.group_names, own, ohms, before, strict=True
            )
        ]

    def _floating(self, volts, *, before):
        # The band of a resistance stands for that of a voltage of metal too.
        band = self.result.accuracy.estimates[0]
        return [
            self._voltage("floating", name, own, there, old, band)
            for name, drive, own, there, old in zip(
                self.result.group_names,
                self.drives,
                self.result.operating.voltage,
                volts,
                before,
                strict=True,
            )
            if drive.kind == "floating"
        ]

    def _worst_voltages(self, answers, *, before):
        _, touch, step = self.result.accuracy.estimates
        found = []
        for number, item in enumerate(self.result.worst):
            there, old = (
                self._between_feet(item, volts=volts, soil=soil[2 * number : 2 * number + 2])
                for volts, soil in (answers, before)
            )
            where = f"{item.name} {item.foot[0]:.3f} {item.foot[1]:.3f}".strip()
            band = touch if item.kind == "touch" else step
            found.append(self._voltage(item.kind, where, item.voltage, there, old, band))
        return found

    def _between_feet(self, item, *, volts, soil):
        other = volts[self.groups[item.name]] if item.other_foot is None else soil[1]
        return abs(float(other - soil[0]))

    def _map(self, potential, *, before):
        band = self.result.accuracy.surface_estimate
        every = zip(self.places, self.potential, potential, before, strict=True)
        return _worst(
            [
                self._voltage("map", _place(at), own, there, old, band)
                for at, own, there, old in every
            ]
        )

    def _touch_map(self, answers, *, before):
        band = self.result.accuracy.surface_estimate
        groups = np.array([metal.group for metal in self.result.metals])[self.metal]
        there, old = (np.abs(volts[groups] - soil) for volts, soil in (answers, before))
        every = zip(self.touched, self.touch, there, old, strict=True)
        return _worst(
            [self._voltage("touch on map", _place(at), *values, band) for at, *values in every]
        )

    def _voltage(self, quantity, where, own, there, old, band):
        own, there = float(own), float(there)
        rise = self.result.rise
        moved = abs(float(old) - there) / rise
        return Item(quantity, where, own, there, (own - there) / rise, band, moved)


def _place(at):
    return f"{at[0]:.3f} {at[1]:.3f}"


def _worst(items):
    """The largest error of some places, with how far any of their references has moved."""
    if not items:
        return []
    worst = max(items, key=lambda item: abs(item.error))
    moved = max(item.unsettled for item in items)
    return [Item(**(asdict(worst) | {"unsettled": moved}))]
