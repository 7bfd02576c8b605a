"""How often the 90 % ranges of resistance and touch voltage hold the truth, over made surveys.

    python benchmarks/doubted_soils.py 100 [SEED]

Draws so many soils of two layers, reads each with 7 % of scatter at ten spacings, fits the
number of layers that the readings support, and draws soils as probable as the readings leave
them. A pad (ring and four rods) is tried in each by thin conductors, and in the true soil.
Prints how often the truth lies between 5 and 95 % of the draws, and the soils where it does
not.
"""

import sys
from collections.abc import Iterator

import numpy as np

from ohmscape.cases.loading import load_case
from ohmscape.jobs.trying import Trials
from ohmscape.jobs.uncertainty import Drawn, draw_case
from ohmscape.solver.errors import TrustError
from ohmscape.solver.model import Soil
from ohmscape.solver.soil_survey import FourPinReadings, Sounding, Survey, fit_survey
from ohmscape.solver.soil_survey.four_pin_model import wenner_resistivity
from ohmscape.solver.soil_survey.posterior import posterior_soils

SPACINGS = np.array([0.5, 1.0, 1.5, 2.0, 3.0, 4.0, 6.0, 8.0, 12.0, 16.0])
SCATTER = 0.07
DRAWS = 48


def soils(count: int, seed: int) -> Iterator[Soil]:
    """Two layers of 20 to 1500 Ω·m, the upper one 0.7 to 5 m thick, twice apart at least."""
    chance = np.random.default_rng(seed)
    while count:
        one, other = np.exp(chance.uniform(np.log(20), np.log(1500), 2))
        thickness = float(np.exp(chance.uniform(np.log(0.7), np.log(5.0))))
        if max(one, other) > 2 * min(one, other):
            count -= 1
            yield Soil((float(one), float(other)), (thickness,))


def read(soil: Soil, seed: int) -> Survey:
    """Two traverses over a soil."""
    noise = SCATTER * np.random.default_rng(seed).standard_normal(2 * len(SPACINGS))
    spacing = np.concatenate([SPACINGS, SPACINGS])
    resistivity = wenner_resistivity(spacing, soil=soil) * np.exp(noise)
    readings = FourPinReadings.wenner(spacing, resistance=resistivity / (2 * np.pi * spacing))
    return Survey.of(readings, name="made")


def answers(soil: Soil) -> tuple[float, float]:
    """Resistance and touch voltage of the pad of `pad-in-doubt` in a soil."""
    case = load_case("pad-in-doubt")
    plan = case.uncertainty
    assert plan is not None
    drawn = Drawn(1, tuple(item.at(0.5) for item in plan.inputs), soil)
    condition = Trials().evaluation(draw_case(case, plan, drawn)).conditions[0]
    touch = next(item for item in condition.met if item.exposure == "at the cabinet")
    return condition.resistance, touch.voltage


def main(count: int, seed: int) -> None:
    """Print the table."""
    held, layers, refused = [], [], 0
    for number, soil in enumerate(soils(count, seed)):
        fit = fit_survey(read(soil, seed * 1000 + number), most_layers=3)
        sounding = Sounding.of(fit, layers=fit.supported)
        try:
            drawn = posterior_soils(sounding, spacing=2.7, seed=number)
        except TrustError as error:
            refused += 1
            print(f"{soil}: {error}", flush=True)
            continue
        shares = (np.arange(DRAWS) + 0.5) / DRAWS
        found = np.array([answers(one) for one in drawn.at(shares)])
        true = np.array(answers(soil))
        low, high = np.quantile(found, (0.05, 0.95), axis=0)
        held.append((low <= true) & (true <= high))
        layers.append(fit.supported)
        if not held[-1].all():
            what = ", ".join(
                f"{name} {value:.4g} not in {one:.4g} to {other:.4g}"
                for name, value, one, other, inside in zip(
                    ("resistance", "touch"), true, low, high, held[-1], strict=True
                )
                if not inside
            )
            print(f"{soil}, {fit.supported} layers fitted: {what}", flush=True)
    share = np.mean(held, axis=0)
    print(f"{len(held)} surveys, {refused} refused; layers fitted: {np.bincount(layers)}")
    print(
        f"90 % ranges hold the resistance in {share[0]:.0%}, "
        f"the touch voltage in {share[1]:.0%}"
    )


if __name__ == "__main__":
    main(int(sys.argv[1]), int((sys.argv[2:3] or ["1"])[0]))
