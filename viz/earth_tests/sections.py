"""Predicted earth tests as sections of a report: what a tester reads, and what pulls it off."""

import math
from collections.abc import Iterator, Sequence
from datetime import datetime

from ...solver.earth_tests import (
    ClampReading,
    DrivenRodTest,
    FallOfPotential,
    FallOfPotentialPlan,
    Prediction,
    golden,
)
from ...solver.wording import percent_text
from ..canvas.strips import figure_of
from ..report.contents import (
    Block,
    Bullets,
    CaseOrigin,
    Cell,
    Paragraph,
    Picture,
    Section,
    Table,
)
from ..report.pictures import figure_picture
from ..report.sections.closing import provenance_section
from ..soil_survey.from_sounding import soil_text
from ..words.amounts import length, ohms, resistivity, small_percent
from ..words.text import Text, in_units, say
from .cautions import earth_test_cautions
from .pictures import compared_tests, comparison_strip, driven_rod_strip, readings_strip
from .text import percent, setup_texts


def prediction_sections(predictions: Sequence[Prediction]) -> tuple[Section, ...]:
    """Sections on predicted tests: one for each test, its variants together, cautions last."""
    tests = []
    for number, item in enumerate(each for each in predictions if not each.variant):
        alike = [other for other in predictions if other.plan.name == item.plan.name]
        blocks = (_heading(item), *_blocks(item, alike, predictions), *_minded(alike))
        tests.append(Section(f"test{number + 1}", f"Earth test: {item.plan.name}", blocks))
    warning = Paragraph(earth_test_cautions[0], "warning")
    return (
        Section(
            "earth-tests", "Earth tests: what to expect", (warning, _overview(predictions))
        ),
        *tests,
        Section("test-cautions", "Cautions for earth tests", (Bullets(earth_test_cautions),)),
    )


def prediction_chapters(
    predictions: Sequence[Prediction], *, origin: CaseOrigin, made: datetime
) -> tuple[Section, ...]:
    """All of a report on predicted tests."""
    closing = provenance_section(origin, made=made, tables=origin.tables)
    return (*prediction_sections(predictions), closing)


def _condition(item: Prediction) -> str:
    return item.variant or "as it stands"


def _overview(predictions: Sequence[Prediction]) -> Table:
    """One line for each test and condition."""
    rows: list[tuple[Cell, ...]] = []
    for item in predictions:
        found = item.found
        if isinstance(found, FallOfPotential):
            what = (
                f"fall of potential, {percent_text(golden, decimals=1)} of the lead",
                _ohms(found.usual_reading),
                ohms(found.true_resistance, item.field_error * found.true_resistance),
                percent(found.usual_error),
            )
        elif isinstance(found, ClampReading):
            error = "–" if found.error is None else percent(found.error)
            true = "–" if found.true_resistance is None else _ohms(found.true_resistance)
            what = (f"two clamps round {found.around}", _ohms(found.reading), true, error)
        else:
            last = found.true_resistance[-1]
            what = (
                "driven rod, all of it",
                _ohms(float(found.reading[-1])),
                ohms(float(last), item.field_error * float(last)),
                percent(float(found.error[-1])),
            )
        rows.append((item.plan.name, _condition(item), *what))
    header = ("Test", "Condition", "Method", "Reads", "True", "Off by")
    return Table(header, tuple(rows), "± is the estimated error of the field.")


def _ohms(value: float) -> str:
    return "over-range" if math.isinf(value) else ohms(value)


def _heading(item: Prediction) -> Paragraph:
    """How the test is set up and how its field was found."""
    found, plan = item.found, item.plan
    if isinstance(found, FallOfPotential):
        assert isinstance(plan, FallOfPotentialPlan)
        left, lead = setup_texts(item)
        text = say(
            "Fall of potential on '{}', {}; current probe at {}, potential lead {}.",
            plan.electrode,
            left,
            length(found.leads.distance),
            f"{lead} with it" if found.leads.in_line else lead,
        )
    elif isinstance(found, ClampReading):
        text = say("Two clamps round '{}'.", found.around)
    else:
        probes = (length(found.leads.distance), length(found.potential_distance))
        text = say(
            "Rod driven step by step; current probe at {}, potential probe at {}.", *probes
        )
    return Paragraph(text + f" Field by {item.method}.")


