"""Tables of voltages at places: the worst, those judged, of the surface, along profiles."""

from pathlib import Path

import numpy as np

from ...solver.exposure.worst import WorstVoltage
from ...solver.limits import duration_in_words
from ...solver.results.result import Profile, Result
from ...solver.verdict import StepOutline, Verdict
from ..profiles import step_along
from ..wording import prospective, reference
from .result_table import phasor_columns, phasor_heading, write_result_table

_signs = (
    "Signed: metal less foot, foot less other foot, in phase with the largest rise; below zero "
    "the soil is above the metal."
)


def write_worst(result: Result, path: Path) -> None:
    """Write the worst touch and step voltages of the mapped area."""

    def row(worst: WorstVoltage) -> tuple[object, ...]:
        other = worst.other_foot or (float("nan"), float("nan"))
        signed = float("nan") if worst.signed is None else worst.signed
        return (worst.kind, worst.name, worst.voltage, *worst.foot, *other, signed)

    write_result_table(
        path,
        result=result,
        notes=[
            "Touch: between the named metal and the foot, the largest within reach in the "
            "mapped area.",
            "Step: between the foot and the other foot, a pace of "
            f"{result.surface.pace:.9g} m away, the largest in the mapped area.",
            _signs,
            prospective,
        ],
        header=["kind", "metal", "voltage [V]", "foot x [m]", "foot y [m]", "other foot x [m]",
                "other foot y [m]", "signed voltage [V]"],
        rows=[row(worst) for worst in result.worst],
    )  # fmt: skip


def write_verdict(result: Result, verdict: Verdict, path: Path) -> None:
    """Write the worst places of each exposure with their limits."""
    nowhere = (float("nan"), float("nan"))
    rows = [
        (
            item.name,
            item.kind,
            " to ".join(item.metals),
            item.outcome,
            rank,
            place.ground,
            *(place.foot or nowhere),
            *(place.other_foot or nowhere),
            place.voltage,
            place.limit.voltage,
            100 * place.share,
            item.error,
            item.duration,
            place.effect.body_current if place.effect else float("nan"),
            place.effect.loaded_voltage if place.effect else float("nan"),
            place.effect.zone if place.effect else "",
            item.limit_name,
            place.limit.words,
            place.limit.source,
            item.instead,
            item.protects,
            float("nan") if place.signed is None else place.signed,
            place.alike,
            item.drop,
        )
        for item in verdict.judgements
        for rank, place in enumerate(item.places, start=1)
    ]
    write_result_table(
        path,
        result=result,
        notes=[
            f"Duration of the fault: {duration_in_words(verdict.longest)}; "
            f"{verdict.duration_words}.",
            f"Voltages include growth x {verdict.growth_factor:.6g} and decrement x "
            f"{verdict.decrement_factor:.6g}.",
            "The worst places of each exposure, worst first; more alike: how many more were "
            "found with as large a share, as far from metal. Touch: between metal and foot; "
            "step: between the feet; hands: between two metals; transferred: between metal and "
            "a foot where it is carried to, remote earth where no place stands.",
            *(
                f"NOT JUDGED: {item.name}; {item.not_judged}"
                for item in verdict.judgements
                if item.not_judged
            ),
            _signs,
            "Above 100 % of the limit is unsafe. Error: estimated, numerical. Voltage along "
            "the metal: what voltages may be too low by, as metal is not at one potential; 0 "
            "where that is little.",
            prospective,
        ],
        header=["exposure", "kind", "metal", "outcome", "rank", "ground", "foot x [m]",
                "foot y [m]", "other foot x [m]", "other foot y [m]", "voltage [V]",
                "permissible [V]", "share [%]", "error [V]", "duration [s]",
                "body current [A]", "loaded voltage [V]", "zone", "limit", "how", "source",
                "remark", "protects", "signed voltage [V]", "more alike",
                "voltage along the metal [V]"],
        rows=rows,
    )  # fmt: skip


def write_step_outline(result: Result, outline: StepOutline, path: Path) -> None:
    """Write the closed outlines outside which steps are below the voltage asked for."""
    held = "" if outline.whole else "The mapped area does NOT hold all of the outline. "
    write_result_table(
        path,
        result=result,
        notes=[
            f"Outside these closed polygons steps are below {outline.voltage:.9g} V, growth "
            f"and decrement included. {held}The last corner is joined to the first.",
            prospective,
        ],
        header=["polygon", "x [m]", "y [m]"],
        rows=[
            (number, *corner)
            for number, polygon in enumerate(outline.polygons, start=1)
            for corner in polygon.tolist()
        ],
    )


def write_surface(result: Result, path: Path) -> None:
    """Write potential, step and touch voltages of the samples of the surface."""
    surface = result.surface
    columns = [
        *surface.places.T,
        *phasor_columns(surface.potential, like=surface.potential),
        surface.step,
        np.degrees(surface.step_direction),
        *surface.touch,
    ]
    touches = [
        f"Touch '{metal.name}': between that metal, at the potential of electrode "
        f"'{result.group_names[metal.group]}', and a foot here; empty beyond its reach of "
        f"{metal.reach:.9g} m."
        for metal in result.metals
    ]
    write_result_table(
        path,
        result=result,
        notes=[
            reference,
            "Potential: between the soil surface here and remote earth.",
            f"Step: between a foot here and a foot {surface.pace:.9g} m away, in the direction "
            "of the largest voltage, counted anticlockwise from the +x axis: from 0 up to 360 "
            "degrees.",
            *touches,
            prospective,
        ],
        header=[
            "x [m]",
            "y [m]",
            *phasor_heading("potential", "V", like=surface.potential),
            "step [V]",
            "step direction [deg]",
            *[f"touch '{metal.name}' [V]" for metal in result.metals],
        ],
        rows=np.column_stack(columns).tolist(),
    )


def write_profile(result: Result, profile: Profile, path: Path) -> None:
    """Write potential and voltages along one line."""
    differences = [np.abs(voltage - profile.potential) for voltage in result.operating.voltage]
    columns = [
        profile.distance,
        *profile.points.T,
        *phasor_columns(profile.potential, like=profile.potential),
        *differences,
        step_along(profile, pace=result.surface.pace),
    ]
    write_result_table(
        path,
        result=result,
        notes=[
            f"Profile '{profile.name}'. {reference}",
            "Potential: between the soil here and remote earth.",
            "To an electrode: between its metal and the soil here, whether or not a person "
            "can reach both; prospective (open circuit).",
            f"Step: from here to {result.surface.pace:.9g} m further along the line; empty "
            "where it ends sooner.",
        ],
        header=[
            "distance [m]",
            "x [m]",
            "y [m]",
            "z [m]",
            *phasor_heading("potential", "V", like=profile.potential),
            *[f"to '{name}' [V]" for name in result.group_names],
            "step along the line [V]",
        ],
        rows=np.column_stack(columns).tolist(),
    )
