"""The words of a sounding: readings, models with their ranges, what to mind."""

from collections.abc import Sequence
from textwrap import fill

import numpy as np

from .solver.model import Soil
from .solver.soundings import SoilModel, Sounding, Survey
from .solver.soundings.findings import UNIFORM_SPREAD
from .viz.sounding_contents import layers_text, misfit_text, soil_text
from .viz.wording import Unit, length_unit, scaled_unit, significant

_width = 92
sounding_cautions = (
    "For a qualified engineer to check; it does not replace the local codes in force, the "
    "authority or licensed practice.",
    "Layers are a model of the readings of one day: soil dries, freezes and gets salted. Carry "
    "the worst season as a variant.",
    "Do not go by the layers below the depth that the survey reached, about its longest "
    "spacing, nor beside the traverses where the ground changes.",
    "A good fit does not make the model the ground: buried metal, slopes and wrong readings "
    "fit too. Never put the mean of the readings in place of layers.",
    "Models that fit as well may give other voltages: carry them as variants "
    "(soil.survey.equivalents) and judge by the worst.",
)
_arrays = ("with pins at equal distances", "with other pins", "of a driven rod")


def sounding_text(sounding: Sounding, *, title: str, units: str) -> str:
    """A sounding as lines of text: readings, table of models, equivalents, what to mind.

    Parameters
    ----------
    sounding : Sounding
        Survey and soils.
    title : str
        Heading.
    units : {"SI", "US"}
        Lengths in metres or feet.
    """
    blocks = [
        [title, "=" * len(title)],
        _readings(sounding.survey, units),
        _models(sounding),
        _parameters(sounding, units),
        _equivalents(sounding.equivalents, units),
        _listed("Mind in this survey", sounding.warnings),
        _listed("Mind", sounding_cautions),
    ]
    return "\n\n".join("\n".join(block) for block in blocks if block)


def survey_lines(sounding: Sounding | None, *, units: str) -> list[str]:
    """A sounding in short: where the layers come from, their ranges, what to mind.

    Parameters
    ----------
    sounding : Sounding or None
        Survey and soils; nothing is said of none.
    units : {"SI", "US"}
        Lengths in metres or feet.
    """
    if sounding is None:
        return []
    heading = "Soil, fitted to a survey (in brackets: what fits as well, 95%)"
    return [heading, *(f"  {line}" for line in _in_short(sounding, units=units))]


def _in_short(sounding: Sounding, *, units: str) -> list[str]:
    survey, chosen = sounding.survey, sounding.chosen
    source = f" of {sounding.file}" if sounding.file else ""
    lines = fill(
        f"{_number(len(survey), 'reading')} on {_number(len(survey.traverses), 'traverse')}"
        f"{source}: {layers_text(chosen.layers)} ({choice_text(sounding)}), misfit "
        f"{misfit_text(chosen)}",
        _width,
    ).splitlines()
    lines += _layer_lines(chosen, units=units)
    if sounding.equivalents:
        count = _number(len(sounding.equivalents), "model")
        lines.append(f"{count} that fit as well solved beside it, as variants")
    mind = [
        fill(f"! {line}", _width, subsequent_indent="  ", break_on_hyphens=False)
        for line in sounding.warnings
    ]
    return lines + [line for text in mind for line in text.splitlines()]


def choice_text(sounding: Sounding) -> str:
    """How the number of layers came about."""
    if not sounding.asked:
        return "as many as the readings support"
    if sounding.layers == sounding.supported:
        return "as asked, and as the readings support"
    return f"as asked; the readings support {layers_text(sounding.supported)}"


def _layer_lines(model: SoilModel, *, units: str) -> list[str]:
    """Layers with the range of each value among the models that fit as well."""
    metres = length_unit(units)
    top, lines = 0.0, []
    for k, rho in enumerate(model.soil.resistivity):
        unit = scaled_unit(rho, symbol="Ω·m")
        spread = _span(model.resistivity_envelope[k], unit)
        if not model.resistivity_resolved[k]:
            spread += ", not resolved"
        line = f"  {k + 1}: {_value(rho, unit)} ({spread})"
        if k < model.layers - 1:
            top += model.soil.thickness[k]
            spread = _span(model.depth_envelope[k], metres)
            if not model.thickness_resolved[k]:
                spread += ", not resolved"
            line += f" down to {_value(top, metres)} ({spread})"
        lines.append(line)
    return lines


