"""What is judged: a field with its map, and how far off its voltages may be."""

from dataclasses import dataclass, replace

from ..exposure.places import TouchableMetal
from ..exposure.raster import Area
from ..exposure.surface import SurfaceMap
from ..solved_soil import Field


@dataclass(frozen=True)
class Scene:
    """What is judged: the field, its map, and how far off its voltages may be."""

    field: Field  # at the operating point
    surface: SurfaceMap  # its map
    area: Area  # what was mapped
    metals: tuple[TouchableMetal, ...]  # one for each row of `surface.touch`
    # Estimated numerical errors of a touch voltage, a step voltage and a rise [V]
    touch_error: float
    step_error: float
    rise_error: float
    # What any voltage may be too low by, as metal is not at one potential [V]
    drop: float = 0.0

    def times(self, factor: float) -> "Scene":
        """The same with all currents larger by a factor; nothing is solved."""
        surface = replace(
            self.surface,
            potential=factor * self.surface.potential,
            step=factor * self.surface.step,
            touch=factor * self.surface.touch,
        )
        return Scene(
            field=self.field.times(factor),
            surface=surface,
            area=self.area,
            metals=self.metals,
            touch_error=factor * self.touch_error,
            step_error=factor * self.step_error,
            rise_error=factor * self.rise_error,
            drop=factor * self.drop,
        )
