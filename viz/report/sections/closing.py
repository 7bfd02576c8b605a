"""What a reviewer looks for first: assumptions, cautions, references, origin."""

from collections.abc import Sequence
from datetime import datetime

from ....solver.results.result import Result
from ...cautions import cautions_of
from ...verdict_words import device_sources
from ...words.amounts import length
from ...words.text import say
from ..contents import Bullets, Cell, Listing, Origin, Paragraph, Section, Table

_ALONG = (
    "Metal has a voltage along it: of materials as stated, with inductance and its return "
    "through the soil. Touched metal has the voltage of the metal nearest to the foot in plan. "
    "The line that brings the fault current induces nothing unless it is a lead; steel has one "
    "permeability everywhere; potentials of the soil are those of direct current."
)


def assumptions_section(results: Sequence[Result]) -> Section:
    """What was taken for granted."""
    result = results[0]
    items: list[Cell] = [
        f"Soil is horizontal layers{_and_bodies(results)} of even resistivity without end "
        "sideways; slopes, ponds, basements, rock edges and buried metal that is not in the "
        "case are not modelled.",
        say("All metal of one {electrode} is at one potential, along its whole length.")
        if result.along is None
        else _ALONG,
        say("Voltages are effective values to {remote}, which is 0 V."),
        "Power frequency: soil acts as a resistance and does not dry out or break down "
        "under the "
        "current.",
    ]
    operation, verdict = result.operation, result.verdict
    if operation is None:
        items.append("Currents and voltages given to electrodes are taken as they are.")
    else:
        items.append(
            "Current divides only by the paths the circuit lists; nothing is induced from one "
            "of them into another; grounds of ladders stand far from each other."
        )
        if operation.circuit.x_over_r is None:
            items.append("X/R is not given: no decrement factor is applied.")
    if result.metals:
        reach = length(max(metal.reach for metal in result.metals))
        items.append(say("Metal can be touched from {} away in plan.", reach))
    items.append(
        say("Feet are {} apart in a step, in the worst direction.", length(result.surface.pace))
    )
    items.append(
        "Touch and step voltages are prospective: nobody stands there, and no body, shoes or "
        "surface layer is in the circuit."
    )
    if verdict is not None and verdict.judgements:
        items.append(
            "Body, feet and surface layers count in the limits, where they lie and as the "
            "limit "
            "set says; voltages within their numerical error of a limit do not pass, nor those "
            "within the voltage along the metal where that is large."
        )
        items.append("Only the exposures declared are judged, in the mapped area.")
    else:
        items.append("No limits are applied.")
    return Section("assumptions", "Assumptions", (Bullets(tuple(items)),))


def cautions_section(results: Sequence[Result]) -> Section:
    """What the trade always says, in the reader's words."""
    items: list[Cell] = [
        *cautions_of(results),
        "Treat every buried or bonded conductor as live until tested; lifting a bond can put "
        "the full voltage of the system between its two ends.",
        "Soil gets salted, too: a value of today is not that of August or January. Do not "
        "average soil readings; do not go by the model below the depth of the survey.",
        "Limits hold for healthy adults of the weight stated, on the path stated, for one "
        "shock: not for children, wet or immersed people, implants or animals where they do "
        "not say so.",
        say("A surface layer such as {rock} counts only where it lies, clean and drained."),
        "Voltages may be carried far by wires, pipes, rails and fences: tell their owners.",
        "Fault level, clearing time and layout change: study again after each.",
        say("One measured {resistance} that agrees does not prove the touch voltages."),
        "Default values are for learning; a design needs measured data.",
    ]
    return Section("cautions", "Cautions", (Bullets(tuple(items)),))


def _and_bodies(results: Sequence[Result]) -> str:
    """What stands beside the layers."""
    if not any(result.solution.soil.bodies for result in results):
        return ""
    return ", and the bodies of the case in them,"


def references_section(results: Sequence[Result]) -> Section:
    """Standards and methods that decided or checked something here."""
    found: dict[str, None] = {}
    for result in results:
        if result.verdict is not None:
            if result.verdict.heating is not None:
                found[result.verdict.heating.source] = None
            for item in result.verdict.judgements:
                if item.limit_source:
                    found[item.limit_source] = None
                for ground in item.grounds:
                    found[ground.limit.source] = None
        found |= dict.fromkeys(device_sources(result))
        for check in result.order_checks:
            found[f"{check.formula}: {check.source}"] = None
    items: list[Cell] = list(found)
    items.append(
        "Field: quadratic finite elements on tetrahedra, thin metal joined to them by smeared "
        "sources and a near field of images (benchmarks/method.md of ohmscape)."
    )
    note = Paragraph(
        "What says 'from memory' was not opened when it was written: hold it against the "
        "edition "
        "in force.",
        "note",
    )
    return Section("references", "References", (Bullets(tuple(items)), note))


def provenance_section(
    origin: Origin, *, made: datetime, tables: Sequence[tuple[str, str]] = ()
) -> Section:
    """Case file, hash, versions, date, and a place to sign.

    Parameters
    ----------
    tables : sequence of (str, str)
        Name and SHA-256 of each table that the case refers to.
    """
    rows: list[tuple[Cell, ...]] = [
        ("Case file", origin.case_file or "given as text"),
        ("SHA-256 of the case file", origin.case_hash),
    ]
    for name, digest in tables:
        rows += [("Table", name), ("SHA-256 of the table", digest)]
    zone = made.isoformat()[len(made.replace(tzinfo=None).isoformat()) :]
    when = f"{made:%Y-%m-%d %H:%M}" + (f" (UTC{zone})" if zone else "")
    rows.append(("Report made", when))
    rows += [(f"Version of {name}", number) for name, number in origin.versions.items()]
    signing = Table(
        ("", "Name", "Date", "Signature"),
        tuple((role, "", "", "") for role in ("Made by", "Checked by", "Approved by")),
    )
    return Section(
        "provenance",
        "Where this comes from",
        (
            Table(("", ""), tuple(rows)),
            signing,
            Listing("The case file in full", origin.case_text),
        ),
    )
