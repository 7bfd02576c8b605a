"""Case files drawn at random, by class; the same seed gives the same text."""

from collections.abc import Callable

import numpy as np

from .draw import Draw


def _rod(*, length, top, diameter, at=(0.0, 0.0), more="") -> str:
    return (
        f"kind: rod, name: rod at {at[0]:g} {at[1]:g}, at: [{at[0]:g} m, {at[1]:g} m], "
        f"top_depth: {top:g} m, length: {length:g} m, diameter: {1e3 * diameter:g} mm{more}"
    )


def _ring(radius: float, rest: str) -> str:
    return (
        f"kind: ring, name: ring, centre: [0 m, 0 m], ring_radius: {radius:g} m, "
        f"pieces: 36, {rest}"
    )


def _loop(x: float, y: float, rest: str) -> str:
    signs = ((-1, -1), (1, -1), (1, 1), (-1, 1))
    corners = ", ".join(f"[{a * x:g} m, {b * y:g} m]" for a, b in signs)
    return f"kind: loop, name: loop, points: [{corners}], {rest}"


def _star(arms: int, arm: float, rest: str) -> str:
    return (
        f"kind: star, name: star, centre: [0 m, 0 m], arms: {arms}, arm_length: {arm:g} m, "
        f"{rest}"
    )


def rods(draw: Draw) -> None:
    """Vertical rods in one or two layers."""
    draw.soil(draw.one_of(1, 2))
    draw.electrode(
        _rod(
            length=draw.log(1.0, 6.0),
            top=draw.one_of(0.0, 0.0, draw.even(0.1, 1.0)),
            diameter=draw.even(0.010, 0.025),
        )
    )


def tips(draw: Draw) -> None:
    """Tips in a plane, or up to 10 cm above and below it."""
    top = draw.one_of(0.0, 0.0, draw.even(0.2, 0.8))
    length = draw.log(1.0, 4.0)
    gap = draw.one_of(0.0, draw.log(0.002, 0.1), -draw.log(0.002, 0.1))
    first = draw.log(20.0, 1000.0)
    ratio = draw.log(2.0, 60.0)
    other = first * ratio if draw.one_of(True, False) else first / ratio
    plane = float(f"{top + length + gap:.6g}")
    draw.layers = [(first, plane), (float(f"{other:.4g}"), None)]
    if draw.one_of(True, False, False):
        draw.layers[-1:] = [
            (draw.layers[-1][0], draw.log(0.6, 3.0)),
            (draw.log(20, 1000), None),
        ]
    draw.electrode(_rod(length=length, top=top, diameter=draw.even(0.010, 0.025)))


def fat(draw: Draw) -> None:
    """Fat and short rods: 6 to 30 radii long."""
    draw.soil(draw.one_of(1, 2), thickness=(0.4, 3.0))
    radius = draw.log(0.010, 0.060)
    length = float(f"{radius * draw.log(6.0, 30.0):.4g}")
    top = draw.one_of(0.0, 0.0, draw.even(0.1, 0.6))
    for place, plane in enumerate(draw.planes):  # no tip within two radii of a plane
        if abs(plane - top - length) < 2 * radius or abs(plane - top) < 2 * radius:
            draw.layers[place] = (
                draw.layers[place][0],
                float(f"{top + length + 3 * radius:.4g}"),
            )
    draw.electrode(_rod(length=length, top=top, diameter=2 * radius))


def heads(draw: Draw) -> None:
    """Heads 4 to 80 mm below the surface."""
    draw.soil(draw.one_of(1, 2))
    diameter = draw.even(0.010, 0.030)
    draw.electrode(
        _rod(length=draw.log(0.8, 4.0), top=draw.log(0.004, 0.08), diameter=diameter)
    )


def stars(draw: Draw) -> None:
    """Shallow stars of three to five arms, some with a rod in the middle."""
    draw.soil(draw.one_of(1, 2), thickness=(0.6, 4.0))
    depth, arm = draw.depth(0.08, 0.5), draw.log(2.0, 12.0)
    draw.half_size = arm
    wire = draw.even(0.006, 0.012)
    parts = [
        _star(draw.one_of(3, 4, 5), arm, f"depth: {depth:g} m, diameter: {1e3 * wire:g} mm")
    ]
    if draw.one_of(True, False):
        parts.append(_rod(length=draw.log(1.0, 3.0), top=depth, diameter=0.016))
    draw.electrode(*parts)