def _blocks(
    item: Prediction, alike: Sequence[Prediction], predictions: Sequence[Prediction]
) -> Iterator[Block]:
    """Tables and pictures of one test."""
    found = item.found
    if isinstance(found, FallOfPotential):
        yield _leads(alike)
        yield from _curves(item, predictions)
        if len(found.distance):
            yield _readings(found)
    elif isinstance(found, ClampReading):
        yield _clamps(alike)
    else:
        yield figure_picture(
            lambda units: figure_of([driven_rod_strip(item, units=units)]),
            "Readings and apparent resistivity against the driven length, as it stands.",
        )
        yield from (_rod_table(each) for each in alike)


def _leads(alike: Sequence[Prediction]) -> Table:
    """What is read at 61.8 % and by slopes, for each condition and length of the lead."""
    rows: list[tuple[Cell, ...]] = []
    for item in alike:
        for test in (item.found, *item.others):
            assert isinstance(test, FallOfPotential)
            where: Text | str = "nowhere"
            if test.best:
                at = test.best[-1]
                along = percent_text(at / test.leads.distance, decimals=1)
                where = say("{} ({})", length(at), along)
            slope = "–"
            if test.slope is not None and test.slope.resistance is not None:
                slope = f"{ohms(test.slope.resistance)} ({percent(test.slope_error or 0.0)})"
            rows.append(
                (
                    _condition(item),
                    length(test.leads.distance),
                    ohms(test.true_resistance),
                    f"{ohms(test.usual_reading)} ({percent(test.usual_error)})",
                    where,
                    slope,
                    percent(test.change),
                )
            )
    usual = percent_text(golden, decimals=1)
    header = (
        "Condition", "Current probe at", "True", f"Read at {usual}", "Reads true at",
        "Slope method", "Change",
    )  # fmt: skip
    caption = say(
        "Change of the reading from a tenth of the lead nearer in to a tenth farther out; "
        "errors of the field about {}. Soil ",
        small_percent(alike[0].field_error),
    )
    for k, item in enumerate(alike):
        caption = caption + ("; " if k else "") + say("{}: {}", _condition(item), _soil(item))
    return Table(header, tuple(rows), caption + ".")


def _soil(item: Prediction) -> Text:
    return in_units(lambda units: soil_text(item.soil, units=units))


def _curves(item: Prediction, predictions: Sequence[Prediction]) -> Iterator[Picture]:
    """The test itself, then with other leads and in other conditions, where there are any."""
    yield figure_picture(
        lambda units: figure_of([readings_strip(item, units=units)]),
        "Reading against the place of the potential probe; below it what pulls the reading off "
        "the true value.",
    )
    if len(compared_tests(item, predictions, units="SI")) > 1:
        yield figure_picture(
            lambda units: figure_of([comparison_strip(item, predictions, units=units)]),
            "Readings over the true value, with other leads and in other conditions.",
        )


def _readings(found: FallOfPotential) -> Table:
    rows = tuple(
        (length(at), percent_text(share), ohms(reading), percent(error))
        for at, share, reading, error in found.rows
    )
    header = ("Potential probe at", "Of the lead", "Reads", "Off by")
    return Table(header, rows, "As it stands.")


def _clamps(alike: Sequence[Prediction]) -> Table:
    rows = []
    for item in alike:
        found = item.found
        assert isinstance(found, ClampReading)
        true = "–" if found.true_resistance is None else _ohms(found.true_resistance)
        rows.append((_condition(item), _ohms(found.reading), true, _ohms(found.rest)))
    header = ("Condition", "Clamps read", "True, its lead lifted", "Rest of the loop")
    return Table(header, tuple(rows))


def _rod_table(item: Prediction) -> Table:
    assert isinstance(item.found, DrivenRodTest)
    rows = tuple(
        (length(at), ohms(reading), ohms(true), percent(error), resistivity(rho))
        for at, reading, true, error, rho in item.found.rows
    )
    header = ("Driven", "Reads", "True", "Off by", "Apparent resistivity")
    caption = say("{}; soil {}.", _condition(item).capitalize(), _soil(item))
    return Table(header, rows, caption)


def _minded(alike: Sequence[Prediction]) -> list[Block]:
    """What to mind in a test; what holds in a variant only, named."""
    base = alike[0].findings
    items = list(base)
    for item in alike[1:]:
        items += [f"{item.variant}: {text}" for text in item.findings if text not in base]
    return [Bullets(tuple(items))] if items else []
