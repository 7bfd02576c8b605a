"""Earth tests of a case, predicted: what the verb `earth-test` does."""

from collections.abc import Iterator
from dataclasses import replace
from os import PathLike

import numpy as np

from ..cases.case import Case
from ..cases.fitting import fit_soil
from ..cases.loading import case_of
from ..solver.contact import behind_contact
from ..solver.earth_tests import (
    ClampPlan,
    DrivenRodPlan,
    EarthTestPlan,
    FallOfPotentialPlan,
    Method,
    Prediction,
    clamp_reading,
    driven_rod_test,
    fall_of_potential,
    with_pin,
)
from ..solver.errors import BudgetError, CaseError, Problem, TrustError
from ..solver.model import Conductors, Floats, some_of
from ..solver.patches import places_of
from ..solver.progress import Progress, headed, parts, unwatched
from ..solver.solved_soil import SolvedSoil
from ..solver.thin_wire import second_opinion
from .layers_only import refuse_bodies
from .solving import solve_case

_probe = "current probe"


def predict_tests(
    case: Case | str | PathLike[str], *, elements: bool = False, progress: Progress = unwatched
) -> tuple[Prediction, ...]:
    """What a tester reads in each earth test of a case and of its variants.

    Parameters
    ----------
    case : Case
        A case with a block `earth_tests`.
    elements : bool, default False
        Whether to solve the field by finite elements; else by thin conductors without a mesh,
        and by finite elements only where those are too many or too close.
    progress : callable, optional
        Told the name of each step as it begins, and the share of the work done by then.

    Returns
    -------
    predictions : tuple of Prediction
        Test by test; the case as it stands first, then its variants.

    Raises
    ------
    CaseError
        If the case has no earth tests.
    OhmscapeError
        As `solve_case`.
    """
    case = case_of(case)
    if not any(each.earth_tests for each in (case, *case.variants)):
        msg = "the case has no earth tests; write the block 'earth_tests'"
        raise CaseError([Problem(msg, file=case.source.file)])
    case = fit_soil(case)
    for each in (case, *case.variants):
        if any(isinstance(plan, DrivenRodPlan) for plan in each.earth_tests):
            refuse_bodies(each, what="a rod test is worked out in layers only")
    names = list(
        dict.fromkeys(plan.name for c in (case, *case.variants) for plan in c.earth_tests)
    )
    tests = [
        (plan, each)
        for name in names
        for each in (case, *case.variants)
        for plan in each.earth_tests
        if plan.name == name
    ]
    found = []
    for (plan, each), reported in zip(tests, parts(progress, [1.0] * len(tests)), strict=True):
        reported = headed(reported, ": ".join(filter(None, (plan.name, each.variant))))
        found.append(_predicted(each, plan, elements=elements, progress=reported))
    return tuple(found)


def _predicted(
    case: Case, plan: EarthTestPlan, *, elements: bool, progress: Progress
) -> Prediction:
    if isinstance(plan, FallOfPotentialPlan):
        return _moved_probe(case, plan, elements=elements, progress=progress)
    if isinstance(plan, ClampPlan):
        soil, method, error = solved_with(
            case, case.conductors, elements=elements, progress=progress
        )
        reading = clamp_reading(
            soil.current_matrix,
            around=plan.around,
            groups=case.conductors.group_names,
            bonds=list(closed_bonds(case)),
            paths=() if case.circuit is None else case.circuit.paths,
        )
        return Prediction(plan, case.variant, case.soil, reading, (), 0.0, 0.0, method, error)
    progress("rod lengths", 0.0)
    return _driven_rod(case, plan)


