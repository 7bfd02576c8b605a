"""The 3-D view: soil cut away in front of a section, all metal seen through the rest."""

from itertools import product
from typing import Any

import numpy as np

from ...solver.drives import in_phase
from ...solver.model import Floats, Integers
from ...solver.results.result import Result
from ..canvas.boxes import Box
from ..canvas.contours import banded
from ..canvas.figures import Target, print_width
from ..canvas.legend import draw_heading
from ..canvas.levels import Levels, band_colours, contour_levels
from ..canvas.offscreen import graphics
from ..canvas.png import write_png
from ..canvas.sheet import Sheet, black, grey, small_type, white
from ..canvas.smoothing import flat, layer, smooth_picture
from ..cautions import BELOW_PICTURES
from ..kept import kept
from ..plates import shown_lines
from ..wording import reference
from .blocks import Block, layer_bounds, shown_block
from .buried import add_bodies
from .leakage import LeakageBands, leakage_bands, shown_leakage
from .panel import draw_panel, label_bodies, label_depths, label_groups, scene_view, tints

page_size = (2000, 1500)
_bare = Box(0, 65, 2000, 1325)  # of the page, without heading and cautions


def draw_scene(result: Result, *, path: Target, headed: bool = True) -> Target:
    """Draw the 3-D view as a PNG picture.

    Parameters
    ----------
    headed : bool
        Whether title and cautions stand on it; a page has its own, and no room for theirs.
    """
    pixels = _pixels(result)
    if not headed:
        high = page_size[1]
        pixels = pixels[high - int(_bare.top) : high - int(_bare.bottom)]
    write_png(pixels, path, dots=page_size[0] / print_width)
    return path


@kept
def _pixels(result: Result) -> Integers:
    """The whole picture, shape (height, width, 3), 0 to 255."""
    shape = shown_block(result)
    surface = result.surface
    levels = contour_levels(
        in_phase(surface.potential), weights=np.ones(len(surface.potential))
    )
    leakage = leakage_bands(result)
    pixels, where = _render(result, shape=shape, levels=levels, leakage=leakage)
    sheet = Sheet(page_size)
    sheet.image(pixels, box=scene_view)
    _write_round(sheet, result=result, shape=shape)
    label_depths(sheet, result=result, shape=shape, where=where)
    label_bodies(sheet, result=result, shape=shape, where=where)
    label_groups(sheet, result=result, where=where)
    draw_panel(sheet, result=result, levels=levels, leakage=leakage)
    return sheet.pixels()


def _write_round(sheet: Sheet, *, result: Result, shape: Block) -> None:
    """Heading above, cautions below."""
    draw_heading(
        sheet,
        title=result.title,
        lines=(
            "Electrodes and soil",
            f"Front half of the soil cut away{shape.stretch_words}; all metal is shown. "
            f"{reference}",
        ),
        left=60,
    )
    sheet.text((60, 24), BELOW_PICTURES, size=small_type, colour=grey)


def _render(
    result: Result, *, shape: Block, levels: Levels, leakage: LeakageBands
) -> tuple[Any, Any]:
    """Picture of the scene, and a function from points [m] to pixels of the page."""
    size = (int(scene_view.width), int(scene_view.height))
    # Bodies and metal behind the cut must not vanish, none is before it.
    layers = soil, buried, metal = layer(), layer(), layer()
    camera = soil.GetActiveCamera()
    for each in (buried, metal):
        each.SetActiveCamera(camera)
    _add_soil(soil, result=result, shape=shape)
    _add_potential(soil, result=result, shape=shape, levels=levels)
    add_bodies(buried, result=result, shape=shape)
    _add_metal(metal, result=result, shape=shape, leakage=leakage)
    _aim(camera, shape=shape)
    shown = layers if result.solution.soil.bodies else (soil, metal)
    pixels = smooth_picture(*shown, size=size)
    matrix = camera.GetCompositeProjectionTransformMatrix(size[0] / size[1], -1, 1)
    projection = np.array([[matrix.GetElement(i, k) for k in range(4)] for i in range(4)])

    def where(points: Floats) -> Floats:
        """Pixels of the page, shape (n, 2), of points in metres, shape (n, 3)."""
        shown = shape.shown(np.asarray(points).reshape(-1, 3))
        ahead = np.column_stack([shown, np.ones(len(shown))]) @ projection.T
        share = 0.5 + 0.5 * ahead[:, :2] / ahead[:, 3:]
        pixels: Floats = np.array([scene_view.left, scene_view.bottom]) + share * size
        return pixels

    return pixels, where