def rings(draw: Draw) -> None:
    """Rings and rectangular loops."""
    draw.soil(draw.one_of(1, 2, 3), thickness=(0.4, 4.0))
    depth, wire = draw.depth(0.25, 1.0), draw.even(0.006, 0.014)
    rest = f"depth: {depth:g} m, diameter: {1e3 * wire:g} mm"
    if draw.one_of(True, False):
        radius = draw.log(0.8, 6.0)
        draw.half_size = radius
        draw.electrode(_ring(radius, rest), at=(radius, 0.0))
        return
    x, y = draw.log(0.8, 6.0), draw.log(0.8, 6.0)
    draw.half_size = max(x, y)
    draw.electrode(_loop(x, y, rest), at=(x, y))


def grids(draw: Draw) -> None:
    """Small grids with rods."""
    draw.soil(draw.one_of(1, 2), thickness=(0.8, 5.0))
    depth, wire = draw.depth(0.3, 0.8), draw.even(0.006, 0.014)
    x, y = draw.even(2.0, 8.0), draw.even(2.0, 8.0)
    draw.half_size = max(x, y) / 2
    draw.electrode(
        f"kind: grid, name: grid, centre: [0 m, 0 m], size: [{x:g} m, {y:g} m], "
        f"meshes: [{draw.one_of(1, 2)}, {draw.one_of(1, 2)}], depth: {depth:g} m, "
        f"diameter: {1e3 * wire:g} mm",
        f"kind: rods, name: rods, length: {draw.log(1.0, 3.0):g} m, "
        f"diameter: {1e3 * draw.even(0.012, 0.02):g} mm, along: {{part: grid, count: "
        f"{draw.one_of(1, 2, 4)}}}",
        at=(float(f"{x / 2:g}"), float(f"{y / 2:g}")),
    )


def inclined(draw: Draw) -> None:
    """One to three inclined rods from one head."""
    draw.soil(draw.one_of(1, 2))
    count = draw.one_of(1, 1, 2, 3)
    top = draw.one_of(0.0, draw.even(0.1, 0.6)) if count == 1 else draw.even(0.1, 0.6)
    first, diameter = draw.even(0.0, 120.0), draw.even(0.010, 0.02)
    parts = []
    for k in range(count):
        length, tilt = draw.log(1.0, 4.0), draw.even(10.0, 65.0)
        turn = float(f"{first + 360 * k / count:.4g}")
        more = f", tilt: {tilt:g} deg, azimuth: {turn:g} deg"
        part = _rod(length=length, top=top, diameter=diameter, more=more)
        parts.append(part.replace("name: rod at 0 0", f"name: rod {k + 1}"))
        draw.half_size = max(draw.half_size, length * np.sin(np.radians(tilt)))
    draw.half_size = float(f"{draw.half_size:.4g}")
    draw.electrode(*parts)


def films(draw: Draw) -> None:
    """Rods, loops and stars with a film, or level metal coated or in fill."""
    draw.soil(draw.one_of(1, 2), thickness=(0.8, 4.0))
    film = f", contact_resistivity: {draw.log(0.01, 2.0):g} ohm*m^2"
    coat = (
        f", coating: {{thickness: {draw.log(0.2, 2.0):g} mm, "
        f"resistivity: {draw.log(30, 3e4):g} ohm*m}}"
    )
    kind = draw.one_of("rod", "rod", "ring", "loop", "star")
    if kind == "rod":
        top = draw.one_of(0.0, draw.even(0.2, 0.8))
        length, more = draw.log(1.0, 4.0), draw.one_of(film, coat)
        draw.electrode(_rod(length=length, top=top, diameter=0.016, more=more))
        return
    radius, depth = draw.log(1.0, 5.0), draw.depth(0.3, 0.8, clear=0.15)
    fill = (
        f", backfill: {{diameter: {draw.even(0.06, 0.2):g} m, "
        f"resistivity: {draw.log(0.5, 20):g} ohm*m}}"
    )
    rest = f"depth: {depth:g} m, diameter: 10 mm"
    draw.half_size = radius
    if kind == "star":
        draw.electrode(_star(3, radius, rest + film))
        return
    rest += draw.one_of(film, coat, fill)
    part = _ring(radius, rest) if kind == "ring" else _loop(radius, radius, rest)
    draw.electrode(part, at=(radius, 0.0))


