"""Nodes and drives that must fit the circuit block."""

from collections.abc import Sequence
from typing import Any

from ...solver.circuit import REMOTE_EARTH
from ...solver.circuit.network import lone_node
from ...solver.errors import Problem
from ..reading.documents import Document
from ..reading.naming import Place
from ..reading.raw_content import blocks, name_of, text


def problems_of_circuit(
    document: Document, *, ends: Sequence[tuple[Place, str]]
) -> list[Problem]:
    """Nodes and drives that do not fit the circuit, or a circuit that is missing.

    `ends` are place and name of each node at which something of the circuit ends.
    """
    content = document.content
    circuit = content.get("circuit") if isinstance(content, dict) else None
    electrodes = list(blocks(content, "electrodes"))
    if not isinstance(circuit, dict):
        msg = "is driven by a circuit, but the case has none; write the block 'circuit'"
        return [
            document.problem(msg, path=(*place, "drive"))
            for place, item in electrodes
            if "circuit" in _drive(item)
        ]
    places = {
        name: text(item.get("electrode"))
        for _, item in blocks(content.get("along_metal"), "places")
        if (name := name_of(item))
    }
    # Who names a place on metal has named its electrode.
    named = {name for _, name in ends} | {places.get(name) for _, name in ends}
    found = []
    for place, item in electrodes:
        name = name_of(item)
        if name == REMOTE_EARTH:
            msg = f"{name!r} is what the circuit calls 0 V; give the electrode another name"
            found.append(document.problem(msg, path=(*place, "name")))
        elif message := _wrong_drive(_drive(item), name=name, attached=name in named):
            found.append(document.problem(message, path=(*place, "drive")))
    known = [name for _, item in electrodes if (name := name_of(item))] + list(places)
    own = [name for _, name in ends]
    for place, name in ends:
        if name not in (*known, REMOTE_EARTH) and own.count(name) == 1:
            message = lone_node(name, allowed=[*known, *own])
            found.append(document.problem(message, path=place))
    return found


def _wrong_drive(drive: dict[str, Any], *, name: str, attached: bool) -> str:
    """Why an electrode cannot have this drive beside the circuit; empty when it can."""
    if "voltage" in drive or "current" in drive:
        return (
            "the circuit's supply is all that drives a case with a circuit; write "
            "'circuit: true', or 'floating: true' where nothing is attached"
        )
    if "floating" in drive and attached:
        return f"the circuit is attached to {name!r}, it does not float; write 'circuit: true'"
    if "circuit" in drive and not attached:
        return (
            f"nothing of the circuit ends at {name!r}; name it in the supply or a path, or "
            "write 'floating: true' (bonded to others, it follows them)"
        )
    return ""


def _drive(electrode: dict[str, Any]) -> dict[str, Any]:
    drive = electrode.get("drive")
    return drive if isinstance(drive, dict) else {}