def _aim(camera: Any, *, shape: Block) -> None:
    """Parallel view from the front, right and above, as large as the whole block allows."""
    x, y = (np.array([a, b]) for a, b in zip(shape.low, shape.high, strict=True))
    z = np.array([-shape.depth * shape.stretch, 0.0])
    corners = np.stack(np.meshgrid(x, y, z), axis=-1).reshape(-1, 3)
    middle = corners.mean(axis=0)
    towards = np.array([0.42, -1.0, 0.62])
    towards /= np.linalg.norm(towards)
    right = np.cross([0.0, 0.0, 1.0], towards)
    right /= np.linalg.norm(right)
    up = np.cross(towards, right)
    across, along = (corners - middle) @ right, (corners - middle) @ up
    reach = float(np.linalg.norm(corners - middle, axis=1).max())
    camera.SetViewUp(*up)
    camera.ParallelProjectionOn()
    ratio = scene_view.width / scene_view.height
    scale = max(1.05 * np.ptp(along), 1.18 * np.ptp(across) / ratio) / 2
    camera.SetParallelScale(scale)
    # Room at the right for the depths.
    shift = 0.07 * scale * 2 * ratio / 1.18 * right
    camera.SetFocalPoint(*(middle + shift))
    camera.SetPosition(*(middle + shift + 4 * reach * towards))


def _add_soil(soil: Any, *, result: Result, shape: Block) -> None:
    """Section and side of the soil that is left, its floor, and edges of what is cut away."""
    (x0, y0), (x1, y1) = shape.low, shape.high
    bounds = layer_bounds(result, shape=shape)
    for k, (top, bottom) in enumerate(bounds):
        tint = tints[k % len(tints)]
        shade = tuple(0.9 * part for part in tint)
        section = [(x0, shape.cut), (x1, shape.cut)]
        side = [(x1, shape.cut), (x1, y1)]
        for (a, b), colour in ((section, tint), (side, shade)):
            _add_wall(soil, a=a, b=b, top=top, bottom=bottom, shape=shape, colour=colour)
    pale = tuple(1 - 0.35 * (1 - part) for part in tints[(len(bounds) - 1) % len(tints)])
    d = shape.depth
    floor = [(x0, y0, -d), (x1, y0, -d), (x1, shape.cut, -d), (x0, shape.cut, -d)]
    _add_quad(soil, shape.shown(np.array(floor)), colour=pale)
    cut = shape.cut
    removed = [
        [(x0, cut, 0), (x0, y0, 0), (x1, y0, 0), (x1, cut, 0)],
        [(x0, y0, 0), (x0, y0, -d)],
        [(x1, y0, 0), (x1, y0, -d)],
        [(x0, cut, -d), (x0, y0, -d), (x1, y0, -d), (x1, cut, -d), (x0, cut, -d)],
    ]
    kept = [
        [(x0, cut, 0), (x1, cut, 0), (x1, cut, -d), (x0, cut, -d), (x0, cut, 0)],
        [(x1, cut, 0), (x1, y1, 0), (x1, y1, -d), (x1, cut, -d)],
        [(x0, cut, 0), (x0, y1, 0), (x1, y1, 0)],
    ]
    kept += [[(x0, cut, -b), (x1, cut, -b), (x1, y1, -b)] for _, b in bounds[:-1]]
    for paths, colour, width in ((removed, (0.6, 0.6, 0.6), 2), (kept, black, 2.5)):
        for path in paths:
            _add_path(soil, shape.shown(np.array(path)), colour=colour, width=width)


def _add_wall(soil: Any, *, a: tuple[float, float], b: tuple[float, float], top: float,
    bottom: float, shape: Block, colour: tuple[float, ...],
) -> None:  # fmt: skip
    corners = [(*a, -top), (*b, -top), (*b, -bottom), (*a, -bottom)]
    _add_quad(soil, shape.shown(np.array(corners)), colour=colour)


