"""Sites of a family as GeoJSON: points with what was found, for any map."""

import json
import math
from collections.abc import Mapping
from pathlib import Path
from types import MappingProxyType
from typing import Any

from ...solver.family import Batch, RowFound
from .remedy_words import remedy_name
from .words import decides_text, standing_text

sites_name = "sites.geojson"


def write_sites(
    batch: Batch,
    folder: Path,
    *,
    reference_system: str | None = None,
    pages: Mapping[int, str] = MappingProxyType({}),
) -> Path | None:
    """Write ``sites.geojson``; None where the table gives no coordinates or their system.

    Parameters
    ----------
    reference_system : str, optional
        Of plan coordinates, as ``EPSG:25832``. Latitude and longitude are WGS 84.
    pages : mapping of int to str, optional
        Where the report of a row is, by its number.

    Notes
    -----
    RFC 7946 knows WGS 84 alone. Plan coordinates are written with the member ``crs`` of the
    GeoJSON of 2008, which names their system and which most programs read (from memory). Rows
    without coordinates have no geometry (null), as RFC 7946 has it for what is not located.
    """
    plan = batch.coordinates == "plan"
    if not batch.coordinates or (plan and not reference_system):
        return None
    tree: dict[str, Any] = {"type": "FeatureCollection", "name": batch.title}
    if plan:
        tree["crs"] = {"type": "name", "properties": {"name": _urn(str(reference_system))}}
    tree["features"] = [
        {
            "type": "Feature",
            "id": row.number,
            "geometry": row.place and {"type": "Point", "coordinates": list(row.place)},
            "properties": _properties(batch, rank, row)
            | ({"page": pages[row.number]} if row.number in pages else {}),
        }
        for rank, row in enumerate(batch.rows, start=1)
    ]
    path = folder / sites_name
    path.write_text(json.dumps(tree, ensure_ascii=False, indent=0) + "\n", encoding="utf-8")
    return path


def _urn(name: str) -> str:
    """Name of a reference system as an OGC URN where it is of EPSG, else as it was given."""
    authority, _, code = name.partition(":")
    known = authority.upper() == "EPSG" and code.isdecimal()
    return f"urn:ogc:def:crs:EPSG::{code}" if known else name


def _properties(batch: Batch, rank: int, row: RowFound) -> dict[str, Any]:
    best = row.best
    numbers = {
        "takes": best.share,
        "voltage_V": best.voltage,
        "limit_V": best.limit,
        "resistance_ohm": best.resistance,
        "rise_V": best.rise,
    }
    return {
        **row.notes,
        "name": row.name,
        "rank": rank,
        "standing": standing_text(best),
        "decides": decides_text(row),
        "method": best.method,
        **{key: value if math.isfinite(value) else None for key, value in numbers.items()},
        **_remedy(batch, row),
        "case_sha256": row.sha256,
    }


def _remedy(batch: Batch, row: RowFound) -> dict[str, Any]:
    """What would make a row pass; nothing where the template offers nothing."""
    if not batch.offers:
        return {}
    remedy = row.remedy
    best = None if remedy is None else remedy.best
    found: dict[str, Any] = {"would_pass_with": remedy_name(remedy, offers=batch.offers)}
    if remedy is not None and best is not None:
        finite = math.isfinite(best.share)
        found |= {
            "costs": remedy.price,
            "costs_more": remedy.extra,
            "takes_then": best.share if finite else None,
            "method_then": best.method,
            "nearest": "" if remedy.passes else remedy.name,
        }
    return found
