"""Pieces of messages: what was given, in short, and what may have been meant."""

from collections.abc import Sequence
from difflib import get_close_matches

_most_listed = 20


def shown(value: object) -> str:
    """At most forty printable characters of what was given, for a message."""
    if isinstance(value, bool):
        return str(value).lower()  # as the file spells it
    if isinstance(value, dict):
        return "a block of keys"
    if isinstance(value, list | tuple):
        return "a list"
    words = repr(value)
    return words if len(words) <= 42 else f"{words[:40]}…"


def closest(name: str, allowed: Sequence[str]) -> str:
    """The allowed name that was most likely meant; empty where none is near."""
    # Cut, as the time for a comparison grows with the square of the length.
    return next(iter(get_close_matches(name[:80], allowed, n=1)), "")


def did_you_mean(name: str, allowed: Sequence[str]) -> str:
    """The question whether a near name was meant, with a blank behind; empty without one."""
    close = closest(name, allowed)
    return f"did you mean {close!r}? " if close else ""


def not_among(name: str, allowed: Sequence[str], *, what: str) -> str:
    """Message about a name of `what`, as electrode or limit, that nothing carries."""
    there = ", ".join(map(shown, allowed[:_most_listed])) or "none"
    return f"no {what} {shown(name)}; {did_you_mean(name, allowed)}there are {there}"
