"""Whether metal may be taken at one potential: how large its drop is beside what is judged."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from ..model import Conductors, Flags, Floats, Phasors
from ..solved_soil import Field
from .drop import Drop, Metal, drops, places_to_feed
from .internal import Bar
from .network import Feed, Network, network_of

Standing = Literal["even", "nearly even", "uneven"]

# From grids of 200 and 500 m whose whole solution is known; our judgement. Where the drop is
# 1 % of the rise, resistances are 0.2 % and touch voltages 0.5 % low; at 5 %, 4 % and 7 %.
EVEN_TO_RISE = 0.01
EVEN_TO_TOUCH = 0.05
NEARLY_TO_RISE = 0.05
# What is more is no estimate any more: the second order is missing.
ESTIMATE_TO_RISE = 0.3
# Of the drop, what a touch voltage grows by at the most: the soil is lifted too. From 0.03 to
# 0.58 of it at 84 feeds of grids and wires drawn at random, solved whole.
TOUCH_OF_DROP = 0.6
# Metal is cut into about so many branches, and between so long ones. [m]
_usual_branches, _branch_lengths = 400, (0.5, 10.0)
_carries = 1e-3  # of all current: metal that carries less is not told of


@dataclass(frozen=True)
class FeedPlace:
    """Where current enters an electrode, as far as somebody said.

    Attributes
    ----------
    part : int or None
        Part of `Conductors` that it enters, anywhere on it.
    feed : Feed or None
        Place on a piece of metal.
    """

    part: int | None = None
    feed: Feed | None = None


@dataclass(frozen=True)
class MetalDrop:
    """The drop along metal of one kind, fed in one way.

    Attributes
    ----------
    metal : str
        What parts without a material are taken as; empty where all have one.
    feed : {"given", "best", "worst"}
        Where current enters: where the case says, or the best or worst place tried.
    electrode : str
        That with the largest drop.
    place : tuple of float, length 3, or None
        Where current enters that; None where as much leaves as enters it through the soil. [m]
    drop : float
        Largest difference of the metal from its mean. [V]
    impedance : float
        Voltage at a feed over that of metal at one potential, of the first order; the largest.
    """

    metal: str
    feed: Literal["given", "best", "worst"]
    electrode: str
    place: tuple[float, float, float] | None
    drop: float
    impedance: float


@dataclass(frozen=True)
class OnePotential:
    """How far the metal of a result is from the one potential that it is taken at.

    Attributes
    ----------
    frequency : float
        [Hz]
    frequency_given : bool
        Whether the case says it.
    rise : float
        Largest rise. [V]
    touch : float
        Worst touch voltage; 0 where nothing can be touched. [V]
    drops : tuple of MetalDrop
        The largest last.
    permeability : float
        Relative, taken for the steel in it; 1 where there is none.
    without_material : tuple of str
        Parts whose material nobody said.
    without_feed : tuple of str
        Electrodes of which nobody said where current enters, and where that matters.
    apart : tuple of (str, int)
        Electrodes of several pieces that no metal of the case joins, and how many: each is
        taken by itself, fed by leads without impedance.
    """

    frequency: float
    frequency_given: bool
    rise: float
    touch: float
    drops: tuple[MetalDrop, ...]
    permeability: float = 1.0
    without_material: tuple[str, ...] = ()
    without_feed: tuple[str, ...] = ()
    apart: tuple[tuple[str, int], ...] = ()

    @property
    def largest(self) -> MetalDrop:
        """The largest drop of all metals and feeds."""
        return self.drops[-1]

    @property
    def least(self) -> MetalDrop:
        """The smallest drop of all metals and feeds."""
        return self.drops[0]

    def standing(self, drop: MetalDrop) -> Standing:
        """What a drop means for the result."""
        if drop.drop > NEARLY_TO_RISE * self.rise:
            return "uneven"
        small = drop.drop <= EVEN_TO_RISE * self.rise
        if small and (self.touch == 0 or drop.drop <= EVEN_TO_TOUCH * self.touch):
            return "even"
        return "nearly even"

    @property
    def is_estimate(self) -> bool:
        """Whether the first order is enough to tell how large the drop is."""
        return self.largest.drop <= ESTIMATE_TO_RISE * self.rise

    @property
    def doubt(self) -> float:
        """What voltages may be too low by, where that is to be counted; else 0. [V]

        The drop, or where that is no estimate all that metal can be above remote earth.
        """
        drop = self.largest.drop
        if self.standing(self.largest) != "uneven":
            return 0.0
        return drop if self.is_estimate else self.rise + drop


def one_potential(
    field: Field,
    *,
    metals: Sequence[tuple[str, Sequence[Bar]]],
    frequency: float,
    frequency_given: bool,
    feeds: Sequence[FeedPlace | None],
    touch: float,
    without_material: Sequence[str] = (),
) -> OnePotential:
    """How far metal is from one potential.

    Parameters
    ----------
    field : Field
        At the operating point, metal at one potential.
    metals : sequence of (str, sequence of Bar)
        What the g groups may be made of: what is taken for parts whose material is not
        known, empty where all are, and each part.
    frequency : float
        [Hz], 0 for direct current
    frequency_given : bool
        Whether somebody said it.
    feeds : sequence of FeedPlace or None, length g
        Where current enters each group.
    touch : float
        Worst touch voltage; 0 where there is none. [V]
    without_material : sequence of str
        Parts that have none.
    """
    conductors, solution = field.solution.conductors, field.solution
    places = [item.feed for item in feeds if item is not None and item.feed is not None]
    longest = float(np.clip(conductors.length.sum() / _usual_branches, *_branch_lengths))
    network = network_of(conductors, elements=solution.elements, feeds=places, longest=longest)
    allowed = _allowed(network, conductors, feeds)
    tried = places_to_feed(network, allowed=allowed)
    leakage = field.element_current
    found: list[MetalDrop] = []
    like = None
    for name, bars in metals:
        metal = Metal.of(
            network,
            conductors=conductors,
            bars=bars,
            soil=solution.soil,
            frequency=frequency,
            fed=np.concatenate(tried),
            like=like,
        )
        like = metal
        worst, best = drops(metal, leakage=leakage, places=tried)
        if np.array_equal(worst.fed, best.fed):
            found.append(_told(name, "given", best, network, field))
        else:
            found.append(_told(name, "best", best, network, field))
            found.append(_told(name, "worst", worst, network, field))
    carrying = _carrying(network, leakage)
    names = conductors.group_names
    open_to = {
        int(network.group[k])
        for k in carrying
        if len(tried[k]) > 1 and not allowed[tried[k]].all()
    }
    counts = np.bincount(network.group[carrying], minlength=len(names))
    return OnePotential(
        frequency=frequency,
        frequency_given=frequency_given,
        rise=float(np.abs(field.voltage).max()),
        touch=touch,
        drops=tuple(sorted(found, key=lambda item: item.drop)),
        permeability=max(bar.permeability for _, bars in metals for bar in bars),
        without_material=tuple(without_material),
        without_feed=tuple(names[k] for k in sorted(open_to)),
        apart=tuple(
            (name, int(count)) for name, count in zip(names, counts, strict=True) if count > 1
        ),
    )


def _allowed(
    network: Network, conductors: Conductors, feeds: Sequence[FeedPlace | None]
) -> Flags:
    """Nodes where somebody says that current enters."""
    allowed = np.zeros(len(network.place), dtype=bool)
    allowed[list(network.fed)] = True
    for feed in feeds:
        if feed is not None and feed.part is not None:
            mine = conductors.part[network.piece] == feed.part
            allowed[network.first[mine]] = allowed[network.last[mine]] = True
    parts = network.can_feed.copy()
    parts[list(network.fed)] = True
    return np.asarray(allowed & parts)


def _carrying(network: Network, leakage: Phasors) -> np.ndarray:
    """Components that carry current worth telling of."""
    leaks: Floats = np.asarray(network.leak @ np.abs(leakage), dtype=float)
    size = np.bincount(network.component, weights=leaks)
    return np.flatnonzero(size > _carries * size.sum())


def _told(
    metal: str,
    feed: Literal["given", "best", "worst"],
    drop: Drop,
    network: Network,
    field: Field,
) -> MetalDrop:
    """The drop of the component where it is largest."""
    node = int(np.abs(drop.voltage).argmax())
    component = int(network.component[node])
    place = None
    if drop.fed[component] >= 0:
        x, y, z = network.place[drop.fed[component]].tolist()
        place = (x, y, z)
    entered = np.flatnonzero(drop.fed >= 0)
    rise = np.asarray(field.voltage)[network.group[entered]]
    at_feed = np.abs(rise + drop.voltage[drop.fed[entered]])
    live = np.abs(rise) > 0
    ratio = at_feed[live] / np.abs(rise[live])
    return MetalDrop(
        metal=metal,
        feed=feed,
        electrode=field.solution.conductors.group_names[int(network.group[component])],
        place=place,
        drop=float(abs(drop.voltage[node])),
        impedance=float(ratio.max(initial=1.0)),
    )
