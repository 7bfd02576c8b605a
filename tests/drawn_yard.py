"""The yard of the shipped case with a drawing: its measures, and the drawing made of them."""

from pathlib import Path

import ezdxf

# Millimetres in the drawing, whose corner lies far from its own origin.
CORNER = (245_000, 118_000)
# The corners of the ring, metres from the corner: an L, one of its corners rounded.
RING = [(0, 0), (30, 0), (30, 14), (18, 14), (18, 24), (4, 24), (0, 20)]
ROUNDED = 5  # number of the corner from which an arc of 4 m leads to the next
ALONG_X = [(6, 0, 30), (14, 0, 18), (20, 0, 18)]  # y, from x, to x
ALONG_Y = [(6, 0, 24), (12, 0, 24), (18, 0, 14), (24, 0, 14)]  # x, from y, to y
STAKES = [(0, 0), (30, 0), (30, 14), (18, 24), (0, 14), (12, 6)]
FENCE = [(-1.5, -1.5), (31.5, -1.5), (31.5, 15.5), (19.5, 15.5), (19.5, 25.5), (-1.5, 25.5)]
HOUSE = [(20.5, 8), (28, 8), (28, 12.5), (20.5, 12.5)]
QUARTER = 0.41421356237309503  # bulge of a quarter of a circle: tan(90°/4)


def place(x, y):
    """Place in the drawing."""
    return (CORNER[0] + 1000 * x, CORNER[1] + 1000 * y)


def draw(path: Path) -> None:
    """Write the drawing."""
    dxf = ezdxf.new("R2000")
    dxf.units = ezdxf.units.MM
    for name, colour in (
        ("EARTHING", 1), ("EARTH STAKES", 1), ("FENCE", 3), ("BUILDINGS", 8), ("NOTES", 7)
    ):  # fmt: skip
        dxf.layers.add(name, color=colour)
    space = dxf.modelspace()
    ring = [(*place(x, y), QUARTER if k == ROUNDED else 0) for k, (x, y) in enumerate(RING)]
    space.add_lwpolyline(ring, format="xyb", close=True, dxfattribs={"layer": "EARTHING"})
    for y, low, high in ALONG_X:
        space.add_line(place(low, y), place(high, y), dxfattribs={"layer": "EARTHING"})
    for x, low, high in ALONG_Y:
        # As drawn by hand: two of them end a little short of the ring, or beyond.
        slip = {12: 0.003, 24: -0.002}.get(x, 0.0)
        space.add_line(place(x, low), place(x, high + slip), dxfattribs={"layer": "EARTHING"})
    stake = dxf.blocks.new("STAKE 3 M")
    stake.add_circle((0, 0), 300)
    stake.add_line((-300, 0), (300, 0))
    stake.add_line((0, -300), (0, 300))
    for x, y in STAKES:
        space.add_blockref("STAKE 3 M", place(x, y), dxfattribs={"layer": "EARTH STAKES"})
    for layer, corners in (("FENCE", FENCE), ("BUILDINGS", HOUSE)):
        corners = [place(x, y) for x, y in corners]
        space.add_lwpolyline(corners, close=True, dxfattribs={"layer": layer})
    for text, at in (("CONTROL HOUSE", (21.5, 10)), ("GATE", (8, -3))):
        space.add_text(text, height=600, dxfattribs={"layer": "NOTES"}).set_placement(
            place(*at)
        )
    dxf.saveas(path)