def filled(draw: Draw) -> None:
    """Rods in fill with and without cover, in uniform soil or above a plane."""
    length, top = draw.log(0.8, 3.0), draw.one_of(0.0, 0.0, draw.even(0.3, 0.8))
    fill = draw.log(0.05, 0.3)
    cover = draw.one_of(0.0, draw.log(0.03, 0.2))
    cover = min(cover, float(f"{0.5 * top:.4g}")) if top else cover
    native = draw.log(20.0, 1000.0)
    filling = draw.log(0.5, 20.0) if draw.one_of(True, True, False) else draw.log(50.0, 1000.0)
    draw.layers = [(native, None)]
    if draw.one_of(True, False):
        below = float(f"{top + length + cover + draw.log(0.2, 2.0):.4g}")
        draw.layers = [(native, below), (draw.log(20.0, 1000.0), None)]
    more = (
        f", backfill: {{diameter: {fill:g} m, resistivity: {filling:g} ohm*m, "
        f"cover: {cover:g} m}}"
    )
    diameter = draw.even(0.012, 0.02)
    draw.electrode(_rod(length=length, top=top, diameter=diameter, more=more))


def groups(draw: Draw) -> None:
    """Two or three electrodes: driven, returning, floating."""
    draw.soil(draw.one_of(1, 2), thickness=(0.8, 5.0))
    second = draw.one_of("floating: true", f"current: {-draw.even(1.0, 10.0):g} A")
    kind = draw.one_of("rods", "ring and rod", "loop and posts")
    diameter = draw.even(0.012, 0.02)
    if kind == "rods":
        gap = draw.log(0.5, 5.0)
        draw.half_size = gap
        for place, drive in ((0.0, "current: 10 A"), (gap, second), (-gap, "floating: true")):
            if place < 0 and draw.one_of(True, False):
                continue
            draw.electrode(
                _rod(length=draw.log(1.0, 3.0), top=0.0, diameter=diameter, at=(place, 0.0)),
                drive=drive,
                at=(place, 0.0),
            )
        return
    radius, depth = draw.log(1.0, 4.0), draw.depth(0.3, 0.8)
    draw.half_size = radius
    rest = f"depth: {depth:g} m, diameter: 10 mm"
    if kind == "ring and rod":
        draw.electrode(_ring(radius, rest), at=(radius, 0.0))
        draw.electrode(
            _rod(length=draw.log(1.0, 3.0), top=0.0, diameter=diameter), drive=second
        )
        return
    draw.electrode(_loop(radius, radius, rest), at=(radius, radius))
    out = float(f"{radius + draw.log(0.4, 1.5):.4g}")
    draw.half_size = out
    posts = [
        _rod(length=0.7, top=0.0, diameter=0.05, at=place)
        for place in ((out, out), (out, -out), (-out, out), (-out, -out))
    ]
    draw.electrode(*posts, drive=second, at=(out, out))


def layered(draw: Draw) -> None:
    """Rods, rings and stars in three to six layers."""
    draw.soil(draw.one_of(3, 4, 5, 6), thickness=(0.25, 3.0), resistivity=(10.0, 2000.0))
    kind = draw.one_of("rod", "ring", "star")
    if kind == "rod":
        top = draw.one_of(0.0, draw.even(0.1, 0.8))
        draw.electrode(
            _rod(length=draw.log(1.0, 5.0), top=top, diameter=draw.even(0.012, 0.02))
        )
        return
    radius, depth = draw.log(1.0, 5.0), draw.depth(0.3, 0.9)
    draw.half_size = radius
    rest = f"depth: {depth:g} m, diameter: 10 mm"
    if kind == "ring":
        draw.electrode(_ring(radius, rest), at=(radius, 0.0))
        return
    draw.electrode(_star(3, radius, rest))


CLASSES: dict[str, Callable[[Draw], None]] = {
    "rods": rods,
    "tips": tips,
    "fat": fat,
    "heads": heads,
    "stars": stars,
    "rings": rings,
    "grids": grids,
    "inclined": inclined,
    "films": films,
    "filled": filled,
    "groups": groups,
    "layered": layered,
}


def drawn(name: str, *, seed: int, number: int, attempt: int = 0) -> str:
    """Case file of one class and number; another attempt draws it anew."""
    key = [seed, list(CLASSES).index(name), number, attempt]
    draw = Draw(np.random.default_rng(key))
    CLASSES[name](draw)
    return draw.text(f"{name} {number}" + (f", attempt {attempt + 1}" if attempt else ""))
