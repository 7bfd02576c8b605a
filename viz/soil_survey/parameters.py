"""The parameters of a fitted soil in the order in which all who list them have them."""

from dataclasses import dataclass
from typing import Literal

from ...solver.model import Floats
from ...solver.soil_survey import SoilModel


@dataclass(frozen=True)
class Parameter:
    """Resistivity or thickness of one layer, with its ranges as `SoilModel` has them."""

    quantity: Literal["resistivity", "thickness"]
    layer: int  # from 1
    value: float
    deviation: float
    linear: Floats
    alike: Floats
    resolved: bool


def parameters(model: SoilModel) -> list[Parameter]:
    """Resistivity and thickness of each layer from the top, the last without a thickness."""
    soil, found = model.soil, []
    for k in range(model.layers):
        found.append(
            Parameter(
                "resistivity",
                k + 1,
                soil.resistivity[k],
                float(model.resistivity_deviation[k]),
                model.resistivity_range[k],
                model.resistivity_envelope[k],
                bool(model.resistivity_resolved[k]),
            )
        )
        if k < model.layers - 1:
            found.append(
                Parameter(
                    "thickness",
                    k + 1,
                    soil.thickness[k],
                    float(model.thickness_deviation[k]),
                    model.thickness_range[k],
                    model.thickness_envelope[k],
                    bool(model.thickness_resolved[k]),
                )
            )
    return found
