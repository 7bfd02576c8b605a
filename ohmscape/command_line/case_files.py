"""Commands for case files: check, new, plan, schema, seasons."""

from pathlib import Path

import click

from ..solver.errors import CaseError, Problem
from .common import read_case
from .streams import say


@click.command()
@click.argument("case")
def check(case: str) -> None:
    """Read CASE and say what was understood, without solving it.

    CASE is a file, or the name of a shipped case.
    """
    from ..jobs.understood import understood

    say(understood(read_case(case)))


@click.command()
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--like", metavar="NAME", help="Start from a shipped case or family instead.")
def new(file: Path, like: str | None) -> None:
    """Write a commented case to FILE, to start from."""
    from ..cases.loading import load_case
    from ..cases.shipped import (
        lesson_cases,
        shipped_case_path,
        shipped_cases,
        shipped_families,
        shipped_family_path,
    )
    from ..cases.starter import starter_case

    if file.exists():
        msg = f"'{file}' exists; name another file"
        raise CaseError([Problem(msg)])
    if not file.parent.is_dir():
        msg = f"no folder '{file.parent}'; make it first"
        raise CaseError([Problem(msg)])
    known = (*shipped_cases(), *lesson_cases(), *shipped_families())
    if like is not None and like not in known:
        msg = f"no shipped case '{like}'; there are {', '.join(known)}"
        raise CaseError([Problem(msg)])
    if like is None:
        file.write_text(starter_case(), encoding="utf-8")
    else:
        family = like in shipped_families()
        shipped = (
            shipped_family_path(like, ending=".yaml") if family else shipped_case_path(like)
        )
        tables = [shipped.parent / name for name, _ in load_case(shipped).source.tables]
        if family:
            tables.append(shipped_family_path(like, ending=".csv"))
        for table in tables:
            if (file.parent / table.name).exists():
                msg = f"'{file.parent / table.name}' exists, which the case reads; name a file "
                msg += "in another folder"
                raise CaseError([Problem(msg)])
        file.write_bytes(shipped.read_bytes())
        for table in tables:
            (file.parent / table.name).write_bytes(table.read_bytes())
            what = "a row for each site" if family else "which the case reads"
            say(f"Written to {file.parent / table.name}, {what}.")
    say(f"Written to {file}. Check it with: ohmscape check {file}")


@click.command()
@click.argument("drawing", type=click.Path(exists=True, dir_okay=False, path_type=Path))
@click.option(
    "-o",
    "--output",
    type=click.Path(path_type=Path),
    help="Case file to write; by default NAME.yaml beside the drawing.",
)
@click.option("--unit", help="What one unit of the drawing is, where it does not say: m, mm …")
def plan(drawing: Path, output: Path | None, unit: str | None) -> None:
    """Propose a commented case that takes its metal from DRAWING (DXF)."""
    from ..cases.drawings.proposal import proposed_case
    from ..cases.drawings.units import unit_name
    from ..cases.reading.size_limits import LARGEST_DRAWING

    file = output or drawing.with_suffix(".yaml")
    if file.exists():
        msg = f"'{file}' exists; name another file by -o"
        raise CaseError([Problem(msg)])
    if file.resolve().parent not in drawing.resolve().parents:
        msg = f"'{drawing}' is not in the folder of '{file}' or below; put it there"
        raise CaseError([Problem(msg)])
    if (size := drawing.stat().st_size) > LARGEST_DRAWING:
        msg = f"'{drawing}' has {size:,} bytes; at most {LARGEST_DRAWING:,} are read"
        raise CaseError([Problem(msg)])
    name = drawing.resolve().relative_to(file.resolve().parent).as_posix()
    stated = None if unit is None else unit_name(unit)
    file.write_text(proposed_case(drawing.read_bytes(), file=name, unit=stated), "utf-8")
    say(f"Written to {file}. Read it, then: ohmscape check {file}")


@click.command()
@click.option("--words", is_flag=True, help="Tables of all keys in words (Markdown) instead.")
def schema(words: bool) -> None:
    """Print the JSON Schema of case files, for editors that complete and check."""
    import json

    from ..cases.describing import described_keys
    from ..cases.schema import case_file_schema

    if words:
        say(described_keys())
        return
    say(json.dumps(case_file_schema(), indent=2, ensure_ascii=False))


@click.command()
@click.argument("case")
@click.option("--dry", default="1 m", help="How deep the top dries out; 1 m when left out.")
@click.option("--frost", default="0.8 m", help="How deep it freezes; 0.8 m when left out.")
def seasons(case: str, dry: str, frost: str) -> None:
    """Print presets for the seasons of CASE: variants with a dry and a frozen top, to paste.

    They are steps of a handbook's table, no measurements, and say so.
    """
    from ..cases.reading.quantities import LENGTH, quantity
    from ..cases.seasons import season_variants

    dried, frozen = (quantity(depth, kind=LENGTH) for depth in (dry, frost))
    say(season_variants(read_case(case).soil, dry=dried, frost=frozen))
