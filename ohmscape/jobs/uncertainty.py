"""A case with inputs that are not known: drawn, tried, proven by samples."""

import hashlib
import json
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path
from typing import Any

import numpy as np
from threadpoolctl import threadpool_limits

from .. import __version__
from ..cases.building import built
from ..cases.case import Case
from ..cases.changes import NOT_TAKEN
from ..cases.fitting import fit_soil
from ..cases.reading.documents import Document
from ..cases.reading.raw_content import put
from ..cases.uncertainty.inputs import NextReading as CaseReading
from ..cases.uncertainty.inputs import UncertaintyPlan
from ..solver.anisotropy import isotropic
from ..solver.design import Evaluation
from ..solver.errors import CaseError, OhmscapeError, Problem, TrustError
from ..solver.model import Floats, Soil
from ..solver.patches import places_of
from ..solver.progress import Progress, parts, unwatched
from ..solver.soil_survey.four_pin_model import FourPinModel
from ..solver.soil_survey.layers import SoilBatch
from ..solver.soil_survey.pin_geometry import wenner_pins
from ..solver.soil_survey.posterior import PosteriorSoils, posterior_soils
from ..solver.soil_survey.rod_model import RodModel
from ..solver.uncertainty.answers import SHARES
from ..solver.uncertainty.draw import Draw
from ..solver.uncertainty.found import NextReading, Proof, Uncertainty, answers_of
from ..solver.uncertainty.narrowing import narrowing
from ..solver.uncertainty.plan import draw_plan
from .family_engines import Engine, PlainLoop
from .family_kept import KeptDraws, Key, kept_answers
from .layers_only import refuse_bedded, refuse_bodies
from .pace import Pace
from .run import run_variants
from .trying import Trials, evaluation_of

_drawing, _proving = 10.0, 3.0  # of the time, where progress is shown

Values = tuple[Any, ...]
"""Value of each input, as the case file would have it."""


@dataclass(frozen=True)
class Drawn:
    """Values of one draw: of the inputs, and the soil where that is drawn from a survey."""

    number: int  # from 1; 0 for those that no draw is
    values: Values
    soil: Soil | None


def uncertainty_of_case(
    case: Case,
    *,
    folder: Path | None = None,
    engine: Engine | None = None,
    accuracy: str | None = None,
    proofs: bool = True,
    progress: Progress = unwatched,
) -> Uncertainty:
    """How far the answers of a case spread, and why.

    Parameters
    ----------
    case : Case
        With an `uncertainty` block.
    folder : Path, optional
        Where draws are kept as they come; a command that was killed goes on from them, to the
        same numbers. Left out, they are kept in memory.
    engine : Engine, optional
        Who does the work; left out, this process. The numbers are the same whoever does.
    accuracy : {"coarse", "normal", "fine"}, optional
        Of the finite elements, in place of the case's own.
    proofs : bool
        Whether three draws are solved by finite elements too.
    progress : callable, optional
        Told how far it is.

    Raises
    ------
    CaseError
        If there is no such block, or a draw makes no case, said with its values.
    TrustError
        If a draw cannot be solved, or the readings of the survey leave too much open.
    ResultError
        If what was kept cannot be read.
    """
    plan = case.uncertainty
    if plan is None:
        msg = "no block 'uncertainty' says what is not known; add one"
        raise CaseError([Problem(msg, file=case.source.file)])
    engine = engine or PlainLoop()
    drawing, proving = parts(progress, [_drawing, _proving])
    fitted = fit_soil(case)
    refuse_bodies(fitted, what="draws are solved by thin conductors, which know layers only")
    if any(item.rod is not None for item in plan.next_readings):
        refuse_bedded(fitted, what="a rod driven for a reading is followed in even layers only")
    soils = None
    if plan.from_survey:
        assert fitted.survey is not None  # it is what the soil is drawn from
        metal = places_of(case.conductors)
        size = float(np.linalg.norm(np.ptp(metal, axis=0)))
        soils = posterior_soils(fitted.survey.found, spacing=0.5 * size, seed=plan.seed)
    shares = draw_plan(len(plan.names), draws=plan.draws, seed=plan.seed)
    ends = _swings(len(plan.names))
    every = np.concatenate([ends, shares.shares])
    drawn = _drawn(plan, every, soils=soils, before=len(ends))
    kept = KeptDraws(folder)
    try:
        found = _evaluated(case, plan, drawn, kept=kept, engine=engine, progress=drawing)
        swings, draws = found[: len(ends)], found[len(ends) :]
        proven: tuple[Proof, ...] = ()
        if proofs:
            proven = _proofs(
                case, plan, drawn[len(ends) :], draws, kept=kept, accuracy=accuracy,
                progress=proving,
            )  # fmt: skip
    finally:
        kept.close()
    conditions = ("", *(each.variant for each in case.variants))
    exposures = _exposures(case)
    answers, unjudged = answers_of(
        draws, swings=swings, plan=shares, exposures=exposures, conditions=conditions
    )
    return Uncertainty(
        title=case.title,
        case_file=case.source.file,
        units=case.units,
        inputs=plan.names,
        drawn=_words(plan, soils),
        shares=shares.shares,
        answers=answers,
        unjudged=unjudged,
        proofs=proven,
        next_readings=_next_readings(plan, draws),
        seed=plan.seed,
        soils=0.0 if soils is None else soils.effective,
    )