def _moved_probe(
    case: Case, plan: FallOfPotentialPlan, *, elements: bool, progress: Progress
) -> Prediction:
    paths = case.circuit.paths if case.circuit is not None and plan.paths_connected else ()
    found, errors = [], []
    method: Method = "thin conductors"
    probes = (plan.leads.distance, *plan.other_distances)
    for distance, reported in zip(probes, parts(progress, [1.0] * len(probes)), strict=True):
        leads = plan.leads.at_distance(distance)
        metal = with_pin(case.conductors, plan.pin(leads), name=_probe)
        soil, method, error = solved_with(case, metal, elements=elements, progress=reported)
        errors.append(error)
        found.append(
            fall_of_potential(
                soil,
                electrode=plan.electrode,
                probe=_probe,
                leads=leads,
                distance=plan.distances if not errors[1:] else (),
                bonds=list(closed_bonds(case)),
                paths=paths,
            )
        )
    return Prediction(
        plan=plan,
        variant=case.variant,
        soil=case.soil,
        found=found[0],
        others=tuple(found[1:]),
        extent=extent_of(case, plan.electrode),
        covered=_covered(case, plan),
        method=method,
        field_error=max(errors),
    )


def _driven_rod(case: Case, plan: DrivenRodPlan) -> Prediction:
    test = driven_rod_test(
        case.soil,
        driven_length=plan.lengths,
        radius=plan.radius,
        leads=plan.leads,
        probe=plan.probe,
        potential_distance=plan.potential_distance,
    )
    error = test.resistance_error
    return Prediction(
        plan, case.variant, case.soil, test, (), 0.0, 0.0, "thin conductors", error
    )


def solved_with(
    case: Case, metal: Conductors, *, elements: bool, progress: Progress
) -> tuple[SolvedSoil, Method, float]:
    """Field of metal in the soil of a case, how it was solved, and its estimated error."""
    pins = len(metal.group_names) - len(case.contact_resistance)
    if not case.soil.on_ground(
        metal.start[metal.group >= len(case.contact_resistance), :2]
    ).all():
        msg = "a pin of the test stands in a void; put it into the ground"
        raise CaseError([case.document.problem(msg, path=("earth_tests",))])
    contact = (*case.contact_resistance, *[0.0] * pins)
    if not elements:
        progress("thin conductors", 0.0)
        try:
            opinion = second_opinion(metal, soil=case.soil)
        except (BudgetError, TrustError):
            pass  # too many or too close; what is printed names the other method
        else:
            return behind_contact(opinion, contact), "thin conductors", opinion.resistance_error
    numerics = replace(case.numerics, second_opinion="never")
    solved = solve_case(replace(case, conductors=metal, numerics=numerics), progress=progress)
    fine, coarse = (
        np.linalg.inv(each.current_matrix).diagonal() for each in (solved.fine, solved.coarse)
    )
    error = float(np.abs(coarse / fine - 1.0).max())
    return behind_contact(solved.fine, contact), "finite elements", error


def closed_bonds(case: Case) -> Iterator[tuple[str, str]]:
    """Names of the electrodes at both ends of each closed bond."""
    names = case.conductors.group_names
    for bond in case.bonds:
        if bond.closed:
            one, other = bond.groups
            yield names[one], names[other]


def _ends(case: Case, electrode: str) -> Floats:
    """Outermost places of an electrode and of what is bonded to it, shape (n, 3). [m]"""
    names = case.conductors.group_names
    member = {electrode}
    for _ in names:
        for pair in closed_bonds(case):
            if member & set(pair):
                member |= set(pair)
    mine = np.isin(case.conductors.group, [names.index(name) for name in member])
    return places_of(some_of(case.conductors, piece=mine))


def extent_of(case: Case, electrode: str) -> float:
    """Largest dimension of an electrode with what is bonded to it. [m]"""
    size = np.ptp(_ends(case, electrode), axis=0)
    return float(max(np.hypot(size[0], size[1]), size[2]))


def _covered(case: Case, plan: FallOfPotentialPlan) -> float:
    """How far an electrode reaches along the current lead. [m]"""
    plane = _ends(case, plan.electrode)[:, :2] - plan.leads.start
    along = plane @ [np.cos(plan.leads.azimuth), np.sin(plan.leads.azimuth)]
    return max(0.0, float(along.max()))
