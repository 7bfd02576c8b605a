"""Soil fitted to a survey: the layers a case computes with, and what is known of them."""

from dataclasses import dataclass
from functools import cached_property
from pathlib import Path

import numpy as np

from ...solver.errors import CaseError
from ...solver.model import Conductors, Soil
from ...solver.soil_survey import Finding, LayerFit, Sounding, Survey, SurveyFit, fit_survey
from ...solver.soil_survey.findings import fit_findings
from ...solver.wording import percent_text
from ..reading.documents import Document, Step
from ..reading.size_limits import LARGEST_CONTRAST
from . import schema_soil
from .readings import SurveyReadings, survey_readings

_usual_layers = 4  # tried even where fewer are asked for, to say how many are supported
_about_readings = ("short survey", "traverses differ")


@dataclass(frozen=True)
class SurveyedSoil:
    """Layers fitted to a survey, and how they came about.

    Attributes
    ----------
    readings : SurveyReadings
        The survey as it came in, with what looks like a slip in it.
    fit : SurveyFit
        Fits with one, two and more layers.
    layers : int
        Number of layers chosen.
    asked : int or None
        Number of layers asked for; None for as many as the readings support.
    equivalents_asked : int
        How many equivalent models were asked for.
    """

    readings: SurveyReadings
    fit: SurveyFit
    layers: int
    asked: int | None
    equivalents_asked: int = 0

    @property
    def survey(self) -> Survey:
        """The readings."""
        return self.fit.survey

    @property
    def chosen(self) -> LayerFit:
        """The fit with the chosen number of layers."""
        return self.fit.with_layers(self.layers)

    @property
    def soil(self) -> Soil:
        """Best layers of the chosen fit."""
        return self.chosen.soil

    @property
    def equivalents(self) -> tuple[Soil, ...]:
        """Soils that fit within the noise, as different as may be, without the best one.

        At most as many as were asked for; those that are beyond the contrast a case may have
        are left out.
        """
        found = self.chosen.equivalents(self.equivalents_asked)
        return tuple(soil for soil in found if contrast(soil) <= LARGEST_CONTRAST)

    @property
    def findings(self) -> tuple[Finding, ...]:
        """What to mind about the readings and the chosen fit."""
        about = [
            item
            for item in self.fit.findings
            if item.kind in _about_readings or (item.kind == "not uniform" and self.layers == 1)
        ]
        return (*about, *fit_findings(self.chosen, survey=self.survey))

    @property
    def warnings(self) -> tuple[str, ...]:
        """All there is to mind, in one line each: slips, findings, the choice of layers."""
        return (
            *self.readings.warnings,
            *(item.message for item in self.findings),
            *self._about_choice(),
        )

    @cached_property
    def sounding(self) -> Sounding:
        """All of this as numbers and words, for results and pictures."""
        return Sounding.of(
            self.fit,
            layers=self.layers,
            asked=self.asked is not None,
            equivalents=self.equivalents,
            warnings=self.warnings,
            file=self.readings.file,
            sha256=self.readings.sha256,
        )

    def _about_choice(self) -> list[str]:
        supported = self.fit.supported
        if self.layers == supported:
            return []
        which = "more" if self.layers > supported else "fewer"
        return [
            f"{_layers(self.layers)} asked for, {which} than the {supported} that the readings "
            f"support (misfit {percent_text(self.chosen.misfit_of_others, decimals=1)} against "
            f"{percent_text(self.fit.best.misfit_of_others, decimals=1)}, outliers left aside)"
        ]


def soil_of(
    given: schema_soil.Soil,
    *,
    conductors: Conductors,
    document: Document,
    folder: Path | None,
    path: tuple[Step, ...] = ("soil",),
) -> tuple[Soil, SurveyedSoil | None]:
    """Layers of a soil block: as given, or fitted to its survey.

    Parameters
    ----------
    conductors : Conductors
        Metal of the case, whose extent the survey is held against.
    document : Document
        Document of the case, for lines and places.
    folder : Path or None
        Folder of the case file, for the table of a survey.
    path : tuple of str and int
        Path of the block in the document.

    Returns
    -------
    survey : SurveyedSoil or None
        None for layers that were given.

    Raises
    ------
    CaseError
        If the survey is wrong, or cannot give the layers asked for.
    """
    if given.layers is not None:
        return _stack(given.layers), None
    assert given.survey is not None
    here = (*path, "survey")
    readings = survey_readings(given.survey, document=document, folder=folder, path=here)
    asked = given.survey.layers if isinstance(given.survey.layers, int) else None
    try:
        surveyed = surveyed_soil(
            readings,
            layers=asked,
            robust=given.survey.robust,
            equivalents=given.survey.equivalents or 0,
            electrode_diagonal=longest_extent(conductors),
        )
    except CaseError as error:
        found = [document.problem(p.message, path=(*here, "layers")) for p in error.problems]
        raise CaseError(found) from error
    return surveyed.soil, surveyed


def surveyed_soil(
    readings: SurveyReadings,
    *,
    layers: int | None = None,
    robust: bool = False,
    equivalents: int = 0,
    electrode_diagonal: float | None = None,
) -> SurveyedSoil:
    """Layers fitted to readings.

    Parameters
    ----------
    layers : int, optional
        Number of layers; left out, as many as the readings support.
    robust : bool
        Whether readings off the curve count less.
    equivalents : int
        How many equivalent models to keep.
    electrode_diagonal : float, optional
        Longest distance across the electrode that the soil is for. [m]

    Raises
    ------
    CaseError
        If there are too few readings for so many layers, or the layers differ by more than a
        case may hold.
    """
    fit = fit_survey(
        readings.survey,
        most_layers=max(_usual_layers, layers or 0),
        robust=robust,
        electrode_diagonal=electrode_diagonal,
    )
    if layers is not None and layers > len(fit.fits):
        msg = (
            f"{layers} layers need more different spacings than the survey has; it can be "
            f"fitted with 1 to {len(fit.fits)}"
        )
        raise CaseError(msg)
    found = SurveyedSoil(readings, fit, layers or fit.supported, layers, equivalents)
    if contrast(found.soil) > LARGEST_CONTRAST:
        msg = (
            f"the {found.layers} fitted layers differ by {contrast(found.soil):.3g} to 1, at "
            f"most {LARGEST_CONTRAST:g} to 1 can be computed: their resistivities are hardly "
            "resolved; ask for fewer layers"
        )
        raise CaseError(msg)
    return found


def contrast(soil: Soil) -> float:
    """Highest over lowest resistivity of the layers."""
    return max(soil.resistivity) / min(soil.resistivity)


def longest_extent(conductors: Conductors) -> float:
    """Diagonal of the box round the largest electrode. [m]"""
    found = 0.0
    for group in range(len(conductors.group_names)):
        mine = conductors.group == group
        ends = np.vstack([conductors.start[mine], conductors.end[mine]])
        found = max(found, float(np.linalg.norm(np.ptp(ends, axis=0))))
    return found


def _stack(layers: tuple[schema_soil.Layer, ...]) -> Soil:
    return Soil(
        resistivity=tuple(layer.resistivity for layer in layers),
        thickness=tuple(layer.thickness for layer in layers if layer.thickness is not None),
    )


def _layers(count: int) -> str:
    return "uniform soil" if count == 1 else f"{count} layers"
