"""Tables of predicted earth tests."""

from collections.abc import Iterable, Sequence
from pathlib import Path

from ...solver.earth_tests import (
    ClampReading,
    DrivenRodTest,
    FallOfPotential,
    Prediction,
    golden,
)
from ...solver.wording import percent_text
from ..cautions import ABOUT_EARTH_TESTS
from ..tables.csv_files import write_table

_table_names = ("earth-tests.csv", "earth-test-readings.csv", "driven-rods.csv")

_summary_header = (
    "test", "variant", "method", "current probe at [m]", "true resistance [ohm]",
    "reading [ohm]", "error [%]", "change over a fifth of the lead [%]", "reads true at [m]",
    "slope coefficient", "slope place [m]", "slope resistance [ohm]", "slope error [%]",
)  # fmt: skip
_reading_header = (
    "test", "variant", "current probe at [m]", "potential probe x [m]", "potential probe y [m]",
    "potential probe at [m]", "share of the lead [%]", "reading [ohm]",
    "true resistance [ohm]", "error [%]",
)  # fmt: skip
_rod_header = (
    "test", "variant", "driven length [m]", "reading [ohm]", "true resistance [ohm]",
    "error [%]", "apparent resistivity [ohm*m]",
)  # fmt: skip
_empty = float("nan")

Row = Sequence[object]


def write_test_tables(
    predictions: Sequence[Prediction], folder: Path, *, title: str
) -> list[Path]:
    """Write what testers read into a folder: all tests, places of the probe, driven rods."""
    notes = [" ".join(title.split()), *ABOUT_EARTH_TESTS]
    usual = (
        f"Fall of potential: reading at {percent_text(golden, decimals=1)} of the current lead."
    )
    what = (
        "Reading: voltage between electrode and potential probe, over the current; the current "
        "probe is an electrode in the same soil."
    )
    tables = [
        ([*notes, usual], _summary_header, _summary_rows(predictions)),
        ([*notes, what], _reading_header, _reading_rows(predictions)),
    ]
    if any(isinstance(item.found, DrivenRodTest) for item in predictions):
        tables.append((notes, _rod_header, _rod_rows(predictions)))
    return [
        write_table(folder / name, notes=lines, header=header, rows=rows)
        for name, (lines, header, rows) in zip(_table_names, tables, strict=False)
    ]


def _summary_rows(predictions: Sequence[Prediction]) -> Iterable[Row]:
    """One for each test and distance of the current probe, then one for each clamp reading."""
    for item, test in _moved(predictions):
        coefficient, place, resistance = _empty, _empty, _empty
        if (slope := test.slope) is not None:
            coefficient = slope.coefficient
            if slope.place is not None and slope.resistance is not None:
                place, resistance = slope.place * test.leads.distance, slope.resistance
        yield (
            item.plan.name, item.variant, "fall of potential", test.leads.distance,
            test.true_resistance, test.usual_reading, 100 * test.usual_error,
            100 * test.change, test.best[-1] if test.best else _empty,
            coefficient, place, resistance,
            _empty if test.slope_error is None else 100 * test.slope_error,
        )  # fmt: skip
    for item in predictions:
        found = item.found
        if isinstance(found, ClampReading):
            true = _empty if found.true_resistance is None else found.true_resistance
            error = _empty if found.error is None else 100 * found.error
            names = (item.plan.name, item.variant, "two clamps")
            yield (*names, _empty, true, found.reading, error, *[_empty] * 6)


def _reading_rows(predictions: Sequence[Prediction]) -> Iterable[Row]:
    for item, test in _moved(predictions):
        points = test.leads.potential_points(test.distance).tolist()
        for (x, y, _), (at, share, reading, error) in zip(points, test.rows, strict=True):
            yield (
                item.plan.name, item.variant, test.leads.distance, x, y, at, 100 * share,
                reading, test.true_resistance, 100 * error,
            )  # fmt: skip


def _rod_rows(predictions: Sequence[Prediction]) -> Iterable[Row]:
    for item in predictions:
        if isinstance(item.found, DrivenRodTest):
            for length, reading, true, error, rho in item.found.rows:
                yield (item.plan.name, item.variant, length, reading, true, 100 * error, rho)


def _moved(predictions: Sequence[Prediction]) -> Iterable[tuple[Prediction, FallOfPotential]]:
    """Fall-of-potential tests with each distance of the current probe."""
    for item in predictions:
        for test in (item.found, *item.others):
            if isinstance(test, FallOfPotential):
                yield item, test