def _readings(survey: Survey, units: str) -> list[str]:
    """Traverses with their extent and what was noted."""
    metres = length_unit(units)
    lines = [_number(len(survey), "reading")]
    width = max(len(name) for name in survey.names)
    for number, traverse in enumerate(survey.traverses):
        for array, words in enumerate(_arrays):
            mine = (survey.traverse == number) & (survey.array == array)
            if not mine.any():
                continue
            spacing = survey.spacing[mine]
            extent = _span((spacing.min(), spacing.max()), metres)
            told = [traverse.direction, traverse.date, traverse.note]
            parts = [f"{mine.sum()} {words}, {extent} {metres.symbol}", *filter(None, told)]
            lines.append(f"  {traverse.name:<{width}}  {'; '.join(parts)}")
    values = survey.apparent_resistivity
    longest = _value(float(survey.spacing.max()), metres)
    lines += [
        f"  Apparent resistivity {significant(values.min())} to {significant(values.max())} "
        f"Ω·m, a spread of {values.max() / values.min() - 1:.0%}",
        f"  Longest spacing {longest}: for electrodes whose diagonal is no longer",
    ]
    return lines


def _models(sounding: Sounding) -> list[str]:
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
            marks.append(f"not to be defended, the readings spread by {spread:.0%}")
        rows.append(
            (
                "uniform" if model.layers == 1 else str(model.layers),
                f"{model.misfit_of_others:.1%}",
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
    return "<0.1%" if chance < 1e-3 else f"{chance:.1%}"


def _parameters(sounding: Sounding, units: str) -> list[str]:
    """Table of all parameters with one standard deviation and ranges."""
    rows: list[tuple[str, ...]] = [
        ("", "best", "1 sigma", "95%, linear", "fits as well, 95%", "")
    ]
    for model in sounding.models:
        chosen = " (chosen)" if model.layers == sounding.layers else ""
        rows.append((f"{layers_text(model.layers)}{chosen}", "", "", "", "", ""))
        rows += _rows(model, units=units)
    return [
        "Parameters, layers from the top",
        *("  " + line for line in aligned(rows, right=5)),
    ]


def _rows(model: SoilModel, *, units: str) -> list[tuple[str, ...]]:
    rows: list[tuple[str, ...]] = []
    metres = length_unit(units)
    for k, rho in enumerate(model.soil.resistivity):
        rows.append(
            _row(
                f"  resistivity {k + 1}",
                rho,
                unit=scaled_unit(rho, symbol="Ω·m"),
                sigma=model.resistivity_deviation[k],
                linear=model.resistivity_range[k],
                alike=model.resistivity_envelope[k],
                resolved=bool(model.resistivity_resolved[k]),
            )
        )
        if k < model.layers - 1:
            rows.append(
                _row(
                    f"  thickness {k + 1}",
                    model.soil.thickness[k],
                    unit=metres,
                    sigma=model.thickness_deviation[k],
                    linear=model.thickness_range[k],
                    alike=model.thickness_envelope[k],
                    resolved=bool(model.thickness_resolved[k]),
                )
            )
    return rows


def _row(
    name: str,
    value: float,
    *,
    unit: Unit,
    sigma: float,
    linear: Sequence[float],
    alike: Sequence[float],
    resolved: bool,
) -> tuple[str, ...]:
    known = sigma < np.log(10)  # beyond, the linear range is no information
    return (
        name,
        _value(value, unit),
        _sigma(sigma) if known else "any",
        _span(linear, unit) if known else "any",
        _span(alike, unit),
        "" if resolved else "not resolved",
    )


def _sigma(sigma: float) -> str:
    """One standard deviation of a logarithm: in per cent, or as a factor where large."""
    return f"±{sigma:.1%}" if sigma < 0.25 else f"×÷ {significant(float(np.exp(sigma)))}"


def _equivalents(soils: Sequence[Soil], units: str) -> list[str]:
    lines = [f"  {k}: {soil_text(soil, units=units)}" for k, soil in enumerate(soils, start=1)]
    return ["Models that fit as well as the chosen one", *lines] if lines else []


def _listed(heading: str, items: Sequence[str]) -> list[str]:
    if not items:
        return []
    return [
        heading,
        *(
            fill(f"- {item}", _width, subsequent_indent="  ", break_on_hyphens=False)
            for item in items
        ),
    ]


def _value(value: float, unit: Unit) -> str:
    return f"{significant(value * unit.factor)} {unit.symbol}"


def _span(ends: Sequence[float], unit: Unit) -> str:
    low, high = (significant(float(end) * unit.factor) for end in ends)
    return f"{low} to {high}"


def _number(count: int, noun: str) -> str:
    return f"{count} {noun}{'s' * (count != 1)}"


def aligned(rows: Sequence[Sequence[str]], *, right: int) -> list[str]:
    """Rows in columns; the first is set left, and `right` more to the right."""
    widths = [max(map(len, column)) for column in zip(*rows, strict=True)]
    lines = []
    for row in rows:
        cells = [
            cell.rjust(width) if 0 < k <= right else cell.ljust(width)
            for k, (cell, width) in enumerate(zip(row, widths, strict=True))
        ]
        lines.append("  ".join(cells).rstrip())
    return lines
