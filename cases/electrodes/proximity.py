"""Which straight pieces come near one another, and how near."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from scipy.spatial import cKDTree

from ...solver.errors import BudgetError
from ...solver.model import Floats, Integers
from ..reading.size_limits import MOST_NEIGHBOURS

_CHUNK = 200_000  # pairs worked on at once: some 100 MB of intermediate arrays
_MOST_SAMPLES = 400_000
_EASY = 20  # neighbours of a sample up to which shorter steps do not pay


@dataclass(frozen=True)
class Approach:
    """Where two pieces come nearest to one another."""

    first: Integers  # (m,): the two pieces of each pair, `first` below `second`
    second: Integers
    distance: Floats  # (m,): smallest distance between their axes [m]
    along_first: Floats  # (m,): distance of that place from the start of each [m]
    along_second: Floats


def approaches(start: Floats, *, end: Floats, reach: Floats) -> Approach:
    """All pairs of pieces whose axes come as near as the sum of their reaches.

    `BudgetError` if so many crowd together that looking at all pairs would not end.
    """
    found: list[Approach] = [Approach(*np.zeros((2, 0), dtype=np.int64), *np.zeros((3, 0)))]
    for first, second in _candidates(start, end, reach):
        near = _nearest(start, end, first, second)
        kept = near.distance <= reach[first] + reach[second]
        found.append(
            Approach(
                first[kept],
                second[kept],
                near.distance[kept],
                near.along_first[kept],
                near.along_second[kept],
            )
        )
    return Approach(
        *(
            np.concatenate([getattr(part, name) for part in found])
            for name in Approach.__dataclass_fields__
        )
    )


def _candidates(
    start: Floats, end: Floats, reach: Floats
) -> Iterator[tuple[Integers, Integers]]:
    """Chunks of pairs whose bounding boxes meet, from samples along the pieces."""
    n = len(start)
    length = np.linalg.norm(end - start, axis=1)
    # At most five samples a piece on average, and no more than one for a typical piece;
    # shorter steps only where pieces stand closer together than they are long.
    step = max(float(np.median(length)), float(length.sum()) / (4 * n))
    while True:
        samples = np.ceil(length / step).astype(np.int64).clip(min=1)
        owner = np.repeat(np.arange(n), samples)
        place = np.arange(len(owner)) - np.repeat(np.cumsum(samples) - samples, samples)
        share = (place + 0.5) / samples[owner]
        points = start[owner] + share[:, None] * (end - start)[owner]
        radius = step + 2 * float(reach.max())
        pairs = _crowding(points, size=radius)
        finest = 2 * int(samples.sum()) > _MOST_SAMPLES or step < float(reach.max())
        if pairs <= _EASY * len(owner) or (finest and pairs <= MOST_NEIGHBOURS):
            break
        if finest:
            _refuse_crowd(n)
        step /= 2
    tree = cKDTree(points)
    near = owner[tree.query_pairs(radius, output_type="ndarray")]
    near.sort(axis=1)
    code = np.unique(near[:, 0] * n + near[:, 1])
    low = np.minimum(start, end) - reach[:, None]
    high = np.maximum(start, end) + reach[:, None]
    for at in range(0, len(code), _CHUNK):
        i, j = np.divmod(code[at : at + _CHUNK], n)
        meet = (i != j) & ((low[i] <= high[j]) & (low[j] <= high[i])).all(axis=1)
        yield i[meet], j[meet]


def _crowding(points: Floats, *, size: float) -> int:
    """Number of pairs in one cell of a lattice: about a third of those within its size."""
    cells = np.floor(points / size).astype(np.int64)
    # Cells that fall on one number by chance only make the crowd seem a little denser.
    key = cells @ np.array([73_856_093, 19_349_663, 83_492_791])
    _, count = np.unique(key, return_counts=True)
    return int((count.astype(np.int64) ** 2).sum())


def _refuse_crowd(pieces: int) -> None:
    msg = (
        f"the {pieces:,} pieces of metal crowd so closely that more than {MOST_NEIGHBOURS:,} "
        "pairs of neighbours would have to be looked at; use fewer or shorter pieces"
    )
    raise BudgetError(msg)


def _nearest(start: Floats, end: Floats, first: Integers, second: Integers) -> Approach:
    """Nearest places of pairs of segments: at an end of one of them, or between all ends."""
    p, q = start[first], start[second]
    u, v = end[first] - p, end[second] - q
    uu, vv, uv = _dot(u, u), _dot(v, v), _dot(u, v)
    w = q - p
    wu, wv = _dot(w, u), _dot(w, v)
    # Ends first: where an end lies on the other piece, it is the joint, to the last digit.
    zero, one = np.zeros(len(first)), np.ones(len(first))
    tries = [
        (zero, np.clip(-wv / vv, 0, 1)),
        (one, np.clip((uv - wv) / vv, 0, 1)),
        (np.clip(wu / uu, 0, 1), zero),
        (np.clip((wu + uv) / uu, 0, 1), one),
    ]
    determinant = uu * vv - uv * uv
    skew = determinant > 1e-12 * uu * vv
    safe = np.where(skew, determinant, 1.0)
    s, t = (wu * vv - wv * uv) / safe, (wu * uv - wv * uu) / safe
    between = skew & (s >= 0) & (s <= 1) & (t >= 0) & (t <= 1)
    tries.append((np.where(between, s, 0.0), np.where(between, t, tries[0][1])))
    gaps = np.array(
        [np.linalg.norm(w + b[:, None] * v - a[:, None] * u, axis=1) for a, b in tries]
    )
    # A hair in favour of ends, which come first.
    best = np.argmax(gaps <= gaps.min(axis=0) + 1e-9, axis=0)
    row = np.arange(len(first))
    return Approach(
        first,
        second,
        gaps[best, row],
        np.array([a for a, _ in tries])[best, row] * np.sqrt(uu),
        np.array([b for _, b in tries])[best, row] * np.sqrt(vv),
    )


def shared_stretch(
    start: Floats, *, end: Floats, first: Integers, second: Integers, within: Floats
) -> tuple[Floats, Floats]:
    """Length and middle of where nearly parallel pairs run `within` a distance. [m]

    The length is 0 for pieces more than 2.9 degrees from parallel; the middle is on the
    first.
    """
    p, q = start[first], start[second]
    u, v = end[first] - p, end[second] - q
    length = np.linalg.norm(u, axis=1)
    u = u / length[:, None]
    # Ends of the second piece: along the first one, and across it.
    along = np.stack([_dot(q - p, u), _dot(q + v - p, u)])
    across_0 = q - p - along[0][:, None] * u
    across_1 = q + v - p - along[1][:, None] * u
    run = along[1] - along[0]
    size = np.linalg.norm(v, axis=1)
    parallel = np.linalg.norm(across_1 - across_0, axis=1) < 0.05 * size
    run = np.where(parallel, run, 1.0)
    slope = (across_1 - across_0) / run[:, None]
    base = across_0 - along[0][:, None] * slope  # distance vector at the start of the first
    # |base + x slope|² <= within², a quadratic in x.
    a, b, c = _dot(slope, slope), _dot(base, slope), _dot(base, base) - within**2
    root = np.sqrt(np.maximum(b * b - a * c, 0.0))
    steep = a > 1e-24
    safe = np.where(steep, a, 1.0)
    low = np.where(steep, (-b - root) / safe, -np.inf)
    high = np.where(steep, (-b + root) / safe, np.inf)
    never = np.where(steep, b * b - a * c <= 0, c > 0)
    low = np.maximum(np.maximum(low, 0.0), along.min(axis=0))
    high = np.minimum(np.minimum(high, length), along.max(axis=0))
    found = np.where(parallel & ~never, np.maximum(high - low, 0.0), 0.0)
    middle = np.where(found > 0, (low + high) / 2, 0.0)
    return found, p + middle[:, None] * u


def _dot(a: Floats, b: Floats) -> Floats:
    return np.asarray(np.einsum("ij,ij->i", a, b))