def _swings(inputs: int) -> Floats:
    """Shares of the probability: all at the median; then each at 5 and at 95 %."""
    rows = np.full((2 * inputs + 1, inputs), 0.5)
    for k in range(inputs):
        rows[1 + 2 * k, k], rows[2 + 2 * k, k] = SHARES[0], SHARES[2]
    return rows


def _drawn(
    plan: UncertaintyPlan, shares: Floats, *, soils: PosteriorSoils | None, before: int
) -> list[Drawn]:
    first = int(plan.from_survey)
    of_survey = [None] * len(shares) if soils is None else soils.at(shares[:, 0])
    return [
        Drawn(
            max(0, number + 1 - before),
            tuple(item.at(share) for item, share in zip(plan.inputs, row[first:], strict=True)),
            soil,
        )
        for number, (row, soil) in enumerate(zip(shares, of_survey, strict=True))
    ]


def draw_case(case: Case, plan: UncertaintyPlan, drawn: Drawn) -> Case:
    """A case as one draw has it, with its variants; `CaseError` if it is none."""
    content = _content(case, plan, drawn)
    made = Document(content, case.document.lines, case.document.file)
    return built(made, source=case.source, folder=plan.folder)


def _content(case: Case, plan: UncertaintyPlan, drawn: Drawn) -> dict[str, Any]:
    """Content of a case as one draw has it."""
    document = case.document
    content = {key: item for key, item in document.content.items() if key not in NOT_TAKEN}
    for item, value in zip(plan.inputs, drawn.values, strict=True):
        content = put(content, item.target, value)
    if drawn.soil is not None:
        content = content | {"soil": {"layers": _layers(drawn.soil)}}
    return content


def _layers(soil: Soil) -> list[dict[str, str]]:
    """Layers as the case file has them, to the last figure."""
    layers = [{"resistivity": f"{value!r} ohm*m"} for value in soil.resistivity]
    for layer, thickness in zip(layers, soil.thickness, strict=False):
        layer["thickness"] = f"{thickness!r} m"
    return layers


def _exposures(case: Case) -> tuple[str, ...]:
    return () if case.safety is None else tuple(item.name for item in case.safety.exposures)


def evaluated(case: Case, plan: UncertaintyPlan, drawn: Drawn) -> Draw:
    """What thin conductors find of a draw, whatever was tried before it.

    `CaseError` or `TrustError` with its values if it makes no case or is not solved.
    """
    try:
        each = fit_soil(draw_case(case, plan, drawn))
        with threadpool_limits(1):
            evaluation = Trials().evaluation(each)
    except OhmscapeError as error:
        words = ", ".join(
            f"{item.name} {value}"
            for item, value in zip(plan.inputs, drawn.values, strict=True)
        )
        msg = f"with {words or drawn.soil}: {error}"
        kind = CaseError if isinstance(error, CaseError) else TrustError
        raise kind([Problem(msg, "uncertainty", case.source.file)]) from error
    return _draw(evaluation, soil=each.soil, exposures=_exposures(case))


def _draw(evaluation: Evaluation, *, soil: Soil, exposures: Sequence[str]) -> Draw:
    conditions = evaluation.conditions
    shares = []
    for condition in conditions:
        met = {item.exposure: item.voltage / item.limit for item in condition.met}
        shares.append(tuple(met.get(name, float("nan")) for name in exposures))
    return Draw(
        soil,
        tuple(item.resistance for item in conditions),
        tuple(item.rise for item in conditions),
        tuple(shares),
    )


def _evaluated(
    case: Case,
    plan: UncertaintyPlan,
    drawn: Sequence[Drawn],
    *,
    kept: KeptDraws,
    engine: Engine,
    progress: Progress,
) -> list[Draw]:
    lean = replace(case, survey=None, layers=None, measured=None, design=None)

    def lost(why: str) -> Draw:
        msg = f"draws could not be tried: {why}"
        raise TrustError(msg)

    return kept_answers(
        engine,
        partial(_guarded, lean, plan),
        [(_key("thin conductors", case, plan, one), one) for one in drawn],
        kept=kept,
        lost=lost,
        pace=partial(Pace, "draws", progress=progress, item="draw"),
    )


