"""What a result keeps of a survey: readings, soils fitted to them, how sure they are."""

from dataclasses import dataclass, fields
from typing import Self

from ..model import Flags, Floats, Soil
from ..shown import Row, amount, as_html, as_text
from ..wording import percent_text, plain
from .layer_fit import LayerFit
from .readings import Survey
from .survey_fit import SurveyFit


@dataclass(frozen=True)
class SoilModel:
    """One fitted soil with its ranges, as numbers only. Layers count from the top.

    Attributes
    ----------
    soil : Soil
        Best layers.
    resistivity_deviation, thickness_deviation : ndarray of float, (layers,), (layers - 1,)
        One standard deviation of the natural logarithm; infinite where the readings say
        nothing.
    resistivity_range, thickness_range : ndarray of float, shape (…, 2)
        95 % ranges from the linear error analysis. [Ω·m], [m]
    resistivity_envelope, thickness_envelope, depth_envelope : ndarray of float, shape (…, 2)
        Lowest and highest value among all soils that fit within the noise, of the layers and
        of the depths of the planes between them. [Ω·m], [m]
    resistivity_resolved, thickness_resolved : ndarray of bool, (layers,), (layers - 1,)
        Whether the readings pin the value down.
    apparent_resistivity, residual : ndarray of float, shape (n,)
        What the soil gives for each reading [Ω·m]; ln of model over reading.
    outlier : ndarray of bool, shape (n,)
        Readings that do not fit with the others.
    misfit, misfit_of_others : float
        Root mean square of (model - reading) / reading; the same without outliers.
    criterion, chance : float
        Schwarz's criterion; probability that chance makes the fit so much better than the
        simpler one.
    starts, agreeing : int
        Number of starts of the search, and of those that came to the same misfit.
    """

    soil: Soil
    resistivity_deviation: Floats
    thickness_deviation: Floats
    resistivity_range: Floats
    thickness_range: Floats
    resistivity_envelope: Floats
    thickness_envelope: Floats
    depth_envelope: Floats
    resistivity_resolved: Flags
    thickness_resolved: Flags
    apparent_resistivity: Floats
    residual: Floats
    outlier: Flags
    misfit: float
    misfit_of_others: float
    criterion: float
    chance: float
    starts: int
    agreeing: int

    @classmethod
    def of(cls, fit: LayerFit) -> Self:
        """The numbers of a fit.

        Parameters
        ----------
        fit : LayerFit
            With its soils that fit alike, which are looked for here if they have not been.
        """
        return cls(*(getattr(fit, field.name) for field in fields(cls)))

    @property
    def layers(self) -> int:
        """Number of layers."""
        return len(self.soil.resistivity)


@dataclass(frozen=True, repr=False)
class Sounding:
    """A survey with the soils fitted to it, one of them chosen.

    Attributes
    ----------
    survey : Survey
        The readings.
    models : tuple of SoilModel
        By number of layers, from uniform soil to one layer more than is supported or chosen.
    supported, layers : int
        Number of layers that the readings support, and that was chosen.
    asked : bool
        Whether the number of layers was asked for, not left to the readings.
    robust : bool
        Whether readings off the curve counted less.
    residual : str
        What was squared and summed: log, relative or absolute.
    equivalents : tuple of Soil
        Some of the soils that fit as well as the chosen one, as different as may be.
    warnings : tuple of str
        Slips, findings and the choice of layers, each in one line.
    file, sha256 : str
        Table the readings are from; empty where they stood in the case file.
    key : str
        Hash of readings, options and version: a fit with the same key need not be made again.
    """

    survey: Survey
    models: tuple[SoilModel, ...]
    supported: int
    layers: int
    asked: bool
    robust: bool
    residual: str
    equivalents: tuple[Soil, ...]
    warnings: tuple[str, ...]
    file: str = ""
    sha256: str = ""
    key: str = ""

    @classmethod
    def of(
        cls,
        fit: SurveyFit,
        *,
        layers: int,
        asked: bool = False,
        equivalents: tuple[Soil, ...] = (),
        warnings: tuple[str, ...] = (),
        file: str = "",
        sha256: str = "",
        key: str = "",
    ) -> Self:
        """The sounding of a fitted survey.

        Raises
        ------
        CaseError
            If that number of layers was not fitted.
        """
        fit.with_layers(layers)
        # One beyond shows that no more are wanted; ranges of further ones are wide and slow.
        kept = max(fit.supported, layers) + 1
        return cls(
            survey=fit.survey,
            models=tuple(SoilModel.of(item) for item in fit.fits[:kept]),
            supported=fit.supported,
            layers=layers,
            asked=asked,
            robust=fit.robust,
            residual=fit.residual,
            equivalents=equivalents,
            warnings=warnings,
            file=file,
            sha256=sha256,
            key=key,
        )

    @property
    def chosen(self) -> SoilModel:
        """The model with the chosen number of layers."""
        return self.models[self.layers - 1]

    def _rows(self) -> list[Row]:
        """What it is about, in few words."""
        rows = [("readings", f"{len(self.survey)} on {', '.join(self.survey.names)}")]
        for model in self.models:
            layers = [amount(value, "Ω·m") for value in model.soil.resistivity]
            thick = [f"{plain(value)} m" for value in model.soil.thickness]
            stack = " over ".join(
                f"{layer} of {depth}" for layer, depth in zip(layers, thick, strict=False)
            )
            text = f"{stack} over {layers[-1]}" if thick else layers[0]
            chosen = " (chosen)" if model is self.chosen else ""
            rows.append(
                (
                    f"{model.layers} layers{chosen}" if thick else f"uniform{chosen}",
                    f"{text}, misfit {percent_text(model.misfit, decimals=1)}",
                )
            )
        rows += [("mind", warning) for warning in self.warnings]
        return rows

    def __repr__(self) -> str:
        return as_text("Sounding", self.file or self.survey.names[0], self._rows())

    def _repr_html_(self) -> str:
        return as_html("Sounding", self.file or self.survey.names[0], self._rows())
