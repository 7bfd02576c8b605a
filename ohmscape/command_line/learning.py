"""Commands that teach: guide, cases."""

from pathlib import Path
from typing import Literal

import click

from ..solver.errors import CaseError, Problem
from .streams import say


@click.command()
@click.argument("topic", required=False)
@click.option("--answer", is_flag=True, help="Of a lesson, tell the numbers too.")
@click.option("--search", metavar="WORDS", help="Name the topics that have all of these words.")
@click.option("--open", "shown", is_flag=True, help="Open the guide as a page in the browser.")
@click.option(
    "-o",
    "--output",
    type=click.Path(dir_okay=False, path_type=Path),
    help="Write that page to this file.",
)
@click.option(
    "--terms",
    type=click.Choice(["earth", "ground"]),
    default="ground",
    help="Words of the trade; ground when left out, as the terminal has them.",
)
def guide(
    topic: str | None,
    answer: bool,
    search: str | None,
    shown: bool,
    output: Path | None,
    terms: Literal["earth", "ground"],
) -> None:
    """Print TOPIC of the guide: a chapter, or a lesson with a question to answer first.

    Without TOPIC it lists all there are. The same as one page, with a search, that needs no
    network: --open, or -o FILE to keep it.
    """
    from ..viz.guide.terminal import contents_text, topic_text
    from ..viz.guide.topics import topic as topic_of
    from ..viz.guide.topics import topics_with

    chosen = None if topic is None else topic_of(topic)
    if shown or output is not None:
        _show_page(output, terms=terms, key=topic, opened=shown)
    elif chosen is not None:
        say(topic_text(chosen, vocabulary=terms, answer=answer))
    elif search is None:
        say(contents_text(vocabulary=terms))
    elif found := topics_with(search):
        say(contents_text(found, vocabulary=terms))
    else:
        msg = f"no topic of the guide has all of '{search}'; try fewer words, or no --search"
        raise CaseError([Problem(msg)])


def _show_page(
    output: Path | None, *, terms: Literal["earth", "ground"], key: str | None, opened: bool
) -> None:
    """Write the page, to a new folder of its own where no file is named, and open it."""
    import tempfile
    import webbrowser

    from ..viz.guide.page import guide_page, page_name

    if output is not None and output.exists():
        msg = f"'{output}' exists; name another file by -o"
        raise CaseError([Problem(msg)])
    file = output or Path(tempfile.mkdtemp(prefix="ohmscape-")) / page_name
    file.write_text(guide_page(vocabulary=terms), encoding="utf-8")
    say(f"Written to {file}.")
    place = file.resolve().as_uri() + (f"#{key}" if key else "")
    if opened and not webbrowser.open(place):
        say("No browser was found; open that file in one.")


@click.command()
def cases() -> None:
    """List the shipped cases, each by what it teaches."""
    from ..cases.shipped import (
        first_words,
        lesson_cases,
        shipped_case_path,
        shipped_cases,
        shipped_families,
        shipped_family_path,
    )
    from ..viz.words.lines import beside

    groups = {
        "Cases: ohmscape run NAME, or ohmscape new FILE --like NAME": {
            name: shipped_case_path(name) for name in shipped_cases()
        },
        "Small cases of the lessons: ohmscape guide": {
            name: shipped_case_path(name) for name in lesson_cases()
        },
        "Many sites: ohmscape batch NAME NAME": {
            name: shipped_family_path(name, ending=".yaml") for name in shipped_families()
        },
    }
    width = max(len(name) for files in groups.values() for name in files) + 4
    for heading, files in groups.items():
        say(heading)
        for name, file in files.items():
            say("\n".join(beside(f"  {name}", first_words(file), column=width)))
        say("")
