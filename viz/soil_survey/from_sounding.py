"""From a sounding to what its picture shows."""

from functools import partial

import numpy as np

from ...solver.model import Flags, Floats, Soil
from ...solver.soil_survey import SoilModel, Sounding
from ...solver.wording import layers_text, number_text, percent_text
from ..wording import length_unit, significant, with_unit
from ..words.layers import made_of_layer
from .contents import LayerRange, SoundingPicture
from .curves import curve_of


def sounding_picture(sounding: Sounding, *, title: str, units: str) -> SoundingPicture:
    """What the picture of a sounding shows.

    Parameters
    ----------
    units : {"SI", "US"}
        Lengths in metres or feet.
    """
    survey, chosen = sounding.survey, sounding.chosen
    # The chosen model first, so that its line is drawn bold.
    order = [chosen, *(model for model in sounding.models if model is not chosen)]
    return SoundingPicture(
        title=title,
        subtitle=_subtitle(sounding, units=units),
        units=units,
        names=survey.names,
        spacing=survey.spacing,
        apparent_resistivity=survey.apparent_resistivity,
        residual=-chosen.residual,
        traverse=survey.traverse,
        driven_rod=survey.is_driven_rod,
        outlier=chosen.outlier,
        curves=[
            curve_of(survey, soil=model.soil, name=_curve_name(model, sounding))
            for model in order
        ],
        soil=chosen.soil,
        resistivity_range=_ranges(chosen.resistivity_envelope, chosen.resistivity_resolved),
        depth_range=_ranges(chosen.depth_envelope, _planes_resolved(chosen)),
        equivalents=sounding.equivalents,
    )


def misfit_text(model: SoilModel) -> str:
    """Misfit in words, with and without outliers."""
    whole = percent_text(model.misfit, decimals=1)
    count = int(model.outlier.sum())
    if not count:
        return whole
    others = percent_text(model.misfit_of_others, decimals=1)
    return f"{others} ({whole} with {number_text(count, 'outlier')})"


def soil_text(soil: Soil, *, units: str) -> str:
    """Layers in one line: 209 Ω·m, 2.34 m thick, over 66.3 Ω·m."""
    unit = length_unit(units)
    layer = partial(made_of_layer, words=partial(with_unit, symbol="Ω·m"))
    upper = [
        f"{layer(soil, number)}, {significant(h * unit.factor)} {unit.symbol} thick"
        for number, h in enumerate(soil.thickness)
    ]
    return ", over ".join([*upper, layer(soil, len(soil.thickness))])


def _subtitle(sounding: Sounding, *, units: str) -> str:
    chosen = sounding.chosen
    count = number_text(len(sounding.survey), "reading")
    return (
        f"{layers_text(chosen.layers).capitalize()} fitted to {count}, misfit "
        f"{misfit_text(chosen)}"
    )


def _curve_name(model: SoilModel, sounding: Sounding) -> str:
    parts = [percent_text(model.misfit_of_others, decimals=1)]
    if model.layers == sounding.layers:
        parts.append("chosen")
    if model.layers == sounding.supported:
        parts.append("supported")
    return f"{layers_text(model.layers)} ({', '.join(parts)})"


def _ranges(values: Floats, resolved: Flags) -> tuple[LayerRange, ...]:
    return tuple(
        LayerRange(float(low), float(high), bool(known))
        for (low, high), known in zip(values, resolved, strict=True)
    )


def _planes_resolved(model: SoilModel) -> Flags:
    """Whether all thicknesses down to each plane are resolved."""
    return np.logical_and.accumulate(model.thickness_resolved)
