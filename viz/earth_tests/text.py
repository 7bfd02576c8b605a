"""The words of predicted earth tests: readings, errors, where to put the probes, cautions."""

import math
from collections.abc import Sequence

from ...solver.earth_tests import (
    ClampReading,
    DrivenRodTest,
    FallOfPotential,
    FallOfPotentialPlan,
    Prediction,
)
from ...solver.wording import percent_text
from ..soil_survey.from_sounding import soil_text
from ..wording import length_unit, short, significant, with_unit
from ..words.lines import aligned, hanging, listed, page
from .cautions import earth_test_cautions


def predictions_text(predictions: Sequence[Prediction], *, title: str, units: str) -> str:
    """Predicted tests as lines of text.

    Parameters
    ----------
    units : {"SI", "US"}
        Lengths in metres or feet.
    """
    tests = [_prediction(item, units=units) for item in predictions]
    return page(title, [*tests, listed("Mind", earth_test_cautions, indent="  ")])


def percent(value: float) -> str:
    """Signed percentage with a true minus sign: −15.2 %."""
    return percent_text(value, decimals=1, signed=True)


def _prediction(item: Prediction, *, units: str) -> list[str]:
    found = item.found
    variant = f" ({item.variant})" if item.variant else ""
    lines = [
        f"{item.plan.name}{variant}",
        f"  Soil: {soil_text(item.soil, units=units)}",
        f"  Field by {item.method}, estimated error of resistances "
        f"{percent_text(item.field_error, decimals=1)}",
    ]
    if isinstance(found, FallOfPotential):
        lines += _moved_probe(item, found, units=units)
    elif isinstance(found, ClampReading):
        lines += _clamps(found)
    else:
        lines += _driven_rod(found, units=units)
    for finding in item.findings:
        lines += hanging(f"! {finding}", indent="  ")
    return lines


def setup_texts(item: Prediction) -> tuple[str, str]:
    """What of the circuit stays connected in a fall-of-potential test; how the leads lie."""
    assert isinstance(item.plan, FallOfPotentialPlan)
    assert isinstance(item.found, FallOfPotential)
    left = "paths of the circuit connected" if item.plan.paths_connected else "paths lifted"
    leads = item.found.leads
    degrees = short(round(math.degrees(leads.angle), 1))
    return left, "in line" if leads.in_line else f"{degrees}° off"


def _moved_probe(item: Prediction, found: FallOfPotential, *, units: str) -> list[str]:
    unit, leads, slope = length_unit(units), found.leads, found.slope
    assert isinstance(item.plan, FallOfPotentialPlan)
    left, lead = setup_texts(item)

    def at(value: float) -> str:
        return f"{value * unit.factor:.1f} {unit.symbol}"

    def ohms(value: float) -> str:
        return with_unit(value, symbol="Ω")

    usual = (at(0.618034 * leads.distance), ohms(found.usual_reading))
    rows = [
        ("True resistance", "", ohms(found.true_resistance), ""),
        ("Reading at 61.8 %", *usual, percent(found.usual_error)),
    ]
    for place in found.best:
        share = percent_text(place / leads.distance, decimals=1)
        rows.append(("Reads true at", at(place), "", f"{share} of the lead"))
    if slope is not None and slope.place is not None and slope.resistance is not None:
        read = (at(slope.place * leads.distance), ohms(slope.resistance))
        error = percent(found.slope_error or 0.0)
        rows.append((f"Slope method ({slope.coefficient:.2f})", *read, error))
    return [
        f"  {item.plan.electrode}, {left}; current probe at {at(leads.distance)}, potential "
        f"lead {lead}",
        *("  " + line for line in aligned(rows, right=2)),
        "  A tenth of the lead nearer in to a tenth farther out, the reading changes by "
        f"{percent(found.change)}",
        *_readings(found, units=units),
        *_other_distances(item, found, units=units),
    ]


def _readings(found: FallOfPotential, *, units: str) -> list[str]:
    if not len(found.distance):
        return []
    unit = length_unit(units)
    rows = [(f"P at [{unit.symbol}]", "of lead", "reading [Ω]", "error")]
    for at, share, reading, error in found.rows:
        read = significant(reading, figures=4)
        rows.append((f"{at * unit.factor:.1f}", percent_text(share), read, percent(error)))
    return ["  Potential probe", *("    " + line for line in aligned(rows, right=3))]


def _other_distances(item: Prediction, found: FallOfPotential, *, units: str) -> list[str]:
    if not item.others:
        return []
    unit = length_unit(units)
    rows = [
        (f"C at [{unit.symbol}]", "61.8 % [Ω]", "error", "change", "true at", "slope error")
    ]
    for test in (found, *item.others):
        true_at = "nowhere"
        if test.best:
            true_at = percent_text(test.best[-1] / test.leads.distance, decimals=1)
        rows.append(
            (
                f"{test.leads.distance * unit.factor:.1f}",
                significant(test.usual_reading, figures=4),
                percent(test.usual_error),
                percent(test.change),
                true_at,
                "none" if test.slope_error is None else percent(test.slope_error),
            )
        )
    return [
        "  Current probe farther away or nearer",
        *("    " + line for line in aligned(rows, right=5)),
    ]


def _clamps(found: ClampReading) -> list[str]:
    def value(ohms: float) -> str:
        return "over-range" if math.isinf(ohms) else with_unit(ohms, symbol="Ω")

    rows = [(f"Clamps round {found.around} read", value(found.reading))]
    if found.true_resistance is not None:
        rows.append(("True resistance, its lead lifted", value(found.true_resistance)))
    rows.append(("Rest of the loop", value(found.rest)))
    return ["  " + line for line in aligned(rows, right=1)]


def _driven_rod(found: DrivenRodTest, *, units: str) -> list[str]:
    unit = length_unit(units)
    rows = [(f"driven [{unit.symbol}]", "reading [Ω]", "true [Ω]", "error", "apparent [Ω·m]")]
    for length, reading, true, error, rho in found.rows:
        read, actual = (significant(value, figures=4) for value in (reading, true))
        driven = f"{length * unit.factor:.2f}"
        rows.append((driven, read, actual, percent(error), significant(rho)))
    current, potential = (
        f"{distance * unit.factor:.1f} {unit.symbol}"
        for distance in (found.leads.distance, found.potential_distance)
    )
    return [
        f"  Current probe at {current}, potential probe at {potential}",
        *("    " + line for line in aligned(rows, right=4)),
    ]
