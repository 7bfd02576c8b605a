"""Tables of predicted earth tests."""

from collections.abc import Iterable, Sequence
from pathlib import Path

from ...solver.earth_tests import ClampReading, DrivenRodTest, FallOfPotential, golden
from ...solver.wording import percent_text
from ..tables.csv_files import write_table

_reading_header = (
    "test", "variant", "current probe at [m]", "potential probe x [m]", "potential probe y [m]",
    "potential probe at [m]", "share of the lead [%]", "reading [ohm]",
    "true resistance [ohm]", "error [%]",
)  # fmt: skip
_summary_header = (
    "test", "variant", "method", "current probe at [m]", "true resistance [ohm]",
    "reading [ohm]", "error [%]", "change over a fifth of the lead [%]", "reads true at [m]",
    "slope coefficient", "slope place [m]", "slope resistance [ohm]", "slope error [%]",
)  # fmt: skip
_rod_header = (
    "test", "variant", "driven length [m]", "reading [ohm]", "true resistance [ohm]",
    "error [%]", "apparent resistivity [ohm*m]",
)  # fmt: skip

Named = tuple[str, str]  # test and variant


def write_readings(
    tests: Sequence[tuple[Named, FallOfPotential]], *, notes: Sequence[str], path: Path
) -> Path:
    """Write what the tester reads at each place of the potential probe.

    Parameters
    ----------
    tests : sequence of ((str, str), FallOfPotential)
        Names of test and variant, and the test.
    """
    notes = [
        *notes,
        "Reading: voltage between electrode and potential probe, over the current; the current "
        "probe is an electrode in the same soil.",
    ]
    return write_table(path, notes=notes, header=_reading_header, rows=_reading_rows(tests))


def _reading_rows(
    tests: Sequence[tuple[Named, FallOfPotential]],
) -> Iterable[Sequence[object]]:
    for names, test in tests:
        points = test.leads.potential_points(test.distance)
        for k, (x, y, _) in enumerate(points.tolist()):
            yield (
                *names, test.leads.distance, x, y, float(test.distance[k]),
                float(100 * test.distance[k] / test.leads.distance), float(test.reading[k]),
                test.true_resistance, float(100 * test.error[k]),
            )  # fmt: skip


def write_summary(
    tests: Sequence[tuple[Named, FallOfPotential]],
    *,
    clamped: Sequence[tuple[Named, ClampReading]],
    notes: Sequence[str],
    path: Path,
) -> Path:
    """Write one line for each test and distance of the current probe, and each clamp reading.

    Parameters
    ----------
    tests : sequence of ((str, str), FallOfPotential)
        Names of test and variant, and the test.
    clamped : sequence of ((str, str), ClampReading)
        Names of test and variant, and the reading of two clamps.
    """
    rows = [_summary_row(names, test) for names, test in tests]
    rows += [_clamp_row(names, reading) for names, reading in clamped]
    usual = percent_text(golden, decimals=1)
    notes = [*notes, f"Fall of potential: reading at {usual} of the current lead."]
    return write_table(path, notes=notes, header=_summary_header, rows=rows)


def _summary_row(names: Named, test: FallOfPotential) -> tuple[object, ...]:
    empty = float("nan")
    slope = test.slope
    found = slope is not None and slope.place is not None and slope.resistance is not None
    error = test.slope_error
    return (
        *names, "fall of potential", test.leads.distance, test.true_resistance,
        test.usual_reading, 100 * test.usual_error, 100 * test.change,
        test.best[-1] if test.best else empty,
        empty if slope is None else slope.coefficient,
        slope.place * test.leads.distance if found and slope and slope.place else empty,
        slope.resistance if found and slope else empty,
        empty if error is None else 100 * error,
    )  # fmt: skip


def _clamp_row(names: Named, found: ClampReading) -> tuple[object, ...]:
    empty = float("nan")
    true = empty if found.true_resistance is None else found.true_resistance
    error = empty if found.error is None else 100 * found.error
    return (*names, "two clamps", empty, true, found.reading, error, *[empty] * 6)


def write_driven_rods(
    tests: Sequence[tuple[Named, DrivenRodTest]], *, notes: Sequence[str], path: Path
) -> Path:
    """Write the readings of driven rods.

    Parameters
    ----------
    tests : sequence of ((str, str), DrivenRodTest)
        Names of test and variant, and the test.
    """
    rows = [
        (*names, *map(float, values))
        for names, test in tests
        for values in zip(
            test.driven_length,
            test.reading,
            test.true_resistance,
            100 * test.error,
            test.apparent_resistivity,
            strict=True,
        )
    ]
    return write_table(path, notes=notes, header=_rod_header, rows=rows)
