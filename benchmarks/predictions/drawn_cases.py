"""Cases drawn at random, to hold against runs what `check` predicts of them.

Plain ones go from single rods to grids of 2 km and fields of 5,000 rods; whole ones are of the
size that people judge, with limits, profiles, variants, distances and surveys.
"""

import numpy as np

_contrast = 1000.0  # of layers; cases of more are refused
_small = 30.0  # m; wide metal through a face takes minutes


def plain_case(random: np.random.Generator) -> tuple[str, str]:
    """Name and text of a case of one electrode that is only mapped."""
    count = int(random.integers(1, 7))
    resistivity = np.exp(random.uniform(np.log(3.0), np.log(5000.0), count))
    while resistivity.max() > _contrast * resistivity.min():
        resistivity = np.exp(random.uniform(np.log(3.0), np.log(5000.0), count))
    thickness = np.exp(random.uniform(np.log(0.1), np.log(10.0), count - 1))
    layers = [f"{{resistivity: {value:.4g} ohm*m" for value in resistivity]
    layers = [
        f"{layer}, thickness: {thick:.3g} m}}"
        for layer, thick in zip(layers, thickness, strict=False)
    ] + [layers[-1] + "}"]
    kind = random.choice(["rod", "rods", "grid", "grid and rods", "ring"])
    length = float(random.uniform(1.0, 10.0))
    if kind == "rod":
        name = f"rod {length:.1f} m"
        part = f"kind: rod, at: [0 m, 0 m], top_depth: 0 m, length: {length:.3g} m"
    elif kind == "rods":
        side = int(np.exp(random.uniform(np.log(2), np.log(71))))
        apart = float(random.uniform(2.0, 10.0))
        name = f"{side * side} rods {apart * (side - 1):.0f} m"
        part = (
            f"kind: rods, length: {length:.3g} m, top_depth: 0 m, rectangle: {{corner: "
            f"[0 m, 0 m], size: [{apart * (side - 1):.4g} m, {apart * (side - 1):.4g} m], "
            f"per_side: [{side}, {side}], filled: true}}"
        )
    elif kind == "ring":
        width = float(np.exp(random.uniform(np.log(3.0), np.log(500.0))))
        name = f"ring {width:.0f} m"
        part = f"kind: ring, centre: [0 m, 0 m], ring_diameter: {width:.4g} m, depth: 0.7 m"
    else:
        side = float(np.exp(random.uniform(np.log(5.0), np.log(2000.0))))
        meshes = int(random.integers(1, 21))
        name = f"grid {side:.0f} m, {meshes} a side"
        part = (
            f"kind: grid, corner: [0 m, 0 m], size: [{side:.4g} m, {side:.4g} m], "
            f"meshes: [{meshes}, {meshes}], depth: {random.uniform(0.3, 1.0):.2g} m"
        )
        if kind == "grid and rods":
            name += ", rods"
            part += (
                f", diameter: 12 mm, name: grid}}, {{kind: rods, length: {length:.3g} m, "
                "along: {part: grid, every: 2}"
            )
    return (
        f"{name}, {count} layers",
        f"""
ohmscape: 1
title: drawn
soil: {{layers: [{", ".join(layers)}]}}
electrodes:
  - {{name: electrode, drive: {{current: 1 kA}}, parts: [{{{part}, diameter: 12 mm}}]}}
study: {{area: {{margin: 10 m}}}}
numerics: {{tolerance: 0.1}}
""",
    )


