"""What is under the feet at each place, and what is permissible there."""

from dataclasses import dataclass

from ..anisotropy import isotropic
from ..limits import Exposure, LimitSet, Standing, feet_resistance
from ..model import Floats, Soil
from .findings import GroundLimit

# A foot is 0.16 m wide: a top layer of the soil model that is thicker than this is all it sees.
THIN_TOP = 0.5
THINNEST_TOP = 0.05


@dataclass(frozen=True)
class SurfaceLayer:
    """Thin layer that counts in limits only, where it lies."""

    name: str  # the user's own name
    outline: Floats  # (n, 2): outline of the area it covers [m]
    resistivity: float  # when wet, > 0 [Ω·m]
    thickness: float  # > 0 [m]


@dataclass(frozen=True)
class UnderFeet:
    """What is held to lie under the feet where no surface layer does."""

    soil: Soil  # its top decides
    words: str  # where that comes from


@dataclass(frozen=True)
class Ground:
    """Native soil with surface layers on parts of it."""

    soil: Soil  # what feet stand on: that of the field model, or one that conducts better
    # What lies on it; where two overlap, the lower limit of them counts.
    layers: tuple[SurfaceLayer, ...] = ()

    @property
    def names(self) -> tuple[str, ...]:
        """What a foot can stand on: the native soil, then each layer."""
        return ("native soil", *(layer.name for layer in self.layers))

    @property
    def standings(self) -> tuple[Standing, ...]:
        """The same as limits take it.

        Notes
        -----
        A top layer of the soil model that is thin counts as a surface layer when it is the
        poorer conductor, and as all the soil when it is the better one: either way the feet
        are given no more resistance than they have. Thinner than 0.05 m it is left out. A
        surface layer that conducts better than what lies below counts as all the soil, too.
        """
        # A disc on bedded ground spreads current as on the isotropic twin of it.
        soil = isotropic(self.soil)
        resistivity, thickness = soil.resistivity, soil.thickness
        top = resistivity[0]
        native, beneath = Standing(top), top
        if thickness and thickness[0] <= THIN_TOP and resistivity[1] < top:
            beneath = resistivity[1]
            native = Standing(beneath)
            if thickness[0] >= THINNEST_TOP:
                native = Standing(beneath, top, thickness[0])
        on_layers = (
            Standing(beneath, layer.resistivity, layer.thickness)
            if layer.resistivity >= beneath
            else Standing(layer.resistivity)
            for layer in self.layers
        )
        return (native, *on_layers)

    def limits(
        self, limit_set: LimitSet, *, exposure: Exposure, duration: float
    ) -> tuple[GroundLimit, ...]:
        """What is permissible on the native soil and on each layer, or `CaseError`."""
        outlines = (None, *(layer.outline for layer in self.layers))
        return tuple(
            GroundLimit(
                name,
                outline,
                limit_set.permissible(exposure, duration=duration, standing=standing),
                standing.top_resistivity,
            )
            for name, outline, standing in zip(
                self.names, outlines, self.standings, strict=True
            )
        )


def native_feet(soil: Soil) -> float:
    """Resistance of two feet side by side on the top of a soil. [Ω]"""
    return feet_resistance("touch", standing=Ground(soil).standings[0])
