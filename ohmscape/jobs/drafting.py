"""A case solved quickly, again and again, while somebody changes it.

Thin conductors, as a second opinion takes them, with what has not moved kept; maps, worst
places, limits and shares by the steps of a run. No verdict is drawn from it: what a person
relies on is run in full.
"""

from collections import OrderedDict
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from time import perf_counter

import numpy as np

from ..cases.case import Case
from ..cases.fitting import fit_soil
from ..solver.errors import BudgetError
from ..solver.exposure.quick_surface import Fineness
from ..solver.exposure.raster import Area, Raster
from ..solver.exposure.surface import SurfaceMap, about_rods, steepest_steps, touch_voltages
from ..solver.model import Floats, Soil
from ..solver.results.draft import (
    Draft,
    DraftElectrode,
    DraftMap,
    DraftShare,
    DraftWorst,
)
from ..solver.solved_soil import Field
from ..solver.thin_wire import KeptSurface, KeptWires, QuicklyRead, SecondOpinion
from ..solver.threads import own_threads_only
from ..solver.verdict import Verdict
from .judging import Errors, clearing_of, verdict_of
from .one_potential import doubt_of
from .solving import mapped_area, studied_places
from .steps import Operated, View, find_worst, operate, touchable_metals

# The metal is cut into about so many wires, and into no more than that.
_wires, _most_wires = 300, 3000
# Places of the map along its longer side, while something moves and at rest; distances between
# nodes that the surface is splined through.
_moving, _resting, _nodes = 64, 128, 80
_looked_at = 6  # peaks of each exposure
_fineness = Fineness(
    halved=1, beside=1
)  # of the surface that directions of steps are sought on
_most_kept = 2  # soils: as it stands and a variant
# Beside the error of the thin conductors, of the rise: what the spline makes of the surface. At
# 2,000 places of each shipped case it was up to 8.5e-4 off what the same wires give.
spline_error = 1e-3


@dataclass
class _Soil:
    """What is kept of one soil: the matrix of its wires, and its surface."""

    wires: KeptWires
    surface: KeptSurface | None = None


class Drafter:
    """Drafts of one case after another; whoever changes one case keeps one of these."""

    def __init__(self) -> None:
        self._soils: OrderedDict[Soil, _Soil] = OrderedDict()  # last used last

    @own_threads_only()
    def draft(self, case: Case, *, moving: bool = False) -> Draft:
        """The case solved by thin conductors, with its maps, worst places and shares.

        Parameters
        ----------
        case : Case
            The case, or a variant of it.
        moving : bool, default False
            Whether a next one is soon asked for: the map has half as many places each way.

        Raises
        ------
        CaseError
            If bonds and drives contradict, nothing is driven, or a limit does not hold for
            what is asked of it.
        TrustError
            If pieces of metal are no separate wires, or layers cannot be put into images.

        Notes
        -----
        What comes out does not depend on what was drafted before. Where the metal or the soil
        takes finite elements, the notes say so and there are no numbers.
        """
        begin = perf_counter()
        case = fit_soil(case)
        waits = tuple(_waits(case))
        if waits:
            return _waiting(case, waits, seconds=perf_counter() - begin)
        try:
            solution = self._solved(case)
        except BudgetError:
            many = (
                f"the metal takes more than {_most_wires:,} thin wires: the finite elements "
                "are waited for"
            )
            return _waiting(case, (many,), seconds=perf_counter() - begin)
        operated = operate(case, solution)
        area = mapped_area(case)
        longer = float(np.subtract(area.high, area.low).max())
        area = replace(area, spacing=longer / (_moving if moving else _resting))
        raster = Raster.of(area, halved=0)
        view = _look(case, operated.field, area=area, raster=raster)
        verdict = _judged(case, operated=operated, view=view)
        return Draft(
            variant=case.variant,
            electrodes=DraftElectrode.each(operated.point, names=case.conductors.group_names),
            worst=DraftWorst.each(find_worst(view, field=operated.field)),
            judged=DraftWorst.judged(verdict),
            map=_map(raster, view=view, field=operated.field, verdict=verdict),
            error=solution.resistance_error + spline_error,
            notes=(),
            wires=len(solution.elements),
            seconds=perf_counter() - begin,
        )

    def _solved(self, case: Case) -> QuicklyRead:
        """The metal of a case solved in its soil."""
        kept = self._soils.pop(case.soil, None) or _Soil(KeptWires(case.soil))
        self._soils[case.soil] = kept
        while len(self._soils) > _most_kept:
            self._soils.popitem(last=False)
        opinion = kept.wires.solved(case.conductors, wires=_wires, most=_most_wires)
        kept.surface = _surface(case, opinion, kept)
        return QuicklyRead(opinion, kept.surface, kept.surface.smooth_part(opinion.wires))