def _add_quad(soil: Any, corners: Floats, *, colour: tuple[float, ...]) -> None:
    quad = graphics().PolyData(corners, faces=[4, 0, 1, 2, 3])
    soil.AddActor(flat(quad, colour=colour))


def _add_path(soil: Any, points: Floats, *, colour: tuple[float, ...], width: float) -> None:
    cells = [len(points), *range(len(points))]
    line = graphics().PolyData(np.asarray(points, dtype=float), lines=cells)
    soil.AddActor(flat(line, colour=colour, width=width))


def _add_potential(soil: Any, *, result: Result, shape: Block, levels: Levels) -> None:
    """Potential in colour on the surface that is left; its levels go on in the section."""
    pv = graphics()
    surface = result.surface
    points = np.column_stack([surface.places, np.zeros(len(surface.places))])
    cells = np.column_stack([np.full(len(surface.triangles), 3), surface.triangles])
    top = pv.PolyData(points, faces=cells.ravel())
    top.point_data["value"] = in_phase(surface.potential)
    top = top.clip(normal="y", origin=(0.0, shape.cut, 0.0), invert=False)
    top = top.extract_surface(algorithm="dataset_surface").triangulate()
    bands, edges = banded(top, levels=levels)
    colours = np.round(255 * band_colours(levels.bands)).astype(np.uint8)
    rows = bands.cell_data["Scalars"].astype(int)
    bands.clear_data()
    bands.cell_data["colour"] = colours[rows]
    soil.AddActor(flat(bands))
    lines = [edges, _section_lines(result, shape=shape, levels=levels)]
    lift = 2e-3 * np.subtract(shape.high, shape.low).max() * np.array([0.3, -1.0, 0.6])
    for line in lines:
        if line.n_points:
            line.clear_data()
            line.points = line.points + lift
            soil.AddActor(flat(line, colour=black, width=1.8))


def _section_lines(result: Result, *, shape: Block, levels: Levels) -> Any:
    """Lines of equal potential on the section."""
    pv = graphics()
    x = np.linspace(shape.low[0], shape.high[0], 161)
    # Closer together near the surface, where the metal usually is.
    z = -shape.depth * np.linspace(0, 1, 61) ** 1.5
    points = np.stack(np.meshgrid(x, [shape.cut], z, indexing="ij"), axis=-1).reshape(-1, 3)
    if not len(levels.inner):
        return pv.PolyData()
    grid = pv.StructuredGrid()
    grid.points = shape.shown(points)
    grid.dimensions = (len(z), 1, len(x))
    grid.point_data["value"] = in_phase(result.field.potential(points))
    return grid.contour(levels.inner, scalars="value")


def _add_metal(over: Any, *, result: Result, shape: Block, leakage: LeakageBands) -> None:
    """Metal as tubes coloured by leakage, plates hatched; their thickness is not to scale.

    Tubes before the cut are edged in black, those behind it in white.
    """
    pv = graphics()
    lines = shown_lines(result)
    ends = shape.shown(np.stack([lines.start, lines.end], axis=1).reshape(-1, 3))
    ends = ends.reshape(-1, 2, 3)
    behind = 0.5 * (lines.start + lines.end)[:, 1] > shape.cut + 1e-6
    band = np.digitize(shown_leakage(result), leakage.levels.inner)
    unit = 1e-3 * float(np.linalg.norm(np.subtract(shape.high, shape.low)))
    for number, side in product(range(leakage.levels.bands), (False, True)):
        points = ends[(band == number) & (behind == side)].reshape(-1, 3)
        if not len(points):
            continue
        pieces = np.arange(len(points)).reshape(-1, 2)
        cells = np.column_stack([np.full(len(pieces), 2), pieces])
        metal = pv.PolyData(points, lines=cells.ravel())
        radius = (2.2 + 2.2 * leakage.widths[number]) * unit
        tubes = metal.tube(radius=radius, n_sides=12, capping=True)
        colour = tuple(leakage.colours[number])
        over.AddActor(flat(tubes, colour=colour))
        # The far side of a thicker tube shows as an edge round it.
        edge = metal.tube(radius=radius + 1.2 * unit, n_sides=12, capping=False)
        far_side = flat(edge, colour=white if side else black)
        far_side.GetProperty().FrontfaceCullingOn()
        over.AddActor(far_side)
