"""Tables as CSV: what each column is and between which points each voltage is stands on top."""

from collections.abc import Callable, Iterable, Sequence
from functools import partial
from pathlib import Path
from typing import Any

import numpy as np

from ..progress import Progress, parts, untold
from ..solver.drives import in_phase
from ..solver.limits import duration_in_words
from ..solver.model import Phasors
from ..solver.result import Profile, Result
from ..solver.verdict import Verdict
from ..solver.worst import WorstVoltage
from .csv_tables import write_table
from .profiles import step_along
from .sounding_tables import write_sounding_tables
from .wording import cautions_of, file_stems, prospective, reference


def write_tables(
    result: Result, folder: str | Path, *, progress: Progress = untold
) -> list[Path]:
    """Write the tables of a result as CSV files into a folder that exists, in SI units.

    Lines that begin with # say what the table is; then one header line with units. A place
    out of reach of a metal has an empty touch voltage.

    Parameters
    ----------
    result : Result
        What to write.
    folder : str or Path
        Where to.
    progress : callable, optional
        Told the name of each file as it is begun, and the share of the work done by then.

    Returns
    -------
    files : list of Path
        The files written, in order.
    """
    target = Path(folder)
    stems = file_stems(tuple(profile.name for profile in result.profiles))
    steps: list[tuple[str, Callable[[Path], None]]] = [
        ("electrodes.csv", partial(_write_electrodes, result)),
        ("parts.csv", partial(_write_parts, result)),
        ("worst.csv", partial(_write_worst, result)),
        *(
            [("verdict.csv", partial(_write_verdict, result, result.verdict))]
            if result.verdict is not None
            else []
        ),
        ("surface.csv", partial(_write_surface, result)),
        ("leakage.csv", partial(_write_leakage, result)),
    ]
    for profile, stem in zip(result.profiles, stems, strict=True):
        steps.append((f"profile-{stem}.csv", partial(_write_profile, result, profile)))
    files = []
    for (name, write), told in zip(steps, parts(progress, [1.0] * len(steps)), strict=True):
        told(name, 0.0)
        write(target / name)
        files.append(target / name)
    if result.sounding is not None:
        files += write_sounding_tables(result.sounding, target, title=result.title)
    return files


def _write(
    path: Path,
    *,
    result: Result,
    notes: Sequence[str],
    header: Sequence[str],
    rows: Iterable[Sequence[object]],
) -> None:
    """Write one table of a result, headed by its case and what to mind."""
    top = (" ".join(result.title.split()), f"case SHA-256 {result.case_hash}")
    notes = (*top, *notes, *cautions_of(result))
    write_table(path, notes=notes, header=header, rows=rows)


def _phasor(values: Any, *, like: Phasors) -> list[Any]:
    """Columns of an effective value: one, or real and imaginary part out of phase."""
    return [np.real(values), np.imag(values)] if np.iscomplexobj(like) else [np.real(values)]


def _phasor_heading(name: str, unit: str, *, like: Phasors) -> list[str]:
    if not np.iscomplexobj(like):
        return [f"{name} [{unit}]"]
    return [
        f"{name}, in phase with the largest rise [{unit}]",
        f"{name}, 90 deg ahead [{unit}]",
    ]


def _write_electrodes(result: Result, path: Path) -> None:
    point = result.operating
    rows = [
        (
            name,
            drive.kind,
            *_phasor(point.voltage[k], like=point.voltage),
            *_phasor(point.current[k], like=point.voltage),
            result.resistance(k),
        )
        for k, (name, drive) in enumerate(zip(result.group_names, result.drives, strict=True))
    ]
    _write(
        path,
        result=result,
        notes=[
            reference,
            "Current flows from the electrode into the soil; negative where it returns.",
            "Resistance: to remote earth, of the electrode and all bonded to it, with the "
            "others carrying no net current.",
        ],
        header=[
            "electrode",
            "drive",
            *_phasor_heading("rise", "V", like=point.voltage),
            *_phasor_heading("current", "A", like=point.voltage),
            "resistance [ohm]",
        ],
        rows=rows,
    )


def _write_parts(result: Result, path: Path) -> None:
    metal = result.solution.conductors
    current = result.field.part_current()
    length = np.bincount(metal.part, weights=metal.length, minlength=len(metal.part_names))
    rows = []
    for part, name in enumerate(metal.part_names):
        group = int(metal.group[metal.part == part][0])
        whole = result.operating.current[group]
        # A floating electrode carries no net current to have a share of.
        floating = abs(whole) < 1e-6 * float(np.abs(current).sum())
        share = float("nan") if floating else 100 * float(np.real(current[part] / whole))
        amperes = _phasor(current[part], like=current)
        rows.append((result.group_names[group], name, float(length[part]), *amperes, share))
    _write(
        path,
        result=result,
        notes=[
            "Current flows from the part into the soil; negative where it enters the metal.",
            "Share: of the net current of its electrode; empty where that is zero.",
        ],
        header=[
            "electrode",
            "part",
            "length [m]",
            *_phasor_heading("current", "A", like=current),
            "share [%]",
        ],
        rows=rows,
    )


