"""The tables of a sounding as text: its models, and their parameters with ranges."""

from collections.abc import Sequence

import numpy as np

from ...solver.model import Floats
from ...solver.soil_survey import Sounding
from ...solver.soil_survey.findings import UNIFORM_SPREAD
from ...solver.wording import layers_text, percent_text
from ..wording import Unit, length_unit, scaled_unit, significant
from ..words.lines import aligned
from .parameters import Parameter, parameters


def models_table(sounding: Sounding) -> list[str]:
    """Table of models: how well each number of layers fits, and which are supported."""
    values = sounding.survey.apparent_resistivity
    spread = float(values.max() / values.min() - 1)
    squares = {"log": "logarithms", "relative": "relative values", "absolute": "values"}
    how = "; readings off the curve count less" if sounding.robust else ""
    rows = [("layers", "misfit", "outliers", "criterion", "chance", "starts agreeing", "")]
    for model in sounding.models:
        marks = []
        if model.layers == sounding.layers:
            marks.append("chosen")
        if model.layers == sounding.supported:
            marks.append("as many as the readings support")
        if model.layers == 1 and spread > UNIFORM_SPREAD:
            marks.append(f"not to be defended, the readings spread by {percent_text(spread)}")
        rows.append(
            (
                "uniform" if model.layers == 1 else str(model.layers),
                percent_text(model.misfit_of_others, decimals=1),
                str(int(model.outlier.sum())),
                f"{model.criterion:.1f}".replace("-", "−"),
                "" if model.layers == 1 else _chance(model.chance),
                f"{model.agreeing} of {model.starts}",
                "<- " + ", ".join(marks) if marks else "",
            )
        )
    return [
        f"Models (least squares of the differences of {squares[sounding.residual]}{how})",
        *("  " + line for line in aligned(rows, right=5)),
        "  misfit: root mean square of model less reading over reading, outliers left aside",
        "  criterion: Schwarz's; lower is better, a drop of 6 is strong",
        "  chance: that noise alone makes the drop of the misfit from the last supported model",
    ]


def _chance(chance: float) -> str:
    return "<0.1 %" if chance < 1e-3 else percent_text(chance, decimals=1)


def parameters_table(sounding: Sounding, *, units: str) -> list[str]:
    """Table of all parameters with one standard deviation and ranges."""
    rows: list[tuple[str, ...]] = [
        ("", "best", "1 sigma", "95 %, linear", "fits as well, 95 %", "")
    ]
    for model in sounding.models:
        chosen = " (chosen)" if model.layers == sounding.layers else ""
        rows.append((f"{layers_text(model.layers)}{chosen}", "", "", "", "", ""))
        rows += [_row(item, units=units) for item in parameters(model)]
    return [
        "Parameters, layers from the top",
        *("  " + line for line in aligned(rows, right=5)),
    ]


def _row(item: Parameter, *, units: str) -> tuple[str, ...]:
    unit = length_unit(units)
    if item.quantity == "resistivity":
        unit = scaled_unit(item.value, symbol="Ω·m")
    known = item.deviation < np.log(10)  # beyond, the linear range is no information
    return (
        f"  {item.quantity} {item.layer}",
        value_text(item.value, unit),
        _sigma(item.deviation) if known else "any",
        span_text(item.linear, unit) if known else "any",
        span_text(item.alike, unit),
        "" if item.resolved else "not resolved",
    )


def _sigma(sigma: float) -> str:
    """One standard deviation of a logarithm: in per cent, or as a factor where large."""
    if sigma < 0.25:
        return f"±{percent_text(sigma, decimals=1)}"
    return f"×÷ {significant(float(np.exp(sigma)))}"


def value_text(value: float, unit: Unit) -> str:
    """Value with three figures and its unit."""
    return f"{significant(value * unit.factor)} {unit.symbol}"


def span_text(ends: Sequence[float] | Floats, unit: Unit) -> str:
    """Ends of a range with three figures, without the unit."""
    low, high = (significant(float(end) * unit.factor) for end in ends)
    return f"{low} to {high}"
