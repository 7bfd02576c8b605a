"""A whole survey on many layered soils at once."""

from dataclasses import dataclass, replace
from typing import Self

import numpy as np

from ..model import Floats, Integers
from .four_pin_model import FourPinModel
from .layers import SoilBatch
from .readings import Survey
from .rod_model import RodModel

# Next to no apparent resistivity: what stands in its place where an odd layout reads the
# other sign than on uniform soil, so that its logarithm exists and the fit turns away.
_least_ratio = 1e-9


@dataclass(frozen=True)
class SurveyModel:
    """The layouts of a survey prepared once, to be evaluated on many soils.

    A layout that several traverses share is evaluated once.

    Rods are evenly fed here, which is quick, and corrected by a factor for each rod that
    brings them to one potential. The factor hardly depends on the soil and is renewed at
    the soils that matter (`corrected_at`).
    """

    four_pin: FourPinModel | None  # four-pin layouts, each once
    rods: RodModel | None  # driven rods, each once, evenly fed and at one potential
    exact_rods: RodModel | None
    # (number of rods,): resistance at one potential over resistance evenly fed
    correction: Floats
    uniform: Floats  # (number of layouts,): resistance over resistivity in uniform soil [1/m]
    layout: Integers  # (n,): which layout each reading has

    @classmethod
    def of(cls, survey: Survey) -> Self:
        """Model of all readings, in their order."""
        # Driven rods come last in the order of the survey, and of the sorted layouts.
        _, first, layout = np.unique(
            survey.layouts, axis=0, return_index=True, return_inverse=True
        )
        once = _readings(survey, first)
        four_pin, rods = once.four_pin, once.driven_rod
        model = cls(
            four_pin=None
            if four_pin is None
            else FourPinModel.of(four_pin.pins, pin_depth=four_pin.pin_depth),
            rods=None
            if rods is None
            else RodModel.of(rods.driven_length, radius=rods.radius, steps=1, rough=True),
            exact_rods=None
            if rods is None
            else RodModel.of(rods.driven_length, radius=rods.radius),
            correction=np.ones(len(rods) if rods else 0),
            uniform=once.resistance / once.apparent_resistivity,
            layout=layout.reshape(-1),
        )
        return model.corrected_at(np.zeros(1))

    def corrected_at(self, logarithms: Floats) -> Self:
        """The model with rods exact at one soil, ln of resistivities and thicknesses."""
        if self.rods is None or self.exact_rods is None:
            return self
        soil = SoilBatch.from_logarithms(logarithms[None, :])
        exact, even = self.exact_rods.resistance(soil)[0], self.rods.resistance(soil)[0]
        return replace(self, correction=exact / even)

    def log_resistivity(self, table: Floats) -> Floats:
        """Logarithm of the apparent resistivity of each reading on each soil, shape (m, n).

        The table has one soil a row: ln(resistivity) of each layer, then ln(thickness).
        """
        soils = SoilBatch.from_logarithms(table)
        parts = []
        if self.four_pin is not None:
            parts.append(self.four_pin.resistance(soils))
        if self.rods is not None:
            parts.append(self.rods.resistance(soils) * self.correction)
        apparent = np.hstack(parts) / self.uniform
        scale = soils.resistivity.min(axis=1, keepdims=True)
        return np.log(np.maximum(apparent, _least_ratio * scale))[:, self.layout]


def _readings(survey: Survey, first: Integers) -> Survey:
    """The readings with the given indices, in that order; four-pin ones come first."""
    four = int((~survey.is_driven_rod).sum())
    pins, rods = first[first < four], first[first >= four] - four
    return replace(
        survey,
        four_pin=survey.four_pin.subset(pins) if survey.four_pin else None,
        driven_rod=survey.driven_rod.subset(rods) if survey.driven_rod else None,
    )