def _write_worst(result: Result, path: Path) -> None:
    def row(worst: WorstVoltage) -> tuple[object, ...]:
        other = worst.other_foot or (float("nan"), float("nan"))
        return (worst.kind, worst.name, worst.voltage, *worst.foot, *other)

    _write(
        path,
        result=result,
        notes=[
            "Touch: between the named metal and the foot, the largest within reach in the "
            "mapped area.",
            "Step: between the foot and the other foot, a pace of "
            f"{result.surface.pace:.9g} m away, the largest in the mapped area.",
            prospective,
        ],
        header=["kind", "metal", "voltage [V]", "foot x [m]", "foot y [m]", "other foot x [m]",
                "other foot y [m]"],
        rows=[row(worst) for worst in result.worst],
    )  # fmt: skip


def _write_verdict(result: Result, verdict: Verdict, path: Path) -> None:
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
        )
        for item in verdict.judgements
        for rank, place in enumerate(item.places, start=1)
    ]
    _write(
        path,
        result=result,
        notes=[
            f"Duration of the fault: {duration_in_words(verdict.longest)}; "
            f"{verdict.duration_words}.",
            f"Voltages include growth x {verdict.growth_factor:.6g} and decrement x "
            f"{verdict.decrement_factor:.6g}.",
            "The worst places of each exposure, worst first. Touch: between metal and foot; "
            "step: between the feet; hands: between two metals; transferred: between metal and "
            "a foot where it is carried to, remote earth where no place stands.",
            "Above 100 % of the limit is unsafe. Error: estimated, numerical.",
            prospective,
        ],
        header=["exposure", "kind", "metal", "outcome", "rank", "ground", "foot x [m]",
                "foot y [m]", "other foot x [m]", "other foot y [m]", "voltage [V]",
                "permissible [V]", "share [%]", "error [V]", "duration [s]",
                "body current [A]", "loaded voltage [V]", "zone", "limit", "how", "source",
                "remark"],
        rows=rows,
    )  # fmt: skip


def _write_surface(result: Result, path: Path) -> None:
    surface = result.surface
    columns = [
        *surface.places.T,
        *_phasor(surface.potential, like=surface.potential),
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
    _write(
        path,
        result=result,
        notes=[
            reference,
            "Potential: between the soil surface here and remote earth.",
            f"Step: between a foot here and a foot {surface.pace:.9g} m away, in the direction "
            "of the largest voltage, counted from the x axis towards y.",
            *touches,
            prospective,
        ],
        header=[
            "x [m]",
            "y [m]",
            *_phasor_heading("potential", "V", like=surface.potential),
            "step [V]",
            "step direction [deg]",
            *[f"touch '{metal.name}' [V]" for metal in result.metals],
        ],
        rows=np.column_stack(columns).tolist(),
    )


def _write_leakage(result: Result, path: Path) -> None:
    elements, metal = result.solution.elements, result.solution.conductors
    middle, leakage = elements.middle.tolist(), in_phase(result.field.leakage).tolist()
    length = elements.length.tolist()
    rows = (
        (
            result.group_names[int(elements.group[k])],
            metal.part_names[int(metal.part[elements.piece[k]])],
            *middle[k],
            length[k],
            leakage[k],
        )
        for k in range(len(elements))
    )
    _write(
        path,
        result=result,
        notes=[
            "One line for each line element: its middle (z up, the surface is z = 0), its "
            "length, and the current per length that leaves it; negative where it enters.",
        ],
        header=["electrode", "part", "x [m]", "y [m]", "z [m]", "length [m]", "leakage [A/m]"],
        rows=rows,
    )


def _write_profile(result: Result, profile: Profile, path: Path) -> None:
    differences = [np.abs(voltage - profile.potential) for voltage in result.operating.voltage]
    columns = [
        profile.distance,
        *profile.points.T,
        *_phasor(profile.potential, like=profile.potential),
        *differences,
        step_along(profile, pace=result.surface.pace),
    ]
    _write(
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
            *_phasor_heading("potential", "V", like=profile.potential),
            *[f"to '{name}' [V]" for name in result.group_names],
            "step along the line [V]",
        ],
        rows=np.column_stack(columns).tolist(),
    )
