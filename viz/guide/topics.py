"""Topics of the guide: chapters and lessons, Markdown beside this module."""

import re
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

from ...solver.errors import CaseError, Problem
from .inserts import insert

ANSWER = "What the run gives"  # heading under which a lesson tells its numbers
TERM = re.compile(r"\{[A-Za-z ]+\}")  # of the trade, in braces
_place = re.compile(r"\[\[([a-z][a-z0-9 ]*)\]\]")  # of a figure or of something put in


@dataclass(frozen=True)
class Topic:
    """A chapter or a lesson of the guide.

    Attributes
    ----------
    key : str
        What it is asked for by.
    title, summary : str
        One line each; may hold terms of the trade in braces.
    text : str
        Markdown, its figures and tables put in, terms still in braces.
    cases : tuple of str
        Cases that a lesson runs; a chapter has none.
    figures : dict of str to str
        Numbers of a lesson by name, as they stand in its text.
    """

    key: str
    title: str
    summary: str
    text: str
    cases: tuple[str, ...]
    figures: Mapping[str, str]

    @property
    def question(self) -> str:
        """The text up to the answer; all of it where nothing is asked."""
        return self.text.partition(f"\n## {ANSWER}\n")[0]


@cache
def topics() -> tuple[Topic, ...]:
    """All topics: chapters, then lessons, in the order in which they are meant to be read."""
    folder = files(__package__) / "texts"
    sources = sorted((file.name, file) for file in folder.iterdir())
    return tuple(_topic(name, file.read_text(encoding="utf-8")) for name, file in sources)


def topic(key: str) -> Topic:
    """The topic of that name; `CaseError` with all names if there is none."""
    found = {each.key: each for each in topics()}
    if key not in found:
        msg = f"the guide has no topic {key!r}; it has {', '.join(found)}"
        raise CaseError([Problem(msg)])
    return found[key]


def topics_with(words: str) -> tuple[Topic, ...]:
    """Topics whose title or text has all of some words, whatever their case."""
    wanted = words.casefold().split()
    return tuple(
        each
        for each in topics()
        if all(word in f"{each.title} {each.text}".casefold() for word in wanted)
    )


def _topic(name: str, source: str) -> Topic:
    """The topic of a file such as ``20-survey.md``: TOML between lines of +++, then text."""
    _, head, text = source.split("+++\n", 2)
    about = tomllib.loads(head)
    figures: dict[str, str] = about.get("figures", {})

    def put_in(found: re.Match[str]) -> str:
        return figures[found[1]] if found[1] in figures else insert(found[1])

    return Topic(
        key=name.removesuffix(".md").partition("-")[2],
        title=about["title"],
        summary=about["summary"],
        text=_place.sub(put_in, text),
        cases=tuple(about.get("cases", ())),
        figures=figures,
    )
