"""The guide in the terminal: a list of topics, and a topic as text."""

import io
import re
from collections.abc import Sequence
from typing import ClassVar

from rich.console import Console, ConsoleOptions, RenderResult
from rich.markdown import Heading, Markdown
from rich.text import Text as Line

from ..cautions import ABOUT_GUIDE
from ..words.lines import beside, hanging, listed
from ..words.text import Vocabulary, plain, say
from .topics import ANSWER, TERM, Topic, topics

_width = 92
_column = 24  # where words beside the name of a topic begin
_link = re.compile(r"\[([^\]]+)\]\(#([a-z0-9-]+)\)")
_image = re.compile(r"!\[[^\]]*\]\([a-z-]+\)\n\n")  # drawn on the page alone


class _Left(Heading):
    """A heading at the left, underlined."""

    def __rich_console__(self, console: Console, options: ConsoleOptions) -> RenderResult:
        words = self.text.plain
        yield Line(f"\n{words}\n{('=' if self.tag == 'h1' else '-') * len(words)}")


class _Page(Markdown):
    """Markdown with headings at the left."""

    elements: ClassVar = {**Markdown.elements, "heading_open": _Left}


def contents_text(found: Sequence[Topic] | None = None, *, vocabulary: Vocabulary) -> str:
    """Topics by name, and how to go on; all of them, or those that were found."""
    shown = topics() if found is None else found
    lines = []
    if found is None:
        cautions = [plain(each, units="SI", vocabulary=vocabulary) for each in ABOUT_GUIDE]
        lines += ["Guide to ohmscape", "=================", "", *listed("First", cautions), ""]
    for heading, lesson in (("Chapters", False), ("Lessons", True)):
        rows = [each for each in shown if bool(each.cases) == lesson]
        lines += [heading] if rows else []
        for each in rows:
            lines += beside(f"  {each.key}", _said(each.summary, vocabulary), column=_column)
        lines += [""] if rows else []
    lines += hanging(
        "ohmscape guide TOPIC prints one, --search WORDS finds some, "
        "--open shows all as one page."
    )
    return "\n".join(lines)


def topic_text(topic: Topic, *, vocabulary: Vocabulary, answer: bool = False) -> str:
    """A topic as text; of a lesson up to its question, or with the answer.

    Parameters
    ----------
    answer : bool, optional
        Whether a lesson tells its numbers.
    """
    asks = bool(topic.cases) and not answer
    body = topic.question if asks else topic.text
    source = _said(f"# {topic.title}\n\n{topic.summary}\n\n{body}", vocabulary)
    source = _image.sub("", source)
    source = _link.sub(r"\1 (ohmscape guide \2)", source)
    target = io.StringIO()
    console = Console(file=target, width=_width, color_system=None, force_terminal=False)
    console.print(_Page(source, hyperlinks=False))
    text = "\n".join(line.rstrip() for line in target.getvalue().splitlines()).strip("\n")
    if asks:
        more = f"{ANSWER}: ohmscape guide {topic.key} --answer"
        text += "\n\n" + "\n".join(hanging(more))
    return re.sub(r"\n{3,}", "\n\n", text)


def _said(text: str, vocabulary: Vocabulary) -> str:
    return TERM.sub(lambda found: say(found[0]).plain(units="SI", vocabulary=vocabulary), text)
