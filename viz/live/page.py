"""The live page as one text with everything in it, which asks for nothing but its socket."""

import json
from importlib.resources import files

from markupsafe import escape

from ..words.vocabulary import terms

# Shared with the page of a report, and its own.
_shared = ("numbers.js", "map_drawing.js")
_scripts = (
    "live_lengths.js",
    "live_contours.js",
    "live_state.js",
    "live_readings.js",
    "live_plan.js",
    "live_handles.js",
    "live_section.js",
    "live_panel.js",
    "live_socket.js",
)


def live_page(*, socket_path: str, nonce: str) -> str:
    """The page of `ohmscape live`.

    Parameters
    ----------
    socket_path : str
        Where its socket is, on the host that the page came from.
    nonce : str
        What the policy of the page lets its one script and its one style run by.
    """
    data = json.dumps(
        {"terms": {key: list(pair) for key, pair in terms.items()}, "socket": socket_path}
    )
    script = "\n".join(
        [*(_shared_asset(name) for name in _shared), *(_asset(name) for name in _scripts)]
    )
    # Each is put in once, whatever is in the others.
    parts = {
        "NONCE": str(escape(nonce)),
        "DATA": data.replace("<", "\\u003c"),
        "STYLE": _asset("live.css"),
        "SCRIPT": script,
    }
    pieces = _asset("live.html").split("%%")
    return "".join(parts.get(piece, piece) for piece in pieces)


def _asset(name: str) -> str:
    return (files(__package__) / "templates" / name).read_text(encoding="utf-8")


def _shared_asset(name: str) -> str:
    return (files(__package__.rpartition(".")[0] + ".report") / "templates" / name).read_text(
        encoding="utf-8"
    )