def whole_case(random: np.random.Generator) -> tuple[str, str]:
    """Name and text of a case with limits, profiles, variants, and more, as users have them."""
    side = float(np.exp(random.uniform(np.log(3.0), np.log(90.0))))
    kind = random.choice(["rod", "ring", "grid", "grid and rods"])
    side = min(side, 12.0) if kind == "rod" else side
    margin = 3 + (0.6 if kind == "rod" else 0.2) * side
    length = 2 + side / 20
    parts = {
        "rod": f"{{kind: rod, at: [0 m, 0 m], top_depth: 0 m, length: {length:.3g} m, ",
        "ring": f"{{kind: ring, centre: [0 m, 0 m], ring_diameter: {side:.3g} m, depth: 1 m, ",
    }
    meshes = int(random.integers(2, 9))
    grid = (
        f"{{kind: grid, name: grid, corner: [{-side / 2:.3g} m, {-side / 2:.3g} m], size: "
        f"[{side:.3g} m, {side:.3g} m], meshes: [{meshes}, {meshes}], depth: 0.6 m, "
    )
    part = parts.get(kind, grid) + "diameter: 12 mm}"
    if kind == "grid and rods":
        part += ", {kind: rods, length: 3 m, along: {part: grid, every: 2}, diameter: 14 mm}"
    touches, profiles = int(random.integers(0, 4)), int(random.integers(0, 4))
    variants, judged = int(random.integers(0, 4)), bool(random.integers(0, 4))
    surveyed, far = not random.integers(0, 4), not random.integers(0, 3)
    outlined, spacing = (
        bool(random.integers(0, 2)),
        (2 * margin + side) / random.uniform(60, 200),
    )
    fenced, shared = not random.integers(0, 3), not random.integers(0, 3)
    covered, priced = judged and not random.integers(0, 3), not random.integers(0, 4)
    bodied = not surveyed and side < _small and not random.integers(0, 3)
    # Soil with bodies has no shares, and no distances beyond the mesh.
    shared, far = shared and not bodied, far and not bodied
    around = 0.5 * side
    box = [(-around, -around), (around, -around), (around, around), (-around, around)]
    lines = [
        "ohmscape: 1",
        "title: drawn",
        *_soil_lines(random, surveyed=surveyed),
        *(["  bodies:", *_bodies(random, around=around)] if bodied else []),
        "electrodes:",
        f"  - {{name: electrode, drive: {{current: 300 A}}, parts: [{part}]}}",
        *([_fence(random, around=around)] if fenced else []),
        "study:",
        f"  area: {{margin: {margin:.3g} m, spacing: {spacing:.3g} m}}",
        *(["  soil_shares: true"] if shared else []),
    ]
    lines += ["  profiles:"] if profiles else []
    lines += [
        f"    - {{name: line {k}, start: [0 m, {k} m], end: [{side + 5 + k:.3g} m, {k} m]}}"
        for k in range(profiles)
    ]
    lines += ["  touch:"] if touches else []
    for k in range(touches):
        corners = ", ".join(
            f"[{x * (1 - k / 4):.3g} m, {y * (1 - k / 4):.3g} m]" for x, y in box
        )
        lines.append(f"    - {{name: metal {k}, electrode: electrode, polygon: [{corners}]}}")
    if judged:
        lines += [
            "safety:",
            "  duration: 0.5 s",
            "  limits: [{name: usual, ieee_80: {body: 50 kg}}]",
            "  exposures:",
            "    - {name: walking, step: anywhere, limit: usual}",
        ]
        lines += [
            f"    - {{name: at {k}, touch: metal {k}, limit: usual}}" for k in range(touches)
        ]
        lines += ["  step_outline: 20 V"] if outlined else []
        lines += ["  surface:", _gravel(random, around=around)] if covered else []
    if far:
        lines += ["distances:", "  levels: [{name: zone, potential: 100 V}]"]
        lines += ["  separations: [{name: neighbour, transfer: 0.05, rod: 2 m}]"]
    lines += ["variants:"] if variants else []
    for k in range(variants):
        what = f"soil: {_two_layers(random)}" if k < 2 else "study: {pace: 0.8 m}"
        if k == 1 and judged:
            what = "safety: {duration: 0.2 s}"
        lines.append(f"  - {{name: variant {k}, {what}}}")
    if priced and variants:
        lines += ["prices:", "  currency: EUR", "  rods: {each: 40, driven: 30, per: 1 m}"]
        lines += ["  conductors: [{section: 113 mm^2, price: 12, per: 1 m}]", "  joint: 20"]
        lines += ["  surface: {price: 90, per: 1 m^3}"]
    features = f"{touches} touched, {profiles} lines, {variants} variants"
    features += ", judged" * judged + ", surveyed" * surveyed + ", far" * far
    features += ", fenced" * fenced + ", shares" * shared + ", covered" * covered
    features += ", priced" * (priced and variants > 0) + ", bodies" * bodied
    return f"{kind} {side:.0f} m, {features}", "\n".join([*lines, ""])


