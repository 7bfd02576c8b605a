"""What a run will have to do, counted before: fields, wires, maps, searches, pictures.

`step_costs.py` says what each of these costs.
"""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from scipy.spatial import cKDTree

from ..cases.case import Case
from ..meshes import MeshPlan
from ..meshes.sizing import points_along
from ..meshes.watching import in_a_process
from ..solver.bodies import Prism, Shape
from ..solver.errors import BudgetError, MeshError
from ..solver.exposure.raster import Area
from ..solver.field.patches import apart as patches_apart
from ..solver.model import Floats
from ..solver.patches import sizes
from ..solver.thin_wire import wires_of
from .expected_along import along_amounts, looked_along
from .expected_field import FieldWork, field_work
from .solving import coarsenings, mapped_area, most_wires_of, plan

Amounts = dict[str, dict[str, float]]
"""Of each step, how much there is of what it takes time for."""
_across = 40  # places of a raster that stands for that of the maps
_near_metal = 2.5  # distances between places, to which the maps are sampled finer


@dataclass(frozen=True)
class CaseWork:
    """What solving, evaluating and drawing one case has to do.

    Attributes
    ----------
    case : Case
        The case.
    fine, coarse : FieldWork
        On the mesh of the result, and on the one that shows how good it is.
    wires : int
        Of the second opinion; 0 where there is none.
    seen : bool
        Whether an earlier result has its maps: the same voltages at the same places.
    rewired : bool
        Whether an earlier result has its solution but for how metal is wired (along_metal).
    """

    case: Case
    fine: FieldWork
    coarse: FieldWork
    wires: int
    seen: bool = False
    rewired: bool = False

    @cached_property
    def points(self) -> int:
        """Places of the maps: a raster, halved near shallow metal and halved again."""
        area, metal = mapped_area(self.case), self.case.conductors
        size = np.subtract(area.high, area.low) / area.spacing + 1
        depth = -np.maximum(metal.start[:, 2], metal.end[:, 2])
        share = [1.0, 0.0, 0.0]
        for level in (1, 2):
            spacing = area.spacing / 2**level
            shallow = depth < 2 * spacing
            if not shallow.any():
                break
            apart = np.full(shallow.sum(), spacing)
            along, _ = points_along(
                metal.start[shallow], end=metal.end[shallow], element_size=apart
            )
            off, _ = cKDTree(along[:, :2]).query(_some_of(area)[:, :2])
            share[level] = float(np.mean(off < _near_metal * spacing))
        nodes = sum(
            4**level * (here - finer)
            for level, (here, finer) in enumerate(zip(share, [*share[1:], 0.0], strict=True))
        )
        return int(size[0] * size[1] * nodes)

    @cached_property
    def lines_near(self) -> float:
        """Mean number of line elements near a point of the maps, or near its cell."""
        places, planned = _some_of(mapped_area(self.case)), self.fine.planned
        seeds, _ = points_along(
            planned.start, end=planned.end, element_size=planned.element_size
        )
        # A point has no cloud of its own, and its cell is as wide again.
        reach = 2 * self.fine.reach / np.sqrt(2)
        near = cKDTree(seeds).query_ball_point(places, reach, return_length=True)
        return float(np.mean(near) * self.fine.lines / len(seeds))

    def solving(self) -> Amounts:
        """Amounts of the steps to unit solutions."""
        even = {} if self.rewired else self._at_one_potential()
        if self.case.wiring is None:
            return even
        along = along_amounts(
            self.case, fine=self.fine, coarse=self.coarse, opinion=self.wires > 0
        )
        return even | {"solution along the metal": along}

    def _at_one_potential(self) -> Amounts:
        """Amounts of mesh and solution of metal at one potential."""
        fine, coarse = self.fine, self.coarse
        both = (fine, coarse)
        groups = len(self.case.conductors.group_names)
        layered = len(self.case.soil.resistivity) > 1
        return {
            # With the second opinion, which is taken meanwhile.
            "mesh": {
                "process": in_a_process(fine.planned),
                "elements": fine.elements,
                "elements of planes": fine.of_planes,
                "wires squared": self.wires**2,
                "wires squared, layers": self.wires**2 * layered,
            },
            "solution": {
                "case": 1,
                "process": in_a_process(coarse.planned),
                "elements": sum(each.elements for each in both),
                "elements of planes": coarse.of_planes,
                "elements times planes": sum(
                    each.elements * len(each.planned.planes) for each in both
                ),
                "elements times more groups": sum(each.elements for each in both)
                * (groups - 1),
                "line elements": sum(each.lines for each in both),
                "heads": self.heads * len(both),
                "balls times elements": sum(each.balls * each.in_ball for each in both),
                "pairs": sum(each.pairs for each in both),
                "pairs as wires times images": sum(each.touching * each.close for each in both),
                "across faces": sum(each.across_faces for each in both),
                "pairs of balls times images": sum(
                    each.ball_pairs * each.images for each in both
                ),
                "pairs of patches times images": self.patch_pairs
                * sum(each.close for each in both),
            },
        }

    def evaluating(self) -> Amounts:
        """Amounts of the steps from unit solutions to a result."""
        fine, case = self.fine, self.case
        searches = 1 + len(case.study.touchables)
        exposures = 0 if case.safety is None else len(case.safety.exposures)
        far = case.distances
        reaches = 0 if far is None else len(far.levels) + len(far.separations)
        reaches += case.safety is not None and case.safety.step_outline is not None

        new = float(not self.seen)

        def looked(number: float) -> dict[str, float]:
            return {
                "searches": number,
                "tables": number * fine.tables,
                "near": number * fine.about,
                "heads": number * self.heads,
            }

        return {
            "maps": {
                "points": new * self.points,
                "points times near": new * self.points_times_near,
                "points beside plates": new * self.points_by_plates,
                "heads": new * self.heads,
                "tables": new * fine.tables,
                "points beside voids": new * self.points_by_voids,
            },
            "worst places": looked(new * searches),
            "accuracy": looked(1),
            "verdict": looked(exposures)
            | {
                "reaches": reaches,
                "points of grounds": self.step_margins * self.points_by_grounds,
            },
            **(self._standing() if case.safety and case.safety.solved_feet else {}),
            **(self._sharing() if case.study.soil_shares else {}),
            **({} if case.wiring is None else {"looks along the metal": self._along()}),
        }

    def _along(self) -> dict[str, float]:
        """Amounts of what is looked at beside the rest with voltages along the metal."""
        return looked_along(
            self.case,
            fine=self.fine,
            points=(not self.seen) * self.points,
            near=(not self.seen) * self.points_times_near,
        )

    def _standing(self) -> Amounts:
        """Amounts of solved feet, two at each place, on the coarser mesh."""
        safety, coarse = self.case.safety, self.coarse
        assert safety is not None
        assert safety.solved_feet is not None
        feet = 2.0 * safety.solved_feet.places * len(safety.exposures)
        return {
            "solved feet": {
                "feet": feet,
                "elements times feet": coarse.elements * feet,
            }
        }

    def _sharing(self) -> Amounts:
        """Amounts of the shares of the soil: each layer and the coverings are changed."""
        fine, changed = self.fine, len(self.case.soil.resistivity) + 1.0
        return {
            "shares of the soil": {
                "changed": changed,
                "elements": changed * fine.elements,
                "pairs as wires times images": changed * fine.touching * fine.close,
                "balls times elements": fine.balls * fine.in_ball,
            }
        }

    def saving(self) -> Amounts:
        """Amounts of the steps that write numbers."""
        fine, new = self.fine, float(not self.seen)
        return {
            "numbers": {"results": 1, "points": self.points},
            "volumes": {
                "elements": new * fine.elements,
                "tables": new * fine.tables,
                "near": new * fine.below,
            },
        }

    @property
    def plans(self) -> int:
        """Maps in plan: potential, step, each metal that is touched, each exposure judged."""
        return 2 + len(self.case.study.touchables) + self.margins

    @property
    def margins(self) -> int:
        """Those of exposures."""
        return 0 if self.case.safety is None else len(self.case.safety.exposures)

    @property
    def step_margins(self) -> int:
        """Those of steps, which are looked for between the points of the map too."""
        safety = self.case.safety
        return 0 if safety is None else sum(one.kind == "step" for one in safety.exposures)

    @property
    def alike(self) -> bool:
        """Whether pictures without limits are those of an earlier result."""
        return self.seen and self.case.distances is None and not self.case.study.soil_shares

    @property
    def profiles(self) -> int:
        """Lines over which the surface is followed."""
        return len(self.case.study.profiles)

    @property
    def points_times_near(self) -> float:
        """Points of the maps and images of line elements near them."""
        return self.points * self.lines_near * self.fine.at_surface

    @property
    def points_by_plates(self) -> float:
        """Points of the maps, and images of patches so close that their shape counts."""
        corners = self.case.conductors.corners
        if corners is None or not self.case.conductors.flat.any():
            return 0.0
        patches, area = corners[self.case.conductors.flat], mapped_area(self.case)
        near = cKDTree(_some_of(area)).query_ball_point(
            patches.mean(axis=1), patches_apart * sizes(patches), return_length=True
        )
        # As in `points`: the raster is halved, and halved again, over what is that shallow.
        depth = -patches[:, :, 2].max(axis=1)
        finer = 4 ** sum((depth < 2 * area.spacing / 2**k).astype(int) for k in (1, 2))
        raster = np.prod(np.subtract(area.high, area.low) / area.spacing + 1)
        # Of more images a smaller share is close.
        pairs = raster * (near * finer).sum() / _across**2
        return float(pairs * np.sqrt(self.fine.exact))

    @property
    def points_by_voids(self) -> float:
        """Points of the maps and sides of voids that they may lie in."""
        return float(
            self.points * sum(_sides(body.shape) for body in self.case.soil.open_voids)
        )

    @property
    def points_by_grounds(self) -> float:
        """Points of the maps and surface layers that they may lie on."""
        safety = self.case.safety
        return 0.0 if safety is None else float(self.points * len(safety.layers))

    @property
    def heads(self) -> int:
        """Pieces of metal that end in the surface: round them it is looked at closely."""
        metal = self.case.conductors
        return int((np.maximum(metal.start[:, 2], metal.end[:, 2]) == 0).sum())

    @property
    def patch_pairs(self) -> float:
        """Pairs of patches of one plate each."""
        plate = self.case.conductors.plate
        if plate is None:
            return 0.0
        return float((np.bincount(plate[plate >= 0]) ** 2.0).sum())

    @property
    def pieces(self) -> int:
        """Straight pieces of metal."""
        return len(self.case.conductors.start)