def _waits(case: Case) -> Iterator[str]:
    """Why a case waits for the finite elements, in words."""
    after = "the finite elements are waited for"
    if case.soil.bodies:
        names = ", ".join(f"'{body.name}'" for body in case.soil.bodies)
        yield f"thin wires do not know of bodies in the soil ({names}): {after}"
    if case.conductors.flat.any():
        yield f"plates and piles are no thin wires: {after}"
    if case.wiring is not None:
        yield f"the case asks for the voltage along its metal (along_metal): {after}"


def _waiting(case: Case, notes: tuple[str, ...], *, seconds: float) -> Draft:
    return Draft(case.variant, (), (), (), None, float(np.nan), notes, 0, seconds)


def _surface(case: Case, opinion: SecondOpinion, kept: _Soil) -> KeptSurface:
    """The surface of the mapped area with a pace round it: the last one where it is that."""
    corners = studied_places(case)[:4, :2]
    low, high = corners.min(axis=0), corners.max(axis=0)
    known = kept.surface
    if known is not None and np.array_equal([known.low, known.high], [low, high]):
        return known
    return KeptSurface(
        kept.wires.images, soil=opinion.twin.soil, low=low, high=high, nodes=_nodes
    )


def _look(case: Case, field: Field, *, area: Area, raster: Raster) -> View:
    """The places of a raster, then those that no raster meets, without triangles."""
    metals, pace = touchable_metals(case), case.study.pace
    others = about_rods(area, field=field, pace=pace)
    places = np.concatenate([raster.places(np.ones(raster.shape, dtype=bool)), others])
    potential = field.surface_potential(places)
    step, direction = steepest_steps(
        places, potential=potential, field=field, area=area, pace=pace, fineness=_fineness
    )
    touch = touch_voltages(places, potential=potential, field=field, metals=metals)
    triangles = np.zeros((0, 3), dtype=np.int64)
    surface = SurfaceMap(places, triangles, potential, step, direction, touch, pace)
    return View(area, metals, surface)


def _judged(case: Case, *, operated: Operated, view: View) -> Verdict | None:
    """What voltages share of their limits; lines of equal step and solved feet are left out."""
    if case.safety is None:
        return None
    asked = replace(case.safety, step_outline=None, solved_feet=None)
    errors = Errors.of_method(operated.field)
    return verdict_of(
        replace(case, safety=asked, heating=None),
        operated=operated,
        view=view,
        errors=replace(errors, drop=doubt_of(case, operated)),
        clearing=clearing_of(case, operating=operated.point, operation=operated.operation),
        looked_at=_looked_at,
    )


def _map(raster: Raster, *, view: View, field: Field, verdict: Verdict | None) -> DraftMap:
    """What is drawn: the places of the raster alone."""
    surface, count = view.surface, int(np.prod(raster.shape))
    places = surface.places[:count]
    ground = field.on_ground(places)

    def shaped(values: Floats) -> Floats:
        return np.where(ground, values[:count], np.nan).reshape(raster.shape)

    potential = surface.potential
    above = field.on_side_of_rise(potential) < 0
    touch = []
    for metal, size in zip(view.metals, surface.touch, strict=True):
        held = field.metal_voltage(metal.group, places=surface.places)
        below = field.on_side_of_rise(held - potential) < 0
        touch.append(shaped(np.where(below, -size, size)))
    x, y = raster.axes()
    return DraftMap(
        x=x,
        y=y,
        potential=shaped(np.where(above, -1.0, 1.0) * np.abs(potential)),
        step=shaped(surface.step),
        direction=shaped(surface.step_direction),
        metals=tuple(metal.name for metal in view.metals),
        touch=np.array(touch).reshape(len(touch), *raster.shape),
        pace=surface.pace,
        shares=() if verdict is None else tuple(_shares(verdict, places=places, shape=shaped)),
    )


def _shares(
    verdict: Verdict, *, places: Floats, shape: Callable[[Floats], Floats]
) -> Iterator[DraftShare]:
    for item in verdict.judgements:
        if item.share is not None:
            yield DraftShare(
                name=item.name,
                kind=item.kind,
                metal=item.metals[0] if item.kind == "touch" else "",
                factor=verdict.growth_factor * verdict.decrement_factor,
                error=item.doubt,
                share=shape(item.share),
                permissible=shape(item.permissible(places)),
            )