def _fence(random: np.random.Generator, *, around: float) -> str:
    """Posts round it all that nothing drives."""
    side, count = 2 * around + 2.0, int(random.integers(3, 9))
    return (
        "  - {name: fence, drive: {floating: true}, parts: [{kind: rods, length: 0.8 m, "
        "top_depth: 0 m, diameter: 40 mm, rectangle: {corner: "
        f"[{-0.5 * side:.4g} m, {-0.5 * side:.4g} m], size: [{side:.4g} m, {side:.4g} m], "
        f"per_side: [{count}, {count}]}}}}]}}"
    )


def _soil_lines(random: np.random.Generator, *, surveyed: bool) -> list[str]:
    given = _survey(random) if surveyed else _two_layers(random)
    return ["soil:", f"  {given[1:-1]}"]


def _bodies(random: np.random.Generator, *, around: float) -> list[str]:
    """Ground beyond a plane through the metal, below it, or a block or basement beside it."""
    value = float(np.exp(random.uniform(np.log(5.0), np.log(3000.0))))
    off, kind = around + float(random.uniform(1.6, 3.0)), int(random.integers(0, 3))
    if kind == 0:
        line = f"[{0.3 * around:.3g} m, -1 m], [{0.5 * around:.3g} m, 1 m]"
        return [
            f"    - {{name: rock, kind: beyond, line: [{line}], side: right, top: 1.3 m, "
            f"bottomless: true, resistivity: {value:.3g} ohm*m}}"
        ]
    filled = "void: true" if kind == 1 else f"resistivity: {value:.3g} ohm*m"
    width, bottom = random.uniform(2.0, 8.0), random.uniform(1.0, 3.0)
    corner = f"[{-off - width:.3g} m, {-0.5 * width:.3g} m]"
    return [
        f"    - {{name: block, kind: box, corner: {corner}, "
        f"size: [{width:.3g} m, {width:.3g} m], top: 0 m, bottom: {bottom:.2g} m, {filled}}}"
    ]


def _gravel(random: np.random.Generator, *, around: float) -> str:
    """A surface layer over the metal and some of the ground about it."""
    half = around + float(random.uniform(0.0, 1.5))
    corners = [(-half, -half), (half, -half), (half, half), (-half, half)]
    polygon = ", ".join(f"[{x:.3g} m, {y:.3g} m]" for x, y in corners)
    laid = "resistivity: 2500 ohm*m, thickness: 0.1 m"
    return f"    - {{name: gravel, polygon: [{polygon}], {laid}}}"


def _two_layers(random: np.random.Generator) -> str:
    upper, lower = np.exp(random.uniform(np.log(20.0), np.log(900.0), 2))
    thick = float(np.exp(random.uniform(np.log(0.5), np.log(5.0))))
    return (
        f"{{layers: [{{resistivity: {upper:.3g} ohm*m, thickness: {thick:.2g} m}}, "
        f"{{resistivity: {lower:.3g} ohm*m}}]}}"
    )


def _survey(random: np.random.Generator) -> str:
    """A traverse over two layers, with some scatter."""
    upper, lower = np.exp(random.uniform(np.log(50.0), np.log(500.0), 2))
    thick, step = float(random.uniform(1.0, 4.0)), (lower - upper) / (lower + upper)
    number = np.arange(1, 200)
    readings = []
    for spacing in (0.5, 1, 2, 3, 4.5, 6, 9, 12, 18, 24):
        ratio = (2 * number * thick / spacing) ** 2
        images = step**number * (1 / np.sqrt(1 + ratio) - 1 / np.sqrt(4 + ratio))
        apparent = upper * (1 + 4 * images.sum()) * random.normal(1.0, 0.03)
        ohms = apparent / (2 * np.pi * spacing)
        readings.append(f"{{spacing: {spacing} m, resistance: {ohms:.3g} ohm}}")
    walked = f"{{name: walked, array: wenner, readings: [{', '.join(readings)}]}}"
    return f"{{survey: {{layers: 2, traverses: [{walked}]}}}}"
