"""What a simulated reading depends on, and the unknowns that a fit may change."""

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from ..errors import CaseError
from ..model import Soil
from .readings import Readings

# A fit leaves resistivities and thicknesses within these factors of where it starts.
_widest_resistivity, _widest_thickness = 100.0, 20.0
_widest_current = 10.0
_of_soil = ("resistivity", "thickness")
_numbered = re.compile(r"(resistivity|thickness) of layer ([0-9]+)")


@dataclass(frozen=True)
class State:
    """What the readings are simulated with."""

    soil: Soil
    # Length g: contact resistance in series with each electrode, beyond any film in the model.
    # It leaves potentials per ampere of that electrode as they are. [Ω]
    contact: tuple[float, ...]
    # Volts per ampere by which the shared reference is off what the model gives it [Ω]
    reference: float = 0.0
    # Contact resistance of each pin over input resistance of the meter, beyond what the
    # readings say; it lowers what the meter shows.
    divider: float = 0.0
    current: float = 1.0  # factor from the current that was noted to the one that flowed


@dataclass(frozen=True)
class Unknown:
    """One thing a fit may change."""

    # What it is called: `soil scale`, `resistivity of layer 2`, `thickness of layer 1`,
    # `contact`, `reference`, `divider`, `current`
    name: str
    unit: str  # unit of its value; empty for factors
    logarithmic: bool  # whether it is fitted by its logarithm
    low: float  # bounds of its value
    high: float
    # Index of the layer it belongs to; the electrode for a contact resistance.
    layer: int = 0

    def of(self, state: State, *, start: State) -> float:
        """Value in a state; for `soil scale` relative to the state a fit started from."""
        kind = self.kind
        if kind == "soil scale":
            return state.soil.resistivity[0] / start.soil.resistivity[0]
        if kind == "contact":
            return state.contact[self.layer]
        if kind in _of_soil:
            return float(getattr(state.soil, kind)[self.layer])
        return float(getattr(state, kind))

    @property
    def kind(self) -> str:
        """Its name without layer or electrode."""
        return self.name.split(" of ")[0]

    def put(self, state: State, value: float) -> State:
        """The state with another value of it; a soil scale multiplies what is there."""
        kind, soil = self.kind, state.soil
        changed: dict[str, Any] = {kind: value}
        if kind == "soil scale":
            scaled = tuple(value * rho for rho in soil.resistivity)
            changed = {"soil": replace(soil, resistivity=scaled)}
        elif kind in _of_soil:
            layers = _changed(getattr(soil, kind), self.layer, value)
            given: dict[str, Any] = {kind: layers}
            changed = {"soil": replace(soil, **given)}
        elif kind == "contact":
            changed = {"contact": _changed(state.contact, self.layer, value)}
        return replace(state, **changed)

    def inner(self, value: float) -> float:
        """What a fit sees of a value."""
        return float(np.log(value)) if self.logarithmic else value

    def outer(self, seen: float) -> float:
        """Value of what a fit sees."""
        return float(np.exp(seen)) if self.logarithmic else seen


def unknowns_of(
    readings: Readings,
    *,
    state: State,
    set_of_group: Sequence[int],
    group_names: Sequence[str],
) -> tuple[Unknown, ...]:
    """Everything that could be fitted to some readings.

    Parameters
    ----------
    state : State
        What they are simulated with at first.
    set_of_group : sequence of int
        Set of bonded metal of each group.
    group_names : sequence of str
        The user's names, for contact resistances where there is more than one.

    Returns
    -------
    unknowns : tuple of Unknown
        Only what at least one reading can depend on.
    """
    soil = state.soil
    found = [_scaled("soil scale", "", 1.0, _widest_resistivity)]
    if len(soil.resistivity) > 1:
        for k, rho in enumerate(soil.resistivity):
            name = f"resistivity of layer {k + 1}"
            found.append(_scaled(name, "ohm*m", rho, _widest_resistivity, k))
        for k, h in enumerate(soil.thickness):
            found.append(_scaled(f"thickness of layer {k + 1}", "m", h, _widest_thickness, k))
    found += _contacts(readings, set_of_group=set_of_group, group_names=group_names)
    items = readings.items
    if any(end.reference for item in items for end in item.ends):
        found.append(Unknown("reference", "ohm", False, -np.inf, np.inf))
    if any(item.pins for item in items):
        found.append(Unknown("divider", "", False, 0.0, np.inf))
    if any(item.per == "ampere" for item in items):
        found.append(_scaled("current", "", 1.0, _widest_current))
    return tuple(found)


def chosen_unknowns(names: Sequence[str], *, among: Sequence[Unknown]) -> tuple[Unknown, ...]:
    """Unknowns by their names; `resistivities` and `thicknesses` stand for all layers.

    Raises
    ------
    CaseError
        If a name stands for nothing that could be fitted, or names overlap.
    """
    plural = {"resistivities": "resistivity", "thicknesses": "thickness"}
    found: list[Unknown] = []
    for name in names:
        kind = plural.get(name)
        # In uniform soil its resistivity is all there is to scale.
        alone = name == "resistivities" and not any(u.kind == "resistivity" for u in among)
        wanted = "soil scale" if alone else name
        these = [
            u
            for u in among
            if u.name == wanted or u.kind == kind or (wanted == "contact" and u.kind == wanted)
        ]
        if not these:
            listed = ", ".join(repr(u.name) for u in among)
            msg = f"cannot fit {name!r} to these readings; there are {listed}"
            if any(u.kind == "thickness" for u in among):
                msg += ", and 'resistivities' and 'thicknesses' for all layers"
            raise CaseError(msg)
        found += [u for u in these if u not in found]
    kinds = {u.kind for u in found}
    layers = {u.layer for u in among if u.kind == "resistivity"}
    if (
        "soil scale" in kinds
        and layers <= {u.layer for u in found if u.kind == "resistivity"}
        and layers
    ):
        msg = "the soil scale is all resistivities together; fit the scale or all of them"
        raise CaseError(msg)
    return tuple(found)


def _scaled(name: str, unit: str, start: float, widest: float, layer: int = 0) -> Unknown:
    """Unknown that is fitted by its logarithm, up to a factor from its start."""
    return Unknown(name, unit, True, start / widest, start * widest, layer)


def _contacts(
    readings: Readings, *, set_of_group: Sequence[int], group_names: Sequence[str]
) -> list[Unknown]:
    """Contact resistance of each electrode that is fed while a meter is on it or its bonds."""
    found: list[int] = []
    for item in readings.items:
        carrying = [item.current_from]
        if item.current_to.group is not None:
            carrying.append(item.current_to.group)
        touched = {set_of_group[end.group] for end in item.ends if end.group is not None}
        for group in carrying:
            seen = set_of_group[group] in touched or item.per == "source" or item.loop
            if seen and group not in found:
                found.append(group)
    alone = len(found) == 1
    return [
        Unknown(
            "contact" if alone else f"contact of {group_names[group]}",
            "ohm",
            False,
            0.0,
            np.inf,
            group,
        )
        for group in found
    ]


def _changed(values: tuple[float, ...], index: int, value: float) -> tuple[float, ...]:
    return tuple(value if k == index else old for k, old in enumerate(values))


def names_to_choose(text: str) -> bool:
    """Whether a text could be the name of an unknown in some case."""
    fixed = {
        "soil scale", "resistivities", "thicknesses", "contact", "reference", "divider",
        "current",
    }  # fmt: skip
    return text in fixed or text.startswith("contact of ") or bool(_numbered.fullmatch(text))
