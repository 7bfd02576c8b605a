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
from ..cautions import ABOUT_EARTH_TESTS
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
from ..wording import length_unit, short, significant
from ..words.amounts import ohms, resistivity, small_percent
from ..words.text import Text, in_units, say
from .pictures import compared_tests, comparison_strip, driven_rod_strip, readings_strip


def percent(value: float) -> str:
    """Signed percentage with a true minus sign: −15.2 %."""
    return percent_text(value, decimals=1, signed=True)


def prediction_sections(predictions: Sequence[Prediction]) -> tuple[Section, ...]:
    """Sections on predicted tests: one for each test, its variants together, cautions last."""
    tests = [
        _section(item, key=f"test{number}", predictions=predictions)
        for number, item in enumerate((one for one in predictions if not one.variant), start=1)
    ]
    return (_first(predictions), *tests, _last)


def apart_sections(predictions: Sequence[Prediction]) -> tuple[Section, ...]:
    """The same with a section for each test in each condition, for readers without pictures."""
    tests = [_section(item, key="", predictions=[item]) for item in predictions]
    return (_first(predictions), *tests, _last)


_last = Section("test-cautions", "Cautions for earth tests", (Bullets(ABOUT_EARTH_TESTS),))


def _first(predictions: Sequence[Prediction]) -> Section:
    warning = Paragraph(ABOUT_EARTH_TESTS[0], "warning")
    blocks = (warning, _overview(predictions))
    return Section("earth-tests", "Earth tests: what to expect", blocks)


def _section(item: Prediction, *, key: str, predictions: Sequence[Prediction]) -> Section:
    """Section on a test, with what holds in its variants."""
    alike = [other for other in predictions if other.plan.name == item.plan.name]
    blocks = (_heading(item), *_blocks(item, alike, predictions), *_minded(alike))
    variant = f" ({item.variant})" if item.variant else ""
    return Section(key, f"Earth test: {item.plan.name}{variant}", blocks)


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


def _finely(value: float) -> str:
    """Reading to four figures, so that one can be told from the next."""
    return f"{significant(value, figures=4)} Ω"


def _driven(value: float) -> Text:
    return in_units(lambda units: f"{value * length_unit(units).factor:.2f}")


def _ohms(value: float) -> str:
    return "over-range" if math.isinf(value) else ohms(value)


def _heading(item: Prediction) -> Paragraph:
    """How the test is set up and how its field was found."""
    found, plan = item.found, item.plan
    if isinstance(found, FallOfPotential):
        assert isinstance(plan, FallOfPotentialPlan)
        left = "paths of the circuit connected" if plan.paths_connected else "paths lifted"
        degrees = short(round(math.degrees(found.leads.angle), 1))
        text = say(
            "Fall of potential on '{}'; current probe at {}, potential lead {}; {}.",
            plan.electrode,
            _far(found.leads.distance),
            "in line with it" if found.leads.in_line else f"{degrees}° off",
            left,
        )
    elif isinstance(found, ClampReading):
        text = say("Two clamps round '{}'.", found.around)
    else:
        probes = (_far(found.leads.distance), _far(found.potential_distance))
        text = say(
            "Rod driven step by step; current probe at {}, potential probe at {}.", *probes
        )
    error = percent_text(item.field_error, decimals=1)
    return Paragraph(text + f" Field by {item.method}, estimated error of resistances {error}.")


def _far(value: float) -> Text:
    """Distance of a probe, as it is paced out: to a tenth."""
    return in_units(
        lambda units: f"{value * length_unit(units).factor:.1f} {length_unit(units).symbol}"
    )


def _blocks(
    item: Prediction, alike: Sequence[Prediction], predictions: Sequence[Prediction]
) -> Iterator[Block]:
    """Tables and pictures of one test."""
    found = item.found
    if isinstance(found, FallOfPotential):
        yield _leads(alike)
        yield from _curves(item, predictions)
        if len(found.distance):
            yield _readings(item)
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
                where = say("{} ({})", _far(at), along)
            slope: Text | str = "–"
            found = test.slope
            if found is not None and found.place is not None and found.resistance is not None:
                slope = say(
                    "{} ({}) at {}, by {}",
                    ohms(found.resistance),
                    percent(test.slope_error or 0.0),
                    _far(found.place * test.leads.distance),
                    f"{found.coefficient:.2f}",
                )
            rows.append(
                (
                    _condition(item),
                    _far(test.leads.distance),
                    ohms(test.true_resistance),
                    f"{ohms(test.usual_reading)} ({percent(test.usual_error)})",
                    where,
                    slope,
                    percent(test.change),
                )
            )
    usual = percent_text(golden, decimals=1)
    header = (
        "Condition", "Current probe at", "True", f"Reading at {usual}", "Reads true at",
        "By slope", "Change",
    )  # fmt: skip
    caption = say(
        "Slope method with the place and the coefficient it takes. Change of the reading from "
        "a tenth of the lead nearer in to a tenth farther out; "
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


def _readings(item: Prediction) -> Table:
    assert isinstance(item.found, FallOfPotential)
    rows = tuple(
        (_far(at), percent_text(share), _finely(reading), percent(error))
        for at, share, reading, error in item.found.rows
    )
    header = ("Potential probe at", "Of the lead", "Reads", "Off by")
    return Table(header, rows, f"{_condition(item).capitalize()}.")


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
        (_driven(at), _finely(reading), _finely(true), percent(error), resistivity(rho))
        for at, reading, true, error, rho in item.found.rows
    )
    driven = in_units(lambda units: f"Rod driven [{length_unit(units).symbol}]")
    header = (driven, "Reads", "True", "Off by", "Apparent resistivity")
    caption = say("{}; soil {}.", _condition(item).capitalize(), _soil(item))
    return Table(header, rows, caption)


def _minded(alike: Sequence[Prediction]) -> list[Block]:
    """What to mind in a test; what holds in a variant only, named."""
    base = alike[0].findings
    items = list(base)
    for item in alike[1:]:
        items += [f"{item.variant}: {text}" for text in item.findings if text not in base]
    return [Bullets(tuple(items))] if items else []
