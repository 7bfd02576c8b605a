"""Feet on the solved ground of a case, where its safety block asks for them."""

from collections.abc import Sequence
from functools import cached_property

import numpy as np

from ..cases.case import Case
from ..solver.anisotropy import isotropic
from ..solver.errors import TrustError
from ..solver.exposure.places import TouchableMetal
from ..solver.field.feet import Ground
from ..solver.field.foot_ground import column_under
from ..solver.field.solution import Solution
from ..solver.limits import FOOT_RADIUS
from ..solver.limits.disc import disc_on_layers
from ..solver.model import Floats, Soil
from ..solver.polygons import distance_to_sides
from ..solver.verdict import PersonThere, SurfaceLayer, Verdict, people_there
from ..solver.wording import plain, spoken

_deep = 50.0  # m; what lies below changes no foot
# From the middle of a foot to the edge of a surface layer. 0.2 m from the edge of 0.15 m of
# 3000 over 100 Ω·m, meshed as finely as feet are small, it has 1.4 % less, at 0.1 m 18 %.
_edge = 2 * FOOT_RADIUS


def people_of(
    case: Case, *, verdict: Verdict, solution: Solution, metals: Sequence[TouchableMetal]
) -> tuple[PersonThere, ...]:
    """Somebody at the worst places of a verdict; empty where the case does not ask.

    Parameters
    ----------
    solution : Solution
        The one on the coarser mesh is as good: what a mesh carries is a few percent of a foot.
    """
    if case.safety is None or case.safety.solved_feet is None:
        return ()
    under = case.safety.under_feet
    standing = _Standing(
        solution, solution.soil if under is None else under.soil, layers=case.safety.layers
    )
    return people_there(
        verdict, safety=case.safety, soil=solution.soil, metals=metals, feet=standing.pair
    )


class _Standing:
    """Two feet at a time on a solved soil and what the limits lay on it."""

    def __init__(
        self, solution: Solution, top: Soil, *, layers: Sequence[SurfaceLayer]
    ) -> None:
        self._layers = layers
        self._solution, self._top = solution, isotropic(top).layers_alone
        self._known: dict[bytes, Floats] = {}

    @cached_property
    def _ground(self) -> Ground:
        return Ground(self._solution)

    def pair(self, places: Floats, layers: Sequence[SurfaceLayer | None]) -> tuple[Floats, str]:
        """Resistance matrix of two feet, shape (2, 2) [Ω], and what they stand on.

        Notes
        -----
        Where a surface layer lies each foot has as much more as a disc on it without an end has
        over one on what was solved. On a body of the solved soil nothing is laid: it is there.
        """
        key = places.tobytes()
        if key not in self._known:
            self._known[key] = self._ground.resistance(places)
        own, words = self._known[key].copy(), list[str]()
        for k, (place, layer) in enumerate(zip(places, layers, strict=True)):
            more, what = self._laid(place, layer)
            own[k, k] += more
            words.append(what)
        if not np.linalg.eigvalsh(own).min() > 0:
            msg = "the ground that is judged leaves these feet no resistance of their own"
            raise TrustError(msg)
        return own, " and ".join(dict.fromkeys(words))

    def _laid(self, place: Floats, layer: SurfaceLayer | None) -> tuple[float, str]:
        """What is laid under a foot adds to it [Ω], and what it stands on."""
        soil = self._solution.twin.soil
        number = int(soil.material_at(np.append(place, 0.0)[None])[0]) - len(soil.resistivity)
        if number >= 0:
            body = soil.bodies[number]
            return 0.0, f"'{body.name}', {plain(body.resistivity)} Ω·m, as solved"
        solved = column_under(soil, place, depth=_deep)
        if solved == soil.layers_alone and solved != self._top:
            # What one foot does to the other is that of the solved top too.
            msg = (
                "limits count another top under the feet than was solved (safety.under_feet, "
                "or the best conducting one among the variants), and feet on it were not"
            )
            raise TrustError(msg)
        judged = solved
        what = f"native soil, {plain(judged.resistivity[0])} Ω·m"
        beside = self._beside(place, layer)
        if beside is not None:
            # No poorer soil in the place of better lowers a resistance (Rayleigh, in J. C.
            # Maxwell 1873; from memory): on the better of the two it has the least.
            layer = None if _resists_more(place, beside, soil=judged) else beside
        if layer is not None:
            size = f"{plain(layer.resistivity)} Ω·m, {spoken(layer.thickness)}"
            what = f"'{layer.name}', {size}, on {what}"
            judged = Soil(
                (layer.resistivity, *judged.resistivity),
                (layer.thickness, *judged.thickness),
            )
        if beside is not None:
            what += f", the least that it can be at the edge of '{beside.name}'"
        return (0.0 if judged == solved else _disc(judged) - _disc(solved)), what

    def _beside(self, place: Floats, layer: SurfaceLayer | None) -> SurfaceLayer | None:
        """The surface layer at whose edge a foot stands, on it or off it."""
        found = [
            each
            for each in self._layers
            if distance_to_sides(place[None], outline=each.outline)[0] < _edge
        ]
        if len(found) > 1 or (found and layer is not None and layer is not found[0]):
            msg = (
                f"a foot at {_at(place)} stands too near to the edge of '{found[-1].name}' for "
                "its resistance to be known: another surface layer lies there"
            )
            raise TrustError(msg)
        return found[0] if found else None


def _resists_more(place: Floats, layer: SurfaceLayer, *, soil: Soil) -> bool:
    """Whether a surface layer resists more than all ground it lies in; not if less than all."""
    depth = np.append(0.0, soil.interface_depth)
    beside = np.array(soil.resistivity)[depth < layer.thickness]
    if layer.resistivity >= beside.max():
        return True
    if layer.resistivity <= beside.min():
        return False
    msg = (
        f"a foot at {_at(place)} stands too near to the edge of '{layer.name}' for its "
        "resistance to be known: beside it lies better ground and poorer"
    )
    raise TrustError(msg)


def _at(place: Floats) -> str:
    return f"({place[0]:.4g}, {place[1]:.4g}) m"


def _disc(layers: Soil) -> float:
    """A foot on layers without an end. [Ω]"""
    return disc_on_layers(layers.resistivity, thickness=layers.thickness, radius=FOOT_RADIUS)
