r"""Mirror images of line elements in the surface and the planes between layers.

The potential of a point source in horizontal layers is a sum over rays. A ray leaves the
source upwards or downwards; at a plane between conductivities :math:`\sigma_i` (where it
is) and :math:`\sigma_j` (beyond) it splits into one reflected by :math:`K = (\sigma_i -
\sigma_j) / (\sigma_i + \sigma_j)` and one transmitted by :math:`1 + K`; at the surface
K = 1 (Maxwell 1873, art. 318; from memory). In the layer where a ray runs it adds
:math:`k / (4 \pi \sigma_s r)`, with k the product of its factors, :math:`\sigma_s` the
conductivity at the source and r the distance from an image as far away as the ray is long.
Since K does not depend on the wavelength, the sum over all rays is exact.

The same rays carry a source smeared by a ball-symmetric weight w, whatever planes run
through the ball: in each layer the source density is :math:`k \sigma / \sigma_s` times w
about the image. Exact and smeared potential then differ only near the source. Only rays
shorter than that range are needed, so the list is short. In stacks of thin layers beside wide
clouds it is not: there images more than a cloud away are gathered at even places, as balls are
along metal (`clouds`), with their moments up to the third. What the fourth is off acts as
(place / distance)⁴.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from itertools import product
from math import floor

import numpy as np

from ..errors import MeshError
from ..model import Floats, Soil
from .clouds import Clouds
from .elements import LineElements
from .grids import lagrange
from .media import conductivities

_weakest = 1e-4  # rays weaker than this are dropped
_many = 1000  # images of one layer; if there are more, those far away are gathered
_most = 6000
_gathered_at = 0.2  # distance between their places, in spreads
_exact = 1.0  # nearer ones are left as they are, in spreads

_Image = tuple[int, float, float]  # layer where it acts, sign, shift
_Going = tuple[int, float, float, bool]  # the same of a ray, and whether it runs upwards


@dataclass(frozen=True)
class Ray:
    """Images of all sources of one layer as they act in one layer.

    Attributes
    ----------
    source_layer, target_layer : int
        Medium where the sources are, and where the images act.
    sign, shift : float
        Height of the image: sign · z + shift, with z that of the source. [1], [m]
    strength : float
        Product of the factors of reflection and transmission.
    """

    source_layer: int
    target_layer: int
    sign: float
    shift: float
    strength: float

    def image(self, points: Floats) -> Floats:
        """Images of source points, shape (..., 3). [m]"""
        moved = points.copy()
        moved[..., 2] = self.sign * points[..., 2] + self.shift
        return moved

    def origin(self, points: Floats) -> Floats:
        """Points as the source sees them: the inverse of `image`, shape (..., 3). [m]"""
        moved = points.copy()
        moved[..., 2] = self.sign * (points[..., 2] - self.shift)
        return moved


def rays(elements: LineElements | Clouds, *, soil: Soil, reach: float) -> Iterator[Ray]:
    """Rays from the layers that hold elements outside of bodies, up to a length.

    Parameters
    ----------
    reach : float
        Longest distance of interest between an image and a point it acts on. [m]

    Yields
    ------
    Ray
        The direct ray of each layer first.

    Raises
    ------
    MeshError
        If the layers are so thin for this reach that the rays do not end.
    """
    layers = _Layers.of(soil)
    for layer in np.unique(elements.layer[elements.layer < len(soil.resistivity)]):
        members = elements.layer == layer
        heights = np.array([elements.start[members, 2], elements.end[members, 2]])
        span = (float(heights.min()), float(heights.max()))
        spread = float(elements.spread.max())
        found = _from_layer(int(layer), layers=layers, span=span, reach=reach, most=_many)
        if found is None:
            found = _from_layer(
                int(layer), layers=layers, span=span, reach=reach, most=_most, spread=spread
            )
        if found is None:
            msg = (
                f"there are too many or too thin layers for elements this large (more than "
                f"{_most:,} images within {reach:.3g} m); ask for smaller elements "
                "(numerics.element_size) or join layers"
            )
            raise MeshError(msg)
        for (target, sign, shift), strength in found.items():
            yield Ray(int(layer), target, sign, shift, strength)


def rays_between(elements: LineElements | Clouds, *, soil: Soil, reach: float) -> Iterator[Ray]:
    """Rays between the media that hold elements, those in bodies too.

    Notes
    -----
    Across a flat face a source has the potential it has in ground of the mean conductivity of
    both sides (Maxwell 1873, art. 315; from memory). The next face is as good as flat for what
    is left of metal beside its balls.
    """
    yield from rays(elements, soil=soil, reach=reach)
    sigma, count = conductivities(soil), len(soil.resistivity)
    there = np.unique(elements.layer).tolist()
    for source, target in product(there, there):
        if max(source, target) >= count:
            strength = float(2 * sigma[source] / (sigma[source] + sigma[target]))
            for sign in (1.0, -1.0):
                yield Ray(source, target, sign, 0.0, strength)


def rays_into_layers(
    elements: LineElements | Clouds, *, soil: Soil, reach: float
) -> Iterator[Ray]:
    """Rays as they act at any place of each layer, in their background whatever is there."""
    yield from rays(elements, soil=soil, reach=reach)
    count = len(soil.resistivity)
    for source in np.unique(elements.layer[elements.layer >= count]).tolist():
        for target, sign in product(range(count), (1.0, -1.0)):
            yield Ray(source, target, sign, 0.0, 1.0)


def seen_from_surface(paths: Iterable[Ray]) -> Iterator[Ray]:
    """Rays as they act on points of the surface, where mirrored images are as far: joined."""
    strength: dict[tuple[int, int, float], float] = {}
    for ray in paths:
        key = (ray.source_layer, ray.target_layer, ray.sign * ray.shift)
        strength[key] = strength.get(key, 0.0) + ray.strength
    for (source, target, shift), joined in strength.items():
        yield Ray(source, target, 1.0, shift, joined)


@dataclass(frozen=True)
class _Layers:
    """Planes and what they do to rays, as plain numbers: there are very many single rays.

    Attributes
    ----------
    planes : tuple of float
        Height of the surface, of each plane, and of what is below all. [m]
    upwards, downwards : tuple of float
        Share that is reflected where a ray leaves each layer.
    """

    planes: tuple[float, ...]
    upwards: tuple[float, ...]
    downwards: tuple[float, ...]

    @classmethod
    def of(cls, soil: Soil) -> "_Layers":
        """Those of a soil; nothing comes back from below the last layer."""
        conductivity = soil.conductivity
        across = (conductivity[:-1] - conductivity[1:]) / (conductivity[:-1] + conductivity[1:])
        return cls(
            planes=(0.0, *(-soil.interface_depth).tolist(), -np.inf),
            upwards=(1.0, *(-across).tolist()),
            downwards=(*across.tolist(), 0.0),
        )

    def gap(self, image: _Image, *, span: tuple[float, float]) -> float:
        """Least distance of images of sources in a span to the layer they act in. [m]"""
        target, sign, shift = image
        one, other = sign * span[0] + shift, sign * span[1] + shift
        low, high = (one, other) if one <= other else (other, one)
        return max(low - self.planes[target], self.planes[target + 1] - high, 0.0)

    def at_next_plane(self, image: _Image, upwards: bool) -> Iterator[tuple[_Going, float]]:
        """What becomes of a ray at the next plane: (its image, direction) and its factor."""
        here, sign, shift = image
        if not upwards and here == len(self.upwards) - 1:
            return
        plane = self.planes[here] if upwards else self.planes[here + 1]
        k = self.upwards[here] if upwards else self.downwards[here]
        if k != 0:
            # Rounded so that images at one place are known as one.
            yield (here, -sign, round(2 * plane - shift, 9), not upwards), k
        beyond = here - 1 if upwards else here + 1
        if beyond >= 0:
            yield (beyond, sign, shift, upwards), 1 + k


def _from_layer(
    layer: int,
    *,
    layers: _Layers,
    span: tuple[float, float],
    reach: float,
    most: int,
    spread: float | None = None,
) -> dict[_Image, float] | None:
    """Images of sources between two heights of one layer with strengths; None if too many.

    With a spread those farther away than that are gathered.
    """
    direct = (layer, 1.0, 0.0)
    found = {direct: 1.0}
    # Rays on their way: (layer, sign, shift) of the image and whether they run upwards.
    waiting: dict[_Going, float] = {(*direct, True): 1.0, (*direct, False): 1.0}
    while waiting:
        met: dict[_Going, float] = {}
        for (here, sign, shift, upwards), strength in waiting.items():
            for after, factor in layers.at_next_plane((here, sign, shift), upwards):
                met[after] = met.get(after, 0.0) + strength * factor
        if spread is not None:
            met = _gathered(met, layers=layers, span=span, spread=spread)
        waiting = {}
        for (here, sign, shift, upwards), strength in met.items():
            image = (here, sign, shift)
            if abs(strength) < _weakest or layers.gap(image, span=span) > reach:
                continue
            found[image] = found.get(image, 0.0) + strength
            waiting[*image, upwards] = strength
        if len(found) > most:
            return None
    return found


def _gathered(
    met: dict[_Going, float], *, layers: _Layers, span: tuple[float, float], spread: float
) -> dict[_Going, float]:
    """The same rays, those of images far away shared out among even places."""
    step, found = _gathered_at * spread, dict[_Going, float]()
    for (here, sign, shift, upwards), strength in met.items():
        if layers.gap((here, sign, shift), span=span) <= _exact * spread:
            key = (here, sign, shift, upwards)
            found[key] = found.get(key, 0.0) + strength
            continue
        first = floor(shift / step) - 1
        for k, share in enumerate(lagrange(shift / step - first, degree=3)):
            key = (here, sign, round((first + k) * step, 9), upwards)
            found[key] = found.get(key, 0.0) + strength * share
    return found