def _key(tier: str, case: Case, plan: UncertaintyPlan, drawn: Drawn) -> Key:
    """What a draw is kept by: the method, and a hash of the case that it makes."""
    content = json.dumps(_content(case, plan, drawn), sort_keys=True, ensure_ascii=False)
    parts = [__version__, content, *sum(case.source.tables, ())]
    return tier, hashlib.sha256("\0".join(parts).encode()).hexdigest()


def _guarded(case: Case, plan: UncertaintyPlan, drawn: Drawn) -> Any:
    """A draw, or the error by which it fails: engines turn what is raised into words."""
    try:
        return evaluated(case, plan, drawn)
    except OhmscapeError as error:
        return error


def _words(
    plan: UncertaintyPlan, soils: PosteriorSoils | None
) -> tuple[tuple[str, str, str], ...]:
    """Each input at 5, 50 and 95 % of its probability, as one writes it."""
    rows: list[tuple[str, str, str]] = []
    if soils is not None:
        low, middle, high = map(_soil_words, soils.at(np.array(SHARES)))
        rows.append((low, middle, high))
    for item in plan.inputs:
        low, middle, high = (item.words(share) for share in SHARES)
        rows.append((low, middle, high))
    return tuple(rows)


def _soil_words(soil: Soil) -> str:
    texts = [f"{value:.3g}" for value in soil.resistivity]
    for k, thickness in enumerate(soil.thickness):
        texts[k] += f" ({thickness:.3g} m)"
    return " over ".join(texts) + " Ω·m"


def _next_readings(plan: UncertaintyPlan, draws: Sequence[Draw]) -> tuple[NextReading, ...]:
    """What each reading that could come would narrow, most first."""
    ohms = np.array([draw.resistance[0] for draw in draws])
    worst = np.array([draw.worst for draw in draws])
    judged = bool(np.isfinite(worst).all())
    found = []
    for item in plan.next_readings:
        seen = _reading(item, draws)
        of_worst = None
        if judged:
            of_worst = narrowing(worst, reading=seen, error=item.error, seed=plan.seed)
        of_ohms = narrowing(ohms, reading=seen, error=item.error, seed=plan.seed)
        found.append(NextReading(item.name, of_ohms, of_worst))
    return tuple(sorted(found, key=lambda one: -(one.worst or one.resistance).share))


def _reading(item: CaseReading, draws: Sequence[Draw]) -> Floats:
    """What a reading would be in each draw, shape (n,) or (n, q)."""
    if item.rod is None and not len(item.wenner):
        return np.array([draw.resistance[0] for draw in draws])
    by_count: dict[int, list[int]] = {}
    for number, draw in enumerate(draws):
        by_count.setdefault(len(draw.soil.resistivity), []).append(number)
    found = np.empty((len(draws), max(1, len(item.wenner))))
    for alike in by_count.values():  # soils of as many layers go together
        # Pins on the surface see the isotropic twin.
        seen = [isotropic(draws[k].soil) for k in alike]
        soils = SoilBatch(
            np.array([soil.resistivity for soil in seen]),
            np.array([soil.thickness for soil in seen]).reshape(len(alike), -1),
        )
        found[alike] = _model(item).resistance(soils)
    return found


def _model(item: CaseReading) -> FourPinModel | RodModel:
    if item.rod is None:
        return FourPinModel.of(wenner_pins(item.wenner), pin_depth=np.zeros(len(item.wenner)))
    length, diameter = item.rod
    return RodModel.of(np.array([length]), radius=np.array([0.5 * diameter]))


def _proofs(
    case: Case,
    plan: UncertaintyPlan,
    drawn: Sequence[Drawn],
    draws: Sequence[Draw],
    *,
    kept: KeptDraws,
    accuracy: str | None,
    progress: Progress,
) -> tuple[Proof, ...]:
    """Three draws by finite elements: near 5, 50 and 95 % of what decides."""
    worst = np.array([draw.worst for draw in draws])
    if not np.isfinite(worst).all():
        worst = np.array([max(draw.resistance) for draw in draws])
    order = np.argsort(worst, kind="stable")
    found = []
    for share, each in zip(SHARES, parts(progress, [1.0] * len(SHARES)), strict=True):
        number = int(order[round(share * (len(order) - 1))])
        key = _key(f"finite elements, {accuracy}", case, plan, drawn[number])
        if key not in kept.records:
            own = fit_soil(draw_case(case, plan, drawn[number]))
            evaluation = evaluation_of(own, run_variants(own, accuracy=accuracy, progress=each))
            kept.add(key, _draw(evaluation, soil=own.soil, exposures=_exposures(case)))
        solved = kept.records[key]
        thin = draws[number]
        found.append(
            Proof(
                number + 1,
                f"{100 * share:g} %",
                (max(thin.resistance), max(solved.resistance)),
                (thin.worst, solved.worst),
            )
        )
    return tuple(found)
