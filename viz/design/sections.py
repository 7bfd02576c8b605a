"""Designs as sections of a report: the one chosen, its bill, the front, what a step buys."""

import math
from collections.abc import Sequence

from ...solver.design import Evaluation, Sizing, Step, Tried, side_by_side
from ..canvas.strips import figure_of
from ..report.contents import Block, Bullets, Cell, Paragraph, Section, Table
from ..report.pictures import figure_picture
from ..wording import share_text
from ..words.amounts import ohms
from ..words.bills import bill_amount, bill_name, cost_text
from ..words.text import say
from .pictures import front_strip, steps_strip
from .words import (
    ABOUT_DESIGNS,
    FRONT,
    condition_text,
    need_text,
    options_text,
    proof_text,
    signed_ohms,
    signed_volts,
    standing,
    worst_text,
)


def design_sections(sizing: Sizing) -> tuple[Section, ...]:
    """Sections on a search: what was found, the bill, designs side by side, steps."""
    found = (
        _found(sizing),
        _bill(sizing),
        _side_by_side(sizing),
        _steps(sizing),
        Section("design-cautions", "Cautions for designs", (Bullets(ABOUT_DESIGNS),)),
    )
    return tuple(section for section in found if section is not None)


def _found(sizing: Sizing) -> Section:
    """The design that is shown, whether it passes, and what is proven."""
    shown = sizing.shown
    assert shown.proof is not None  # what is shown has been solved
    need = shown.proof.deciding(sizing.targets)
    blocks: list[Block] = [Paragraph(ABOUT_DESIGNS[0], "warning")]
    if sizing.cheapest is not None:
        cost = cost_text(shown.cost, currency=sizing.currency)
        blocks.append(Paragraph(say("Cheapest that passes: {}", cost), "pass"))
    else:
        over = shown.worst(sizing.targets)
        words = "NO DESIGN PASSES; the nearest takes {} of what is allowed"
        blocks.append(Paragraph(say(words, share_text(over)), "fail"))
    blocks.append(Paragraph(options_text(sizing, shown)))
    if need is not None:
        blocks.append(
            Paragraph(say("Decides: {}, {}", need_text(need), _of_allowed(sizing, need.share)))
        )
    if unjudged := shown.proof.unjudged:
        blocks.append(Paragraph(f"Not judged or not kept: {', '.join(unjudged)}", "fail"))
    if melts := shown.proof.melts:
        blocks.append(Paragraph(f"NOT shown to survive the fault: {', '.join(melts)}", "fail"))
    blocks += [Paragraph(proof_text(sizing)), _by_condition(sizing)]
    return Section("design", "Design", tuple(blocks))


def _of_allowed(sizing: Sizing, share: float) -> str:
    reserve = sizing.targets.reserve
    kept = f" after a reserve of {100 * reserve:g} %" if reserve else ""
    return f"{share_text(share)} of what is allowed{kept}"


def _by_condition(sizing: Sizing) -> Table:
    """What the design reaches in each condition, by finite elements."""
    proof = sizing.shown.proof
    assert proof is not None  # what is shown has been solved
    exposures = list(dict.fromkeys(m.exposure for each in proof.conditions for m in each.met))
    rows = []
    for each in proof.conditions:
        by_name = {met.exposure: met for met in each.met}
        shares = (
            share_text(by_name[name].voltage / by_name[name].limit) if name in by_name else "–"
            for name in exposures
        )
        rise = f"{each.rise:,.0f} V"
        rows.append((condition_text(each), ohms(each.resistance), rise, *shares))
    return Table(
        ("Condition", "Resistance", "Rise", *exposures),
        tuple(rows),
        "Shares of each limit, by finite elements.",
    )


def _bill(sizing: Sizing) -> Section | None:
    lines = sizing.bills.get(sizing.shown.chosen, ())
    if not lines:
        return None
    rows: list[tuple[Cell, ...]] = []
    for line in lines:
        price = "" if line.price is None else f"{line.price:,.0f}"
        rows.append((bill_name(line), bill_amount(line), price))
    if sizing.currency is not None:
        total = sum(line.price or 0.0 for line in lines)
        rows.append(("together", "", f"{total:,.0f}"))
    header = ("What", "Amount", sizing.currency or "")
    return Section("design-bill", "Bill of quantities", (Table(header, tuple(rows)),))


