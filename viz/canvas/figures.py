"""Settings of the figures that matplotlib draws, and how they are kept."""

from collections.abc import Callable, Iterable, Sequence
from functools import lru_cache, partial
from io import BytesIO
from pathlib import Path
from typing import IO, Any, TypeVar

import numpy as np

from ...solver.model import Floats
from ...solver.progress import Progress, parts, unwatched

print_width = 0.16
"""Width for which pictures of a folder are made. [m]"""
page_width = 12.0
"""Of figures; at `print_width` type of 12.5 points is then 6.6. [inch]"""
# Settings of our own, so that a user's matplotlib file does not change the picture.
figure_style: Any = {
    "font.family": "DejaVu Sans",
    "font.size": 15,
    "axes.linewidth": 1.5,
    "axes.unicode_minus": True,
    "axes.titlesize": 17,
    "hatch.linewidth": 0.8,
    "mathtext.default": "regular",
    "text.usetex": False,
    "text.parse_math": False,
    "svg.hashsalt": "ohmscape",
    "svg.fonttype": "path",
}
# Electrodes differ by more than colour.
dashes: tuple[Any, ...] = ("-", (0, (6, 3)), (0, (2, 2)), (0, (9, 3, 2, 3)), (0, (1, 3)))
markers = "os^Dv"


class PictureFile(BytesIO):
    """A picture kept in memory; like that of a path, its suffix says which kind it is."""

    def __init__(self, name: str) -> None:
        super().__init__()
        self.suffix = Path(name).suffix


Target = TypeVar("Target", Path, PictureFile)
"""Where a picture goes."""


def save_figure(figure: Any, target: Path | IO[bytes], *, ending: str, **more: Any) -> None:
    """Save a figure so that the same drawing gives the same bytes, for print at `print_width`.

    Parameters
    ----------
    ending : {"svg", "png"}
    **more
        For ``Figure.savefig``.
    """
    from .agg import PageCanvas  # loads matplotlib

    PageCanvas(figure)
    metadata = {"Date": None} if ending == "svg" else None
    figure.savefig(target, format=ending, metadata=metadata, **more)


def laid_out(figure: Any) -> Any:
    """The figure, its parts where they are to be, at its own resolution; no more than once.

    Saving it does that anew for each kind of file, by drawing all of it once more.
    """
    if (engine := figure.get_layout_engine()) is not None:
        engine.execute(figure)
        figure.set_layout_engine(None)
    return figure


Picture = tuple[str, Callable[..., Any]]
"""Name of a file, and what draws it when told its path."""


def in_both_kinds(pictures: Iterable[Picture]) -> list[Picture]:
    """Each picture, named without an ending, as .png and .svg."""
    return [(f"{name}.{ending}", draw) for name, draw in pictures for ending in ("png", "svg")]


def figures_in_both_kinds(figures: Iterable[tuple[str, Callable[[], Any]]]) -> list[Picture]:
    """Each matplotlib figure, made once, as .png and .svg."""
    latest = lru_cache(1)(lambda figure_of: figure_of())

    def draw(figure_of: Callable[[], Any], *, path: Target) -> Target:
        import matplotlib as mpl  # takes time to load

        with mpl.rc_context(figure_style):
            save_figure(latest(figure_of), path, ending=path.suffix[1:])
        return path

    return in_both_kinds((name, partial(draw, figure_of)) for name, figure_of in figures)


def draw_all(
    pictures: Sequence[Picture], folder: Path, *, progress: Progress = unwatched
) -> list[Path]:
    """Draw pictures into a folder that exists; progress is told the name of each file."""
    files = [folder / name for name, _ in pictures]
    each = parts(progress, [1.0] * len(files))
    for path, (_, draw), told in zip(files, pictures, each, strict=True):
        told(path.name, 0.0)
        draw(path=path)
    return files


def spread_out(wanted: Floats, sizes: Floats) -> Floats:
    """Middles near the wanted ones, in their order, of texts that do not overlap, in 0 to 1."""
    apart = 0.5 * (sizes[:-1] + sizes[1:])
    at = np.clip(wanted, 0.5 * sizes[0], 1 - 0.5 * sizes[-1])
    for k in range(1, len(at)):
        at[k] = max(at[k], at[k - 1] + apart[k - 1])
    at[-1] = min(at[-1], 1 - 0.5 * sizes[-1])
    for k in range(len(at) - 2, -1, -1):
        at[k] = min(at[k], at[k + 1] - apart[k])
    return np.asarray(at)
