"""Time of soundings: curves, fits, soils that fit alike.

    python benchmarks/soundings.py

Seconds of the wall, the least of a few repetitions: the machine should be idle.
"""

from collections.abc import Callable
from time import perf_counter

import numpy as np

from ohmscape.solver.model import Soil
from ohmscape.solver.soil_survey import (
    DrivenRodReadings,
    FourPinReadings,
    Sounding,
    Survey,
    fit_survey,
    layered_rod_resistance,
    wenner_resistivity,
)
from ohmscape.solver.soil_survey.survey_model import SurveyModel

THREE = Soil((200.0, 40.0, 800.0), (1.0, 5.0))
FOUR = Soil((200.0, 40.0, 800.0, 100.0), (1.0, 5.0, 12.0))


def _noise(count: int) -> np.ndarray:
    return np.exp(0.03 * np.random.default_rng(3).standard_normal(count))


def pins(count: int, *, soil: Soil) -> Survey:
    """Four pins at equal distances from 0.5 to 50 m."""
    a = np.geomspace(0.5, 50.0, count)
    rho = wenner_resistivity(a, soil=soil) * _noise(count)
    return Survey.of(FourPinReadings.wenner(a, resistance=rho / (2 * np.pi * a)))


def rod(count: int) -> Survey:
    """A rod driven from 0.5 to 4 m."""
    length = np.linspace(0.5, 4.0, count)
    ohms = layered_rod_resistance(length, radius=0.008, soil=Soil((200.0, 40.0), (1.2,)))
    return Survey.of(
        DrivenRodReadings.single(length, radius=0.008, resistance=ohms * _noise(count))
    )


def seconds(work: Callable[[], object], *, repeat: int = 3) -> float:
    """Least time of a few repetitions."""
    found = []
    for _ in range(repeat):
        begin = perf_counter()
        work()
        found.append(perf_counter() - begin)
    return min(found)


def main() -> None:
    curve = pins(30, soil=FOUR)
    a, model = curve.spacing, SurveyModel.of(curve)
    logs = np.log([[*FOUR.resistivity, *FOUR.thickness]])
    many = np.repeat(logs, 100, axis=0)
    twelve = pins(12, soil=THREE)
    rows = [
        (
            "curve, 30 readings, 4 layers, from nothing",
            lambda: wenner_resistivity(a, soil=FOUR),
        ),
        ("the same, layouts prepared", lambda: model.log_resistivity(logs)),
        ("the same, 100 soils at once", lambda: model.log_resistivity(many)),
        ("fit, 12 readings, up to 3 layers", lambda: fit_survey(twelve, most_layers=3)),
        ("the same, robust", lambda: fit_survey(twelve, most_layers=3, robust=True)),
        ("fit, 12 readings, up to 4 layers", lambda: fit_survey(twelve)),
        (
            "the same with soils that fit alike",
            lambda: Sounding.of(fit_survey(twelve), layers=3),
        ),
        (
            "fit, 12 readings of a driven rod, up to 3 layers",
            lambda: fit_survey(rod(12), most_layers=3),
        ),
    ]
    for name, work in rows:
        print(f"{name:<50}{1e3 * seconds(work):>10.2f} ms")


if __name__ == "__main__":
    main()
