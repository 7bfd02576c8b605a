"""Soil that is a survey: its readings, what was asked of them, and the layers once fitted."""

import hashlib
import json
from collections.abc import Iterable
from dataclasses import dataclass, fields, is_dataclass, replace
from importlib.metadata import version
from math import inf

import numpy as np

from ...solver.bodies import Body
from ...solver.errors import CaseError
from ...solver.model import Conductors, Soil
from ...solver.soil_survey import Sounding, Survey, fit_survey, most_layers_fitted
from ...solver.soil_survey.findings import fit_findings
from ...solver.soil_survey.layer_fit import LayerFit
from ...solver.soil_survey.sounding import SoilModel
from ...solver.soil_survey.survey_fit import SurveyFit
from ...solver.wording import layers_text, percent_text
from ..reading.size_limits import LARGEST_CONTRAST
from .readings import SurveyReadings

_usual_layers = 4  # tried even where fewer are asked for, to say how many are supported
_about_readings = ("short survey", "traverses differ")


@dataclass(frozen=True)
class SurveyedSoil:
    """A survey with what is asked of it; its layers come with the fit, which is a step apart.

    Raises
    ------
    CaseError
        If there are too few readings for so many layers.
    """

    readings: SurveyReadings  # the survey as it came in, with what looks like a slip in it
    # Number of layers asked for; None for as many as the readings support.
    asked: int | None = None
    robust: bool = False  # whether readings off the curve count less
    equivalents_asked: int = 0  # how many equivalent models were asked for
    # Longest distance across the electrode that the soil is for [m]
    electrode_diagonal: float | None = None
    sounding: Sounding | None = None  # the fit; None until it is made or taken from a result
    bodies: tuple[Body, ...] = ()  # what stands in the layers; no reading is held to see it

    def __post_init__(self) -> None:
        most = most_layers_fitted(self.survey, most_layers=self._most_layers)
        if self.asked is not None and self.asked > most:
            msg = (
                f"{self.asked} layers need more different spacings than the survey has; it can "
                f"be fitted with 1 to {most}"
            )
            raise CaseError(msg)

    @property
    def _most_layers(self) -> int:
        return max(_usual_layers, self.asked or 0)

    @property
    def survey(self) -> Survey:
        """The readings as the solver takes them."""
        return self.readings.survey

    @property
    def found(self) -> Sounding:
        """The fit; `CaseError` if it has not been made."""
        if self.sounding is None:
            msg = "the layers of this survey are not fitted yet; fit them first (fit_soil)"
            raise CaseError(msg)
        return self.sounding

    @property
    def chosen(self) -> SoilModel:
        """The model with the chosen number of layers."""
        return self.found.chosen

    @property
    def soil(self) -> Soil:
        """Best layers of the chosen fit, with the bodies of the case in them."""
        return replace(self.chosen.soil, bodies=self.bodies)

    @property
    def equivalents(self) -> tuple[Soil, ...]:
        """Layers that fit within the noise, as different as may be, without the best ones.

        At most as many as were asked for; those that are beyond the contrast a case may have
        are left out.
        """
        return tuple(replace(soil, bodies=self.bodies) for soil in self.found.equivalents)

    @property
    def warnings(self) -> tuple[str, ...]:
        """All there is to mind, in one line each: slips, findings, the choice of layers."""
        return self.found.warnings

    @property
    def key(self) -> str:
        """Hash of all that decides the fit: readings, options, version of the program."""
        asked = (self.asked, self.robust, self.equivalents_asked, self.electrode_diagonal)
        digest = hashlib.sha256(json.dumps([version("ohmscape"), *asked]).encode())
        _feed(digest, self.readings)
        return digest.hexdigest()

    def fitted(self, *, kept: Iterable[Sounding] = ()) -> "SurveyedSoil":
        """The same with its layers: from a fit that was kept, or fitted now.

        A kept fit of the same readings, options and version is taken. `CaseError` if the
        layers differ by more than a case may hold.
        """
        if self.sounding is not None:
            return self
        key = self.key
        sounding = next((item for item in kept if item.key == key), None)
        found = replace(self, sounding=sounding or self._fit(key))
        if contrast(found.soil) > LARGEST_CONTRAST:
            with_bodies = " and the bodies in them" if self.bodies else ""
            msg = (
                f"the {found.chosen.layers} fitted layers{with_bodies} differ by "
                f"{contrast(found.soil):.3g} to 1, at most {LARGEST_CONTRAST:g} to 1 can be "
                "computed: their resistivities are hardly resolved; ask for fewer layers"
            )
            raise CaseError(msg)
        return found

    def _fit(self, key: str) -> Sounding:
        fit = fit_survey(
            self.survey,
            most_layers=self._most_layers,
            robust=self.robust,
            electrode_diagonal=self.electrode_diagonal,
        )
        layers = self.asked or fit.supported
        chosen = fit.with_layers(layers)
        alike = chosen.equivalents(self.equivalents_asked)
        return Sounding.of(
            fit,
            layers=layers,
            asked=self.asked is not None,
            equivalents=tuple(soil for soil in alike if contrast(soil) <= LARGEST_CONTRAST),
            warnings=(*self.readings.warnings, *_findings(fit, chosen), *_choice(fit, layers)),
            file=self.readings.file,
            sha256=self.readings.sha256,
            key=key,
        )


