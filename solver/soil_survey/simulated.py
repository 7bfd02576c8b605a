"""What a soil survey reads over ground with bodies, and what its layers make of electrodes."""

from dataclasses import dataclass

import numpy as np

from ..model import Floats, Soil
from ..wording import layers_text, percent_text, plain
from .pin_geometry import half_space_coefficients
from .planned import PlannedTraverse
from .sounding import Sounding

# Resistances nearer than this are called the same: what layers, meshes and thin wires leave.
_alike = 0.02


@dataclass(frozen=True)
class LayeredAnswer:
    """Layers fitted to some of the readings, and the electrodes in them.

    Attributes
    ----------
    traverse : str
        Name of the traverse they are fitted to; empty for all readings together.
    sounding : Sounding
        The fit.
    resistance : ndarray of float, shape (g,)
        Of each electrode in these layers, other electrodes without net current. [Ω]
    """

    traverse: str
    sounding: Sounding
    resistance: Floats

    @property
    def about(self) -> str:
        """What it is fitted to, in words."""
        return f"traverse '{self.traverse}'" if self.traverse else "all traverses together"


@dataclass(frozen=True)
class SimulatedSurvey:
    """A planned survey as it would read, beside what it leads to.

    Attributes
    ----------
    traverses : tuple of PlannedTraverse
        The plan.
    soil : Soil
        The ground, with its bodies.
    resistances : tuple of ndarray of float, each of shape (middles, n)
        Voltage over current, by traverse. [Ω]
    field_error : float
        Largest difference of a reading to that on a coarser mesh, as a share of it.
    table : str
        The readings as the table of a survey.
    electrodes : tuple of str
        Names of the g electrodes of the case.
    true_resistance : ndarray of float, shape (g,)
        In the ground with its bodies, other electrodes without net current. [Ω]
    answers : tuple of LayeredAnswer
        By traverse, then all together where there are several.
    """

    traverses: tuple[PlannedTraverse, ...]
    soil: Soil
    resistances: tuple[Floats, ...]
    field_error: float
    table: str
    electrodes: tuple[str, ...]
    true_resistance: Floats
    answers: tuple[LayeredAnswer, ...]

    @property
    def apparent_resistivity(self) -> tuple[Floats, ...]:
        """Of uniform soil with the same readings, by traverse, each (middles, n). [Ω·m]"""
        return tuple(
            ohms / half_space_coefficients(each.pins, pin_depth=np.zeros(len(each.pins)))
            for each, ohms in zip(self.traverses, self.resistances, strict=True)
        )

    def errors(self, electrode: int) -> Floats:
        """Resistance of an electrode in the layers of each answer over the true one, less 1."""
        found = [answer.resistance[electrode] for answer in self.answers]
        return np.asarray(found) / float(self.true_resistance[electrode]) - 1.0

    @property
    def findings(self) -> tuple[str, ...]:
        """What the bodies do to this survey, in a line each."""
        found = [
            _of_answer(self, electrode, answer, float(error))
            for electrode in range(len(self.electrodes))
            for answer, error in zip(self.answers, self.errors(electrode), strict=True)
        ]
        for electrode, name in enumerate(self.electrodes):
            ohms = {
                answer.traverse: float(answer.resistance[electrode])
                for answer in self.answers
                if answer.traverse
            }
            if len(ohms) < 2:
                continue
            high, low = max(ohms, key=ohms.__getitem__), min(ohms, key=ohms.__getitem__)
            apart = percent_text(ohms[high] / ohms[low] - 1)
            most, least = (
                f"'{traverse}' leads to {plain(ohms[traverse], *ohms.values())} Ω"
                for traverse in (high, low)
            )
            found.append(f"for '{name}' the traverses differ by {apart}: {most}, {least}")
        return tuple(found)


def _of_answer(
    survey: SimulatedSurvey, electrode: int, answer: LayeredAnswer, error: float
) -> str:
    """What layers fitted to some readings make of an electrode, and whether the fit tells."""
    model, name = answer.sounding.chosen, survey.electrodes[electrode]
    true, ohms = float(survey.true_resistance[electrode]), float(answer.resistance[electrode])
    words = (
        f"{layers_text(model.layers)} fitted to {answer.about} give"
        f"{'s' * (model.layers == 1)} {plain(ohms, true)} Ω for '{name}', the ground as it is "
        f"{plain(true, ohms)} Ω: {percent_text(error, signed=True)}"
    )
    given = max(each.deviation for each in survey.traverses)
    misfit = model.misfit
    if abs(error) <= _alike:
        return words
    if misfit <= given:
        return (
            f"{words}; the misfit, {percent_text(misfit, decimals=1)}, is within the "
            f"{percent_text(given)} of a reading: nothing in the fit tells"
        )
    told = percent_text(misfit, decimals=1)
    return f"{words}; the misfit of {told} tells that layers are not all"
