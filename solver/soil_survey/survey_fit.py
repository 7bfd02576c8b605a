"""From readings to layers: every number of layers, and how many the readings support."""

from dataclasses import dataclass

import numpy as np

from ..errors import CaseError
from .descent import Descent, best_descent
from .findings import Finding, fit_findings, survey_findings
from .layer_fit import LayerFit
from .readings import Survey
from .resolution import chance_of_drop, information_criterion
from .starts import starting_points
from .target import EVERY_RESIDUAL, ResidualKind, Target

_starts = 12
# Drop of the criterion that counts as strong, and chance below which a drop is not one.
_strong_drop, _small_chance = 6.0, 0.05
MOST_LAYERS = 6


@dataclass(frozen=True)
class SurveyFit:
    """Fits of one survey with one, two and more layers."""

    survey: Survey
    fits: tuple[LayerFit, ...]  # by number of layers, from uniform soil up
    supported: int  # number of layers that the readings support
    residual: ResidualKind  # what was squared and summed
    robust: bool  # whether large residuals counted less
    findings: tuple[Finding, ...]  # what to mind about the readings and the supported fit

    @property
    def best(self) -> LayerFit:
        """The fit with as many layers as the readings support."""
        return self.fits[self.supported - 1]

    def with_layers(self, layers: int) -> LayerFit:
        """The fit with a given number of layers; `CaseError` if there is none."""
        if not 1 <= layers <= len(self.fits):
            msg = f"{layers} layers were not fitted; there are 1 to {len(self.fits)}"
            raise CaseError(msg)
        return self.fits[layers - 1]


def most_layers_fitted(survey: Survey, *, most_layers: int = 4) -> int:
    """Largest number of layers that `fit_survey` tries: parameters stay fewer than layouts."""
    layouts = len(np.unique(survey.layouts, axis=0))
    return max(1, min(most_layers, layouts // 2))


def fit_survey(
    survey: Survey,
    *,
    most_layers: int = 4,
    residual: ResidualKind = "log",
    robust: bool = False,
    electrode_diagonal: float | None = None,
) -> SurveyFit:
    """Layered soils that fit a survey, and how many layers it supports.

    Parameters
    ----------
    most_layers : int
        Largest number of layers to try, 1 to 6. Fewer are tried where the layouts are not
        more than the parameters, 2 layers - 1.
    residual : {"log", "relative", "absolute"}
        What is made least: squares of the difference of logarithms, of the difference over
        the reading, or of the difference itself.
    robust : bool
        Whether residuals beyond the spread of the others count less (Cauchy's loss).
    electrode_diagonal : float, optional
        Longest distance across the electrode that the soil is for, to hold the survey
        against. [m]

    Raises
    ------
    CaseError
        If an option is none of the allowed ones.

    Notes
    -----
    Least squares in logarithms of resistivity and thickness within bounds (1000 times beyond
    the readings; 0.02 of the smallest to 3 times the largest spacing), from 12 starts chosen
    among 1024 soils and from every layer of the simpler fit cut in two. Nothing is random.

    More layers are supported when they lower Schwarz's criterion by 6 or more and an F test
    gives less than 5 % to chance, against the last number of layers that was. Support
    is a statement about the readings, not about the ground.
    """
    if not 1 <= most_layers <= MOST_LAYERS:
        msg = f"most_layers is {most_layers}; allowed is 1 to {MOST_LAYERS}"
        raise CaseError(msg)
    if residual not in EVERY_RESIDUAL:
        msg = f"residual is {residual!r}; allowed is {', '.join(EVERY_RESIDUAL)}"
        raise CaseError(msg)
    target = Target.of(survey, kind=residual)
    descents: list[Descent] = []
    for layers in range(1, most_layers_fitted(survey, most_layers=most_layers) + 1):
        simpler = descents[-1].logarithms if descents else None
        starts = starting_points(target, layers=layers, count=_starts, simpler=simpler)
        descents.append(best_descent(target, starts, robust=robust))
    fits, supported = _judged(descents, robust=robust)
    findings = survey_findings(survey, electrode_diagonal=electrode_diagonal)
    findings += fit_findings(fits[supported - 1], survey=survey)
    return SurveyFit(
        survey=survey,
        fits=fits,
        supported=supported,
        residual=residual,
        robust=robust,
        findings=findings,
    )


def _judged(descents: list[Descent], *, robust: bool) -> tuple[tuple[LayerFit, ...], int]:
    """The fits, each held against the last supported one, and the number supported."""
    fits, supported = [], 0
    for k, descent in enumerate(descents):
        held = descents[supported]
        chance = chance_of_drop(held, descent) if k else 1.0
        drop = information_criterion(held) - information_criterion(descent)
        if drop >= _strong_drop and chance < _small_chance:
            supported = k
        fits.append(LayerFit.of(descent, robust=robust, chance=chance))
    return tuple(fits), supported + 1
