"""What a reader of the fit must be told about survey and soil."""

from dataclasses import dataclass
from itertools import combinations
from typing import Literal

import numpy as np

from ..model import Flags, Floats
from ..wording import layers_text, percent_text, plain, spoken
from .layer_fit import LayerFit
from .readings import Survey

FindingKind = Literal[
    "short survey",
    "not uniform",
    "traverses differ",
    "outliers",
    "not resolved",
    "poor fit",
]

# Above this spread of the readings, highest over lowest less one, no one value stands for all.
UNIFORM_SPREAD = 0.30
# Traverses whose curves differ by more than this at a quarter of their places are not one
# soil; a single wrong reading does not make them so.
_traverse_difference, _share_of_places = 0.20, 0.25
_poor_misfit = 0.10


@dataclass(frozen=True)
class Finding:
    """One thing to mind."""

    kind: FindingKind  # what sort of thing, for programs
    message: str  # what was found, how much, and what to do, for people


def survey_findings(
    survey: Survey, *, electrode_diagonal: float | None = None
) -> tuple[Finding, ...]:
    """What the readings show before any layer is fitted; the diagonal is the electrode's."""
    found = [
        *_short(survey, electrode_diagonal),
        *_not_uniform(survey),
        *_traverses_differ(survey),
    ]
    return tuple(found)


def fit_findings(fit: LayerFit, *, survey: Survey) -> tuple[Finding, ...]:
    """What one fit shows about its readings and itself."""
    return (
        *_unlike_differ(fit, survey),
        *_poor_fit(fit),
        *_outliers(fit, survey),
        *_not_resolved(fit),
    )


def _short(survey: Survey, diagonal: float | None) -> list[Finding]:
    longest = float(survey.spacing.max())
    if diagonal is None or longest >= diagonal:
        return []
    message = (
        f"the longest spacing, {spoken(longest)}, is shorter than the diagonal of the "
        f"electrode, {spoken(diagonal)}: the deep soil that rules its resistance was not "
        "measured. Measure with longer spacing, or try the deepest layer at 0.2 and 5 times "
        "its resistivity"
    )
    return [Finding("short survey", message)]


def _not_uniform(survey: Survey) -> list[Finding]:
    readings = survey.apparent_resistivity
    spread = readings.max() / readings.min() - 1.0
    if spread <= UNIFORM_SPREAD:
        return []
    message = (
        f"apparent resistivity goes from {plain(readings.min(), figures=2)} to "
        f"{plain(readings.max(), figures=2)} Ω·m, a "
        f"spread of {percent_text(spread)}: no uniform soil stands for it; above "
        f"{percent_text(UNIFORM_SPREAD)} touch voltages from a mean value are not to be trusted"
    )
    return [Finding("not uniform", message)]


def _traverses_differ(survey: Survey) -> list[Finding]:
    """Traverses of like layouts whose curves differ; unlike ones see different depths."""
    found = []
    for array in np.unique(survey.array):
        kind = survey.array == array
        for i, j in combinations(sorted(set(survey.traverse[kind].tolist())), 2):
            first = _curve(survey, kind & (survey.traverse == i))
            second = _curve(survey, kind & (survey.traverse == j))
            difference = _difference(first, second)
            if difference is None or difference <= np.log1p(_traverse_difference):
                continue
            message = (
                f"traverses {survey.names[i]} and {survey.names[j]} differ by "
                f"{percent_text(np.expm1(difference))} or more at a quarter of the spacings "
                "they share: the soil changes sideways, or metal lies beneath one. Fit each on "
                "its own and carry both as variants"
            )
            found.append(Finding("traverses differ", message))
    return found


def _unlike_differ(fit: LayerFit, survey: Survey) -> list[Finding]:
    """Traverses of unlike layouts that no one soil fits: one above, one below the curve."""
    found = []
    kinds = sorted(set(zip(survey.traverse.tolist(), survey.array.tolist(), strict=True)))
    level = {
        (t, array): -float(
            np.median(fit.residual[(survey.traverse == t) & (survey.array == array)])
        )
        for t, array in kinds
    }
    for (i, first), (j, second) in combinations(level, 2):
        apart = level[i, first] - level[j, second]
        if first == second or abs(apart) <= np.log1p(_traverse_difference):
            continue
        high, low = (i, j) if apart > 0 else (j, i)
        message = (
            f"traverse {survey.names[high]} reads {percent_text(np.expm1(abs(apart)))} above "
            f"{survey.names[low]} for one and the same soil: the soil changes sideways, or "
            "metal lies beneath one. Fit each on its own and carry both as variants"
        )
        found.append(Finding("traverses differ", message))
    return found


