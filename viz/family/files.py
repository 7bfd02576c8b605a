"""The folder of a batch: tables of all rows, sites, page, written whole or not at all."""

from collections.abc import Mapping
from datetime import datetime
from pathlib import Path
from types import MappingProxyType

from ...solver.family import Batch
from ..files.whole import check_folder, write_whole
from ..wording import file_stem
from .page import write_batch_page
from .sites import write_sites
from .tables import write_family_tables

rows_name = "rows"


def check_batch_folder(folder: Path) -> None:
    """Raise `ResultError` unless `save_batch` can write to a folder; files of others stay."""
    check_folder(folder, kind="batch")


def row_folder(folder: Path, *, name: str, number: int) -> Path:
    """Folder for the full result of a row in that of its batch."""
    return folder / rows_name / f"{number:05d}-{file_stem(name)}"


def save_batch(
    batch: Batch,
    folder: Path,
    *,
    reference_system: str | None = None,
    pages: Mapping[int, str] = MappingProxyType({}),
) -> tuple[Path, ...]:
    """Write tables, page and, where there are coordinates, sites to a folder, all or nothing.

    Parameters
    ----------
    folder : Path
        Folder to make, or where what this left before is replaced. Other files stay.
    reference_system : str, optional
        Of plan coordinates; without it no sites are written.
    pages : mapping of int to str, optional
        Where the report of a row is, by its number, for all of them to name.

    Raises
    ------
    ResultError
        If something is in the way.
    """

    def write(into: Path) -> list[Path]:
        files = write_family_tables(batch, into, pages=pages)
        sites = write_sites(batch, into, reference_system=reference_system, pages=pages)
        files += [] if sites is None else [sites]
        made = datetime.now().astimezone()
        page = write_batch_page(
            batch, into, made=made, reference_system=reference_system, pages=pages
        )
        return [*files, page]

    return write_whole(folder, write=write, kind="batch", command="batch")
