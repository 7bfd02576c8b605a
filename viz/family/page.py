"""A family as one page that needs no network: map, list that is filtered and sorted, words."""

import base64
import hashlib
import json
import math
from collections.abc import Mapping
from datetime import datetime
from importlib.resources import files
from pathlib import Path
from types import MappingProxyType
from typing import Any

import jinja2
from markupsafe import Markup

from ... import __version__
from ...solver.family import Batch, RowFound
from .remedy_words import ABOUT_REMEDIES, remedies_text, remedy_name, remedy_text
from .words import (
    ABOUT_FAMILIES,
    counts_text,
    decides_text,
    standing_text,
    tiers_text,
    unplaced_text,
)

page_name = "batch.html"
_columns = (
    "Rank", "Name", "Takes [%]", "Standing", "What decides", "Ohms", "Rise [V]", "Method",
)  # fmt: skip
_kinds = {"passes": "pass", "misses": "fail", "melts": "fail"}
_most_bad = 200


def write_batch_page(
    batch: Batch,
    folder: Path,
    *,
    made: datetime,
    reference_system: str | None = None,
    pages: Mapping[int, str] = MappingProxyType({}),
) -> Path:
    """Write ``batch.html``: all rows as arrays, of which the page shows those that are seen."""
    script = _asset("batch.js")
    bad = [(item.line, item.name, *problem) for item in batch.bad for problem in item.problems]
    environment = jinja2.Environment(
        loader=jinja2.FunctionLoader(_asset), autoescape=True, undefined=jinja2.StrictUndefined
    )
    text = environment.get_template("batch.html").render(
        title=f"{batch.title}: {batch.table}",
        lead=[
            counts_text(batch),
            *filter(None, [unplaced_text(batch)]),
            *remedies_text(batch),
            *tiers_text(batch),
        ],
        cautions=[*ABOUT_FAMILIES, *[ABOUT_REMEDIES] * bool(batch.remedied)],
        offers=batch.offers,
        mapped=_mapped(batch, reference_system),
        bad=bad[:_most_bad],
        more_bad=max(0, len(bad) - _most_bad),
        made=made.strftime("%Y-%m-%d"),
        version=__version__,
        data=_json(_data(batch) | {"pages": _pages(batch, pages)}),
        script=Markup(script),
        # Only this script may run, whatever is in a name.
        script_hash=_hash(script),
        style=Markup(_asset("batch.css")),
    )
    path = folder / page_name
    path.write_text(text, encoding="utf-8")
    return path


def _pages(batch: Batch, pages: Mapping[int, str]) -> dict[int, str]:
    """Where the report of a row is, by its place in the list."""
    every = ((k, pages.get(row.number)) for k, row in enumerate(batch.rows))
    return {k: page for k, page in every if page is not None}


def _data(batch: Batch) -> dict[str, Any]:
    placed = [row.place for row in batch.rows if row.place is not None]
    return {
        "columns": [*_columns, *_remedy_columns(batch), "Notes"],
        "rows": [_cells(batch, rank, row) for rank, row in enumerate(batch.rows, start=1)],
        "kinds": [_kinds.get(row.best.standing, "open") for row in batch.rows],
        "remedies": [remedy_name(row.remedy, offers=batch.offers) for row in batch.rows]
        if batch.offers
        else None,
        "standings": [standing_text(row.best) for row in batch.rows],
        "places": [row.place for row in batch.rows] if placed else None,
        "geographic": batch.coordinates == "geographic",
        "middle": sum(y for _, y in placed) / len(placed) if placed else 0.0,
    }


def _remedy_columns(batch: Batch) -> list[str]:
    more = f"More [{batch.currency or 'm of metal'}]"
    return ["Would pass with", more] if batch.offers else []


def _remedy(batch: Batch, row: RowFound) -> list[object]:
    if not batch.offers:
        return []
    passes = row.remedy is not None and row.remedy.passes
    extra = row.remedy.extra if row.remedy is not None and passes else math.nan
    return [remedy_text(batch, row.remedy), _number(extra)]


def _cells(batch: Batch, rank: int, row: RowFound) -> list[object]:
    best = row.best
    notes = "; ".join(f"{name}: {text}" for name, text in row.notes.items() if text)
    return [
        rank, row.name, _number(100 * best.share), standing_text(best), decides_text(row),
        _number(best.resistance), _number(best.rise), best.method, *_remedy(batch, row),
        "; ".join(filter(None, (notes, *row.doubts))),
    ]  # fmt: skip


def _mapped(batch: Batch, reference_system: str | None) -> str:
    """What the coordinates of the map are, and what is not on it; empty where it has none."""
    if not any(row.place is not None for row in batch.rows):
        return ""
    what = f"East and north, {reference_system or 'of no reference system that was named'}."
    if batch.coordinates == "geographic":
        what = (
            "Latitude and longitude, WGS 84, each degree as long as in the middle of the map."
        )
    return " ".join(filter(None, [what, unplaced_text(batch)]))


def _number(value: float) -> float | None:
    return float(f"{value:.6g}") if math.isfinite(value) else None


def _json(tree: dict[str, Any]) -> Markup:
    """JSON that cannot end the element it stands in."""
    text = json.dumps(tree, ensure_ascii=True, separators=(",", ":"), allow_nan=False)
    return Markup(text.replace("<", "\\u003c").replace(">", "\\u003e").replace("&", "\\u0026"))


def _asset(name: str) -> str:
    return (files(__package__) / "templates" / name).read_text(encoding="utf-8")


def _hash(script: str) -> str:
    return f"sha256-{base64.b64encode(hashlib.sha256(script.encode()).digest()).decode()}"