def _curve(survey: Survey, chosen: Flags) -> tuple[Floats, Floats]:
    """Ln of spacing and ln of apparent resistivity of some readings, spacings once each."""
    spacing, place = np.unique(survey.spacing[chosen], return_inverse=True)
    values = np.log(survey.apparent_resistivity[chosen])
    mean = np.bincount(place, weights=values) / np.bincount(place)
    return np.log(spacing), mean


def _difference(first: tuple[Floats, Floats], second: tuple[Floats, Floats]) -> float | None:
    """Difference that two curves exceed at a quarter of their places; None where apart."""
    low, high = max(first[0][0], second[0][0]), min(first[0][-1], second[0][-1])
    places = np.unique(np.concatenate([first[0], second[0]]))
    places = places[(places >= low) & (places <= high)]
    if len(places) == 0:
        return None
    difference = np.interp(places, *first) - np.interp(places, *second)
    return float(np.quantile(np.abs(difference), 1 - _share_of_places))


def _poor_fit(fit: LayerFit) -> list[Finding]:
    misfit = fit.misfit_of_others
    if misfit <= _poor_misfit:
        return []
    message = (
        f"{layers_text(fit.layers)} miss{'es' * (fit.layers == 1)} the readings by "
        f"{percent_text(misfit)} (root mean square, outliers left aside): do not design "
        "on this soil; allow more layers, measure at more spacings, look for wrong readings or "
        "fit the traverses one by one"
    )
    return [Finding("poor fit", message)]


def _outliers(fit: LayerFit, survey: Survey) -> list[Finding]:
    found = []
    for k in np.flatnonzero(fit.outlier):
        message = (
            f"the reading at {spoken(survey.spacing[k])} on traverse "
            f"'{survey.names[survey.traverse[k]]}', "
            f"{survey.apparent_resistivity[k]:.3g} Ω·m, is {_side(fit.residual[k])} "
            f"{layers_text(fit.layers)} that fit{'s' * (fit.layers == 1)} the others: check "
            "it, note why, and only then leave it out"
        )
        found.append(Finding("outliers", message))
    return found


def _not_resolved(fit: LayerFit) -> list[Finding]:
    found = []
    for i in range(fit.layers):
        loose = []
        if not fit.resistivity_resolved[i]:
            low, high = (plain(end, figures=2) for end in fit.resistivity_envelope[i])
            loose.append(f"its resistivity ({low} to {high} Ω·m fit alike)")
        if i < fit.layers - 1 and not fit.thickness_resolved[i]:
            low, high = fit.thickness_envelope[i]
            loose.append(f"its thickness ({spoken(low, high, figures=2)} fit alike)")
        if loose:
            message = f"layer {i + 1} of {fit.layers}: the readings do not fix "
            found.append(Finding("not resolved", message + " and ".join(loose) + _held(fit, i)))
    return found


def _held(fit: LayerFit, i: int) -> str:
    """What is known of a layer whose parts are not."""
    if i >= fit.layers - 1:
        return ""
    product, quotient = fit.product_deviation[i], fit.quotient_deviation[i]
    best = min(product, quotient)
    own = max(fit.resistivity_deviation[i], fit.thickness_deviation[i])
    if best > 0.5 * own or best > 0.5:
        return ""
    if product <= quotient:
        value = fit.resistivity[i] * fit.thickness[i]
        fixed = f"{plain(value, figures=2)} Ω·m² ± {percent_text(product)}"
        return f"; what they fix is resistivity × thickness, {fixed}"
    value = fit.thickness[i] / fit.resistivity[i]
    return (
        f"; what they fix is thickness / resistivity, {value:.3g} S ± {percent_text(quotient)}"
    )


def _side(residual: float) -> str:
    """How far a reading lies above or below the model, from ln(model / reading)."""
    off = float(np.expm1(-residual))
    return f"{percent_text(abs(off))} {'above' if off > 0 else 'below'}"
