"""The words of predicted earth tests: readings, errors, where to put the probes, cautions."""

import math
from collections.abc import Sequence

import numpy as np

from ...cases.earth_tests.plans import FallOfPotentialPlan
from ...jobs.earth_tests import Prediction
from ...solver.earth_tests import (
    ClampReading,
    DrivenRodTest,
    FallOfPotential,
    clamp_findings,
    potential_findings,
    rod_findings,
)
from ...solver.wording import percent_text
from ..soil_survey.from_sounding import soil_text
from ..terminal.lines import aligned, hanging, listed, page
from ..wording import length_unit, short, significant, with_unit

earth_test_cautions = (
    "Predicted by a model, for planning a test and for explaining one: no measurement. Noise, "
    "coupling of leads laid side by side, and metal that is not in the case are not in it.",
    "For qualified people to check and to carry out; local codes and licensed practice decide.",
    "During a fault of the system test leads and far probes can rise to kilovolts: insulated "
    "leads, gloves and mats, one person in charge, contact by radio; stop in thunder.",
    "Treat every conductor as live until tested. Lifting a neutral, ground or bond to test one "
    "electrode can put full system voltage between its two ends and on frames.",
    "Look for buried services before driving probes; keep people and animals away from them.",
    "Soil dries, freezes and gets salted: a value of one day is not that of the worst season.",
    "A true resistance, measured or predicted, says little about touch and step voltages.",
)


def predictions_text(predictions: Sequence[Prediction], *, title: str, units: str) -> str:
    """Predicted tests as lines of text.

    Parameters
    ----------
    units : {"SI", "US"}
        Lengths in metres or feet.
    """
    tests = [_prediction(item, units=units) for item in predictions]
    return page(title, [*tests, listed("Mind", earth_test_cautions, indent="  ")])


def findings_of(item: Prediction) -> tuple[str, ...]:
    """What to mind in one predicted test."""
    found = item.found
    if isinstance(found, FallOfPotential):
        assert isinstance(item.plan, FallOfPotentialPlan)
        return potential_findings(
            found,
            extent=item.extent,
            soil=item.soil,
            paths_connected=item.plan.paths_connected,
        )
    return clamp_findings(found) if isinstance(found, ClampReading) else rod_findings(found)


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
    for finding in findings_of(item):
        lines += hanging(f"! {finding}", indent="  ")
    return lines


def _moved_probe(item: Prediction, found: FallOfPotential, *, units: str) -> list[str]:
    unit, leads = length_unit(units), found.leads
    assert isinstance(item.plan, FallOfPotentialPlan)

    def metres(value: float) -> str:
        return f"{value * unit.factor:.1f} {unit.symbol}"

    degrees = math.degrees(leads.angle)
    lead = "in line" if leads.in_line else f"{short(round(degrees, 1))}° off"
    left = "paths of the circuit connected" if item.plan.paths_connected else "paths lifted"
    rows = [
        ("True resistance", "", with_unit(found.true_resistance, symbol="Ω"), ""),
        (
            "Reading at 61.8 %",
            metres(0.618034 * leads.distance),
            with_unit(found.usual_reading, symbol="Ω"),
            percent(found.usual_error),
        ),
        *(
            (
                "Reads true at",
                metres(at),
                "",
                f"{percent_text(at / leads.distance, decimals=1)} of the lead",
            )
            for at in found.best
        ),
        *_slope_row(found, metres),
    ]
    change = (
        f"  A tenth of the lead nearer in to a tenth farther out, the reading changes by "
        f"{percent(found.change)}"
    )
    return [
        f"  {item.plan.electrode}, {left}; current probe at {metres(leads.distance)}, "
        f"potential lead {lead}",
        *("  " + line for line in aligned(rows, right=2)),
        change,
        *_readings(found, units=units),
        *_other_distances(item, found, units=units),
    ]


def _slope_row(found: FallOfPotential, metres: object) -> list[tuple[str, str, str, str]]:
    slope = found.slope
    if slope is None or slope.place is None or slope.resistance is None:
        return []
    assert callable(metres)
    return [
        (
            f"Slope method ({slope.coefficient:.2f})",
            metres(slope.place * found.leads.distance),
            with_unit(slope.resistance, symbol="Ω"),
            percent(found.slope_error or 0.0),
        )
    ]


def _readings(found: FallOfPotential, *, units: str) -> list[str]:
    if not len(found.distance):
        return []
    unit = length_unit(units)
    rows = [(f"P at [{unit.symbol}]", "of lead", "reading [Ω]", "error")]
    for at, reading, error in zip(found.distance, found.reading, found.error, strict=True):
        rows.append(
            (
                f"{at * unit.factor:.1f}",
                percent_text(at / found.leads.distance),
                significant(float(reading), figures=4),
                percent(float(error)),
            )
        )
    return ["  Potential probe", *("    " + line for line in aligned(rows, right=3))]


def _other_distances(item: Prediction, found: FallOfPotential, *, units: str) -> list[str]:
    if not item.others:
        return []
    unit = length_unit(units)
    lead = f"C at [{unit.symbol}]"
    rows = [(lead, "61.8 % [Ω]", "error", "change", "true at", "slope error")]
    for test in (found, *item.others):
        true_at = "nowhere"
        if test.best:
            true_at = percent_text(test.best[-1] / test.leads.distance, decimals=1)
        slope = "none" if test.slope_error is None else percent(test.slope_error)
        rows.append(
            (
                f"{test.leads.distance * unit.factor:.1f}",
                significant(test.usual_reading, figures=4),
                percent(test.usual_error),
                percent(test.change),
                true_at,
                slope,
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
    rows = [
        (f"driven [{unit.symbol}]", "reading [Ω]", "true [Ω]", "error", "apparent [Ω·m]"),
        *(
            (
                f"{length * unit.factor:.2f}",
                *(significant(float(v), figures=4) for v in (reading, true)),
                percent(float(error)),
                significant(float(rho)),
            )
            for length, reading, true, error, rho in zip(
                found.driven_length,
                found.reading,
                found.true_resistance,
                found.error,
                found.apparent_resistivity,
                strict=True,
            )
        ),
    ]
    probes = np.array([found.leads.distance, found.potential_distance]) * unit.factor
    return [
        f"  Current probe at {probes[0]:.1f} {unit.symbol}, potential probe at {probes[1]:.1f} "
        f"{unit.symbol}",
        *("    " + line for line in aligned(rows, right=4)),
    ]
