r"""Layered soil as a short list of images of each source.

A wave :math:`C(\lambda) \, e^{-\lambda (\alpha z + \beta d + \gamma)}` with constant C is the
field of one image, by the integral of Weber and Lipschitz,

.. math:: \int_0^\infty J_0(\lambda r) \, e^{-\lambda c} \, d\lambda = 1 / \sqrt{r^2 + c^2}

In layers C varies, but smoothly and only over wavelengths of the layers. It is the sum of the
value for short waves, which is exact near the metal, and of decaying exponentials in λ with
fixed, evenly growing lengths; each of those is one more image, farther away. Their strengths
are a least-squares fit. Uniform soil needs the first kind only. Two layers have an exact series
of images (J. C. Maxwell, *A Treatise on Electricity and Magnetism*, 1873; G. F. Tagg, *Earth
Resistances*, 1964; both from memory), which the fit shortens from hundreds to some twenty of
each kind; the tests hold it against that series, and against the conditions at the planes.
"""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from ..anisotropy import isotropic
from ..errors import TrustError
from ..model import Floats, Soil, require_layers_alone
from .reflection import Wave, reflections, waves_down, waves_within

# Growth of the lengths of the exponentials: they fit any smooth decay to 1e-6 at 0.3, to 1e-5
# at 0.4, to 1e-4 at 0.5 (measured; the Mellin transform of exp(-x) says the same).
_step = 0.35
_samples_per_step = 4
_good = 1e-5  # error of the fit, relative to the largest amplitude or 1, at which it ends
_acceptable = 3e-4
_widening, _most_widenings = 4.0, 10
# A wave of no length is what far-away points see: the fit is made to hold it.
_weight_of_longest = 100.0
_negligible = 1e-9


@dataclass(frozen=True)
class Image:
    """Images of all sources of one layer as points of one layer see them."""

    strength: float  # potential times 4 π times distance, per current [Ω·m]
    # Height of the image: sign · z + shift, with z that of the source, up. [1], [m]
    sign: float
    shift: float
    # What its path is longer than the shortest of its wave [m]
    detour: float = 0.0


class LayeredImages:
    """Images for every pair of layers of a soil's isotropic twin, made when first asked for.

    Raises
    ------
    LayersOnlyError
        If the soil has bodies.
    TrustError
        If no fit is good enough, which takes a contrast far beyond that of any soil.
    """

    def __init__(self, soil: Soil) -> None:
        require_layers_alone(soil, method="thin conductors and their images")
        self.soil = isotropic(soil)
        self.fit_error = 0.0
        self._found: dict[tuple[int, int], tuple[Image, ...]] = {}

    def between(self, source: int, *, point: int) -> tuple[Image, ...]:
        """Images of sources in one layer for points in a layer; the nearest ones first."""
        if (source, point) not in self._found:
            upper, lower = min(source, point), max(source, point)
            images = tuple(self._images(upper, lower))
            self._found[upper, lower] = images
            # Reciprocity: source and point change places.
            self._found[lower, upper] = tuple(map(_reversed, images))
        return self._found[source, point]

    def _images(self, upper: int, lower: int) -> Iterator[Image]:
        rho = self.soil.resistivity[upper]
        if upper == lower:
            yield Image(rho, 1.0, 0.0)
        lengths, strengths, waves = self._fit(upper, lower)
        for wave, row in zip(waves, strengths, strict=True):
            for length, strength in zip(lengths, row, strict=True):
                if abs(strength) > _negligible:
                    sign = -float(wave.up_to_point * wave.up_to_source)
                    shift = wave.up_to_point * (wave.detour + float(length))
                    yield Image(rho * float(strength), sign, shift, float(length))

    def _fit(self, upper: int, lower: int) -> tuple[Floats, Floats, tuple[Wave, ...]]:
        """Lengths of the exponentials, the strengths (waves, lengths), and the waves."""
        short = self._waves(upper, lower, wavenumber=np.array([np.inf]))
        first = np.array([wave.amplitude for wave in short])
        if not self.soil.thickness:
            return np.zeros(1), first, short
        widest = 2.0 * sum(self.soil.thickness)
        best = np.inf
        for _ in range(_most_widenings):
            widest *= _widening
            lengths, wavenumber = self._lattices(widest)
            waves = self._waves(upper, lower, wavenumber=wavenumber)
            rest = np.array([wave.amplitude for wave in waves]) - first
            strengths, error = _fitted(rest, lengths=lengths, wavenumber=wavenumber)
            if error < best:
                best = error
                kept = np.hstack([first, strengths])
                at = np.array([0.0, *lengths])
            if best <= _good:
                break
        if not best <= _acceptable:
            msg = (
                f"the images of the soil {self.soil.resistivity} Ω·m reproduce it only to "
                f"{best:.0e}; the contrast between its layers is too large for a second "
                "opinion, make it smaller or do without (numerics.second_opinion: never)"
            )
            raise TrustError(msg)
        self.fit_error = max(self.fit_error, best)
        return at, kept, short

    def _waves(self, upper: int, lower: int, *, wavenumber: Floats) -> tuple[Wave, ...]:
        found = reflections(self.soil, wavenumber=wavenumber)
        if upper == lower:
            return waves_within(upper, found=found)
        return waves_down(upper, point=lower, found=found)

    def _lattices(self, widest: float) -> tuple[Floats, Floats]:
        """Lengths of the exponentials up to `widest`, and the wavenumbers of the fit."""
        # No path is longer than another by less than there and back through the thinnest.
        least = 2.0 * min(self.soil.thickness)
        steps = int(np.ceil(np.log(widest / least) / _step))
        lengths = least * np.exp(_step * np.arange(steps + 1))
        logs = np.arange(
            np.log(0.01 / lengths[-1]), np.log(30.0 / least), _step / _samples_per_step
        )
        return lengths, np.array([0.0, *np.exp(logs)])


def _fitted(amplitude: Floats, *, lengths: Floats, wavenumber: Floats) -> tuple[Floats, float]:
    """Strengths of exponentials, shape (waves, lengths), and their largest error."""
    basis = np.exp(-wavenumber[:, None] * lengths)
    weight = np.ones((len(wavenumber), 1))
    weight[0] = _weight_of_longest
    strengths = np.linalg.lstsq(weight * basis, weight * amplitude.T, rcond=1e-13)[0]
    error = np.abs(basis @ strengths - amplitude.T).max()
    return np.asarray(strengths.T), float(error / max(1.0, np.abs(amplitude).max()))


def _reversed(image: Image) -> Image:
    """Image with source and point changed."""
    return Image(image.strength, image.sign, -image.sign * image.shift, image.detour)
