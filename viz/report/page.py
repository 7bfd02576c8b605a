"""The report as one HTML page that needs no network."""

import base64
import hashlib
from collections.abc import Sequence
from datetime import datetime
from importlib.resources import files
from pathlib import Path
from typing import Any

import jinja2
from markupsafe import Markup

from ...solver.results.result import Result
from ..job import job_rows
from ..words.text import UNITS
from ..words.vocabulary import terms
from .contents import Origin, Picture, Section
from .map_data import map_data
from .reader import Reader
from .scene_data import scene_data

_scripts = ("numbers.js", "switches.js")
_live_scripts = ("map_source.js", "map_view.js", "map_drawing.js", "map.js", "scene.js")


def write_page(
    results: Sequence[Result],
    chapters: Sequence[Section],
    path: str | Path,
    *,
    made: datetime,
    reader: Reader | None = None,
) -> Path:
    """Write the report on a case and its variants as one HTML file.

    Parameters
    ----------
    results : sequence of Result, at least one
        Of the case as it stands, then of its variants: for what answers the pointer.
    chapters : sequence of Section
        What `assembly.sections` made of them.
    reader : Reader, optional
        What is shown first; by the units of the case when left out.
    """
    live = live_data(results)
    return set_page(results[0], chapters, path, made=made, live=live, reader=reader)


def live_data(results: Sequence[Result]) -> dict[str, Any]:
    """What the pictures that answer the pointer need."""
    return {"map": map_data(results), "scene": scene_data(results[0])}


def set_page(
    origin: Origin,
    chapters: Sequence[Section],
    path: str | Path,
    *,
    made: datetime,
    live: dict[str, Any] | None = None,
    reader: Reader | None = None,
) -> Path:
    """Write some sections as one HTML file; arguments as for `page_text`."""
    target = Path(path)
    text = page_text(origin, chapters, made=made, live=live, reader=reader)
    target.write_text(text, encoding="utf-8")
    return target


def page_text(
    origin: Origin,
    chapters: Sequence[Section],
    *,
    made: datetime,
    live: dict[str, Any] | None = None,
    reader: Reader | None = None,
) -> str:
    """Some sections as one HTML file.

    Parameters
    ----------
    live : dict, optional
        What the pictures that answer the pointer need; left out where there are none.
    reader : Reader, optional
        What is shown first; by the units of the case when left out.
    """
    reader = reader or Reader.of(origin.units)
    script = "\n".join(_asset(name) for name in (*_scripts, *(_live_scripts if live else ())))
    return (
        _environment()
        .get_template("report.html")
        .render(
            origin=origin,
            sections=chapters,
            job=job_rows(origin.job),
            made=made.strftime("%Y-%m-%d"),
            # Only this script may run, whatever is in a name.
            script=Markup(script),
            script_hash=_hash(script),
            style=Markup(_asset("report.css")),
            data={
                **(live or {}),
                "terms": {key: list(pair) for key, pair in terms.items()},
            },
            pictured=_pictured,
            units=reader.units,
            vocabulary=reader.vocabulary,
        )
    )


def _environment() -> jinja2.Environment:
    return jinja2.Environment(
        loader=jinja2.FunctionLoader(_asset),
        autoescape=True,
        undefined=jinja2.StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )


def _asset(name: str) -> str:
    return (files(__package__) / "templates" / name).read_text(encoding="utf-8")


def _hash(script: str) -> str:
    """What the page's policy calls the one script that may run."""
    digest = hashlib.sha256(script.encode()).digest()
    return f"sha256-{base64.b64encode(digest).decode()}"


def _pictured(picture: Picture) -> list[dict[str, str]]:
    """The drawing in each unit system as an address that holds it; once if it is the same."""
    drawn: dict[str, bytes] = {units: picture.draw(units, "svg") for units in UNITS}
    if len(set(drawn.values())) == 1:
        drawn = {"": drawn[UNITS[0]]}
    return [
        {
            "units": units,
            "address": f"data:image/svg+xml;base64,{base64.b64encode(data).decode()}",
        }
        for units, data in drawn.items()
    ]
