"""One case file in the making: numbers at random, soil and electrodes so far, the text."""

from dataclasses import dataclass, field

import numpy as np


@dataclass
class Draw:
    """One case being drawn: a generator of numbers, and the lines so far."""

    random: np.random.Generator
    layers: list[tuple[float, float | None]] = field(default_factory=list)
    electrodes: list[tuple[str, str, list[str]]] = field(default_factory=list)
    touched: list[tuple[str, float, float]] = field(default_factory=list)
    half_size: float = 1.0  # of the metal in plan [m]

    def even(self, low: float, high: float) -> float:
        """Drawn evenly, with four figures."""
        return float(f"{self.random.uniform(low, high):.4g}")

    def log(self, low: float, high: float) -> float:
        """Drawn evenly in the logarithm, with four figures."""
        return float(f"{np.exp(self.random.uniform(np.log(low), np.log(high))):.4g}")

    def one_of(self, *values):
        """One of the values, all alike likely."""
        return values[int(self.random.integers(len(values)))]

    def soil(self, count: int, *, thickness=(0.5, 5.0), resistivity=(10.0, 3000.0)) -> None:
        """Layers, drawn evenly in the logarithm."""
        for _ in range(count - 1):
            self.layers.append((self.log(*resistivity), self.log(*thickness)))
        self.layers.append((self.log(*resistivity), None))

    @property
    def planes(self) -> list[float]:
        """Depths of the planes between layers. [m]"""
        return np.cumsum([h for _, h in self.layers if h is not None]).tolist()

    def depth(self, low: float, high: float, *, clear: float = 0.06) -> float:
        """Depth of level metal, clear of planes."""
        for _ in range(200):
            depth = self.even(low, high)
            if all(abs(depth - plane) > clear for plane in self.planes):
                return depth
        return low

    def electrode(self, *parts: str, drive: str = "current: 10 A", at=(0.0, 0.0)) -> None:
        """An electrode of parts, with metal that is touched at a place."""
        name = f"electrode {len(self.electrodes) + 1}"
        self.electrodes.append((name, drive, list(parts)))
        self.touched.append((name, *at))

    def text(self, title: str) -> str:
        """The case file."""
        side = self.half_size + 3.0
        angle = self.random.uniform(0, 2 * np.pi)
        away = 1.6 * side
        start = self.random.uniform(-0.3, 0.3, 2) * self.half_size
        end = start + away * np.array([np.cos(angle), np.sin(angle)])
        lines = ["ohmscape: 1", f"title: {title}", "soil:", "  layers:"]
        for resistivity, thickness in self.layers:
            more = "" if thickness is None else f", thickness: {thickness:g} m"
            lines.append(f"    - {{resistivity: {resistivity:g} ohm*m{more}}}")
        lines.append("electrodes:")
        for name, drive, parts in self.electrodes:
            lines += [f"  - name: {name}", f"    drive: {{{drive}}}", "    parts:"]
            lines += [f"      - {{{part}}}" for part in parts]
        lines += [
            "study:",
            f"  area: {{corner: [{-side:g} m, {-side:g} m], "
            f"size: [{2 * side:g} m, {2 * side:g} m], spacing: {side / 12:.4g} m}}",
            f"  profiles: [{{name: line, start: [{start[0]:.4f} m, {start[1]:.4f} m], "
            f"end: [{end[0]:.4f} m, {end[1]:.4f} m], spacing: {away / 40:.4f} m}}]",
            "  touch:",
        ]
        for name, x, y in self.touched:
            lines.append(
                f"    - {{name: at {name}, electrode: {name}, points: [[{x:g} m, {y:g} m]]}}"
            )
        return "\n".join([*lines, "numerics: {second_opinion: never}", ""])