def _side_by_side(sizing: Sizing) -> Section:
    few = len(sizing.tried) <= side_by_side
    title = "Designs side by side" if few else "Cost against what is left of the limits"
    shown = sorted(sizing.tried, key=lambda item: item.cost) if few else list(sizing.front)
    if sizing.cheapest is not None and sizing.cheapest not in shown:
        shown = sorted([*shown, sizing.cheapest], key=lambda item: item.cost)
    # Of few designs what each takes in every condition, of many in the worst alone.
    conditions = _conditions(sizing) if few else ()
    # What all of them have in common is not said again.
    varied = [
        k for k in range(len(sizing.choices)) if len({one.chosen[k] for one in shown}) > 1
    ]
    rows = tuple(_row(sizing, item, conditions, varied) for item in shown)
    tones = tuple(_tone(sizing, item) for item in shown)
    takes = tuple(f"Takes {name}" for name in conditions) or ("Takes",)
    header = (*(sizing.choices[k][0] for k in varied), "Cost", "Resistance", *takes, "Standing")
    where = "in each condition" if few else "in the worst condition"
    caption = (
        f"Takes: largest share of what is allowed, {where}. "
        "Resistance: the largest of any condition."
    )
    if not few:
        caption += f" {FRONT}"
    picture = figure_picture(
        lambda units: figure_of([front_strip(sizing, units=units)]),
        "Cost of each design tried against the largest share of what is allowed that it "
        "takes; the stepped line joins the front, the star is the cheapest that passes.",
    )
    table = Table(header, rows, caption, tones)
    return Section("design-front", title, (picture, table))


def _conditions(sizing: Sizing) -> tuple[str, ...]:
    """Names of the conditions in which designs are held against their targets."""
    best = sizing.shown.best
    return () if best is None else tuple(map(condition_text, best.conditions))


def _row(
    sizing: Sizing, item: Tried, conditions: Sequence[str], varied: Sequence[int]
) -> tuple[Cell, ...]:
    best = item.best
    takes: tuple[str, ...] = (worst_text(item, sizing),)
    if conditions and best is not None:
        alone = (Evaluation(best.method, (each,)) for each in best.conditions)
        shares = (each.worst(sizing.targets) for each in alone)
        takes = tuple("–" if math.isinf(share) else share_text(share) for share in shares)
    elif conditions:
        takes = ("–",) * len(conditions)
    options = sizing.options(item.chosen)
    return (
        *(options[k] for k in varied),
        cost_text(item.cost, currency=sizing.currency),
        "–" if best is None else ohms(best.resistance),
        *takes,
        "CHEAPEST that passes" if _is_cheapest(sizing, item) else standing(sizing, item),
    )


def _is_cheapest(sizing: Sizing, item: Tried) -> bool:
    return sizing.cheapest is not None and item.chosen == sizing.cheapest.chosen


def _tone(sizing: Sizing, item: Tried) -> str:
    if item.passes(sizing.targets):
        return "pass"
    return "" if item.may_pass(sizing.targets) else "fail"


def _steps(sizing: Sizing) -> Section | None:
    """What each single step buys or loses, and where more metal no longer helps."""
    if not sizing.steps:
        return None
    tables: list[Block] = [
        figure_picture(
            lambda units: figure_of([steps_strip(sizing, units=units)]),
            "Each single step from the design: what it costs more, and how it moves what the "
            "design takes of what is allowed.",
        ),
        _steps_table(sizing, sizing.steps, "Single steps, by thin conductors."),
    ]
    if sizing.onward:
        caption = (
            "The dearer steps that buy most, one after the other; after the last one no single "
            "step lowers what is taken by 1 % or more."
        )
        tables.append(_steps_table(sizing, sizing.onward, caption))
    else:
        tables.append(
            Paragraph("No dearer single step lowers what is taken by 1 % or more.", "note")
        )
    return Section("design-steps", "What a step more or less buys", tuple(tables))


def _steps_table(sizing: Sizing, steps: Sequence[Step], caption: str) -> Table:
    rows = tuple(
        (
            f"{step.choice}: {step.before} → {step.after}",
            cost_text(step.cost, currency=sizing.currency, signed=True),
            signed_ohms(step.ohms),
            signed_volts(step.volts(sizing.targets)),
            share_text(step.tried.thin.worst(sizing.targets)) if step.tried.thin else "–",
        )
        for step in steps
    )
    return Table(("Step", "Cost", "Resistance", "Deciding voltage", "Takes"), rows, caption)