def surveyed_soil(
    readings: SurveyReadings,
    *,
    layers: int | None = None,
    robust: bool = False,
    equivalents: int = 0,
    electrode_diagonal: float | None = None,
) -> SurveyedSoil:
    """Layers fitted to readings; as many as these support where `layers` is left out.

    `robust` makes readings off the curve count less; `equivalents` is how many equivalent
    models to keep; the diagonal is of the electrode that the soil is for. `CaseError` if
    there are too few readings for so many layers, or the layers differ by more than a case
    may hold.
    """
    return SurveyedSoil(readings, layers, robust, equivalents, electrode_diagonal).fitted()


def contrast(soil: Soil) -> float:
    """Highest over lowest resistivity of layers and bodies, voids aside."""
    bodies = [body.resistivity for body in soil.bodies if not body.void]
    return max(*soil.resistivity, *bodies, 0.0) / min(*soil.resistivity, *bodies, inf)


def longest_extent(conductors: Conductors) -> float:
    """Diagonal of the box round the largest electrode. [m]"""
    found = 0.0
    for group in range(len(conductors.group_names)):
        mine = conductors.group == group
        ends = np.vstack([conductors.start[mine], conductors.end[mine]])
        found = max(found, float(np.linalg.norm(np.ptp(ends, axis=0))))
    return found


def _findings(fit: SurveyFit, chosen: LayerFit) -> list[str]:
    """What to mind about the readings and the chosen fit."""
    uniform = len(chosen.resistivity) == 1
    about = [
        item
        for item in fit.findings
        if item.kind in _about_readings or (item.kind == "not uniform" and uniform)
    ]
    return [item.message for item in (*about, *fit_findings(chosen, survey=fit.survey))]


def _choice(fit: SurveyFit, layers: int) -> list[str]:
    """That more or fewer layers were asked for than the readings support."""
    if layers == fit.supported:
        return []
    chosen = fit.with_layers(layers)
    which = "more" if layers > fit.supported else "fewer"
    return [
        f"{layers_text(layers)} asked for, {which} than the {fit.supported} that the readings "
        f"support (misfit {percent_text(chosen.misfit_of_others, decimals=1)} against "
        f"{percent_text(fit.best.misfit_of_others, decimals=1)}, outliers left aside)"
    ]


def _feed(digest: "hashlib._Hash", value: object) -> None:
    """Take a tree of dataclasses, arrays and plain values into a hash."""
    if is_dataclass(value):
        for item in fields(value):
            digest.update(item.name.encode())
            _feed(digest, getattr(value, item.name))
    elif isinstance(value, np.ndarray):
        digest.update(f"{value.dtype}{value.shape}".encode())
        digest.update(np.ascontiguousarray(value).tobytes())
    elif isinstance(value, tuple):
        digest.update(f"{len(value)}".encode())
        for each in value:
            _feed(digest, each)
    else:
        digest.update(repr(value).encode())
