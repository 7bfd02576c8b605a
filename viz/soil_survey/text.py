"""The words of a sounding: readings, models with their ranges, what to mind."""

from collections.abc import Sequence
from functools import partial

import numpy as np

from ...solver.model import Soil
from ...solver.results.result import Result
from ...solver.results.variants import comparison
from ...solver.soil_survey import SoilModel, Sounding, Survey
from ...solver.wording import layers_text, number_text, percent_text
from ..cautions import ABOUT_SOUNDINGS
from ..variants import quantity_text
from ..wording import length_unit, scaled_unit, significant
from ..words.lines import hanging, listed, page
from ..words.text import Text, Units, in_units
from .from_sounding import soil_text
from .text_tables import models_table, parameters_table, span_text, value_text

_arrays = ("with pins at equal distances", "with other pins", "of a driven rod")


def sounding_text(sounding: Sounding, *, title: str, units: str) -> str:
    """A sounding as lines of text: readings, table of models, equivalents, what to mind.

    Parameters
    ----------
    units : {"SI", "US"}
        Lengths in metres or feet.
    """
    blocks = [
        _readings(sounding.survey, units),
        models_table(sounding),
        parameters_table(sounding, units=units),
        _equivalents(sounding.equivalents, units),
        listed("Mind in this survey", sounding.warnings),
        listed("Mind", ABOUT_SOUNDINGS),
    ]
    return page(title, blocks)


def band_lines(results: Sequence[Result]) -> list[str]:
    """Band of each quantity over the best soil and those that fit the survey as well.

    Parameters
    ----------
    results : sequence of Result
        As `run_variants` gives them: the case, then its equivalent soils, then the rest.
    """
    sounding = results[0].sounding
    count = len(sounding.equivalents) if sounding else 0
    if not 0 < count < len(results):
        return []
    compared = comparison(results[: 1 + count])
    bands = []
    for quantity in compared.quantities:
        if np.isnan(quantity.values).all():
            continue
        low, high = int(np.nanargmin(quantity.values)), quantity.worst
        bands.append(
            f"{quantity.name} {quantity_text(quantity, low)} to {quantity_text(quantity, high)}"
        )
    words = (
        f"Over the best soil and the {number_text(count, 'soil')} that fit the survey as well: "
    )
    return hanging(words + "; ".join(bands))


def choice_text(sounding: Sounding) -> str:
    """How the number of layers came about."""
    if not sounding.asked:
        return "as many as the readings support"
    if sounding.layers == sounding.supported:
        return "as asked, and as the readings support"
    return f"as asked; the readings support {layers_text(sounding.supported)}"


def layer_texts(model: SoilModel) -> list[Text]:
    """Layers with the range of each value among the models that fit as well."""
    tops = np.cumsum([0.0, *model.soil.thickness])

    def text(k: int, units: Units) -> str:
        rho, metres = model.soil.resistivity[k], length_unit(units)
        unit = scaled_unit(rho, symbol="Ω·m")
        spread = span_text(model.resistivity_envelope[k], unit)
        if not model.resistivity_resolved[k]:
            spread += ", not resolved"
        line = f"{k + 1}: {value_text(rho, unit)} ({spread})"
        if k == model.layers - 1:
            return line
        spread = span_text(model.depth_envelope[k], metres)
        if not model.thickness_resolved[k]:
            spread += ", not resolved"
        return f"{line} down to {value_text(tops[k + 1], metres)} ({spread})"

    return [in_units(partial(text, k)) for k in range(model.layers)]


def _readings(survey: Survey, units: str) -> list[str]:
    """Traverses with their extent and what was noted."""
    metres = length_unit(units)
    lines = [number_text(len(survey), "reading")]
    width = max(len(name) for name in survey.names)
    for number, traverse in enumerate(survey.traverses):
        for array, words in enumerate(_arrays):
            mine = (survey.traverse == number) & (survey.array == array)
            if not mine.any():
                continue
            spacing = survey.spacing[mine]
            extent = span_text((spacing.min(), spacing.max()), metres)
            noted = [traverse.direction, traverse.date, traverse.note]
            parts = [f"{mine.sum()} {words}, {extent} {metres.symbol}", *filter(None, noted)]
            lines.append(f"  {traverse.name:<{width}}  {'; '.join(parts)}")
    values = survey.apparent_resistivity
    longest = value_text(float(survey.spacing.max()), metres)
    lines += [
        f"  Apparent resistivity {significant(values.min())} to {significant(values.max())} "
        f"Ω·m, a spread of {percent_text(values.max() / values.min() - 1)}",
        f"  Longest spacing {longest}: for electrodes whose diagonal is no longer",
    ]
    return lines


def _equivalents(soils: Sequence[Soil], units: str) -> list[str]:
    lines = [f"  {k}: {soil_text(soil, units=units)}" for k, soil in enumerate(soils, start=1)]
    return ["Models that fit as well as the chosen one", *lines] if lines else []