def _sides(shape: Shape) -> int:
    """Of what is looked through to find what is inside; one of a round body."""
    return len(shape.outline) if isinstance(shape, Prism) else 1


def _some_of(area: Area) -> Floats:
    """Places that stand for all of an area, at the surface, shape (n, 3). [m]"""
    some = np.stack(np.meshgrid(*[np.linspace(0, 1, _across)] * 2), axis=-1).reshape(-1, 2)
    plan = area.low + some * np.subtract(area.high, area.low)
    return np.pad(plan, ((0, 0), (0, 1)))


def case_work(case: Case, *, accuracy: str | None = None) -> CaseWork:
    """What a run of a case has to do, its variants left out.

    Parameters
    ----------
    accuracy : {"coarse", "normal", "fine"}, optional
        In place of the case's own.

    Raises
    ------
    BudgetError
        If the mesh would be larger than the case allows.
    MeshError
        If layers are so thin beside the elements that a run would be refused.
    """

    def on(planned: MeshPlan) -> FieldWork:
        return field_work(planned, conductors=case.conductors, soil=case.soil)

    fine = on(plan(case, accuracy=accuracy))
    usual, less = coarsenings
    try:
        coarse = on(plan(case, accuracy=accuracy, coarser=usual))
    except MeshError:
        coarse = on(plan(case, accuracy=accuracy, coarser=less))
    most = most_wires_of(case)
    try:
        wires = wires_of(case.conductors, soil=case.soil, most=most) if most else 0
    except BudgetError:
        wires = 0
    return CaseWork(case, fine, coarse, wires)
