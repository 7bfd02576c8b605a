"""Dash patterns, which run on where lines join."""

from collections.abc import Sequence

import numpy as np

from ...solver.model import Floats

# Dash patterns: lengths drawn and left out in turn. [pixel]
solid: tuple[float, ...] = ()
dashes: tuple[tuple[float, ...], ...] = (solid, (22, 10), (5, 8), (28, 8, 5, 8), (10, 6))


def dashed(segments: Floats, *, dash: Sequence[float]) -> Floats:
    """Pieces of segments under a dash pattern that runs on where segments join."""
    marks = np.concatenate([[0.0], np.cumsum(dash)])
    period = marks[-1]
    pieces = []
    phase, last = 0.0, None
    for start, end in segments:
        length = float(np.linalg.norm(end - start))
        if length == 0:
            continue
        if last is None or np.abs(start - last).max() > 0.01:
            phase = 0.0
        first = int(phase // period)
        for turn in range(first, int((phase + length) // period) + 1):
            for on, off in zip(marks[:-1:2], marks[1::2], strict=True):
                a = max(turn * period + on - phase, 0.0)
                b = min(turn * period + off - phase, length)
                if b > a:
                    pieces.append(start + np.outer([a, b], end - start) / length)
        phase, last = phase + length, end
    return np.array(pieces).reshape(-1, 2, 2)
