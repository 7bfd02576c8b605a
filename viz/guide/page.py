"""The guide as one page that needs no network: texts, a search, both vocabularies."""

import base64
import hashlib
import re
from collections.abc import Iterator
from importlib.resources import files

import jinja2
from markdown_it import MarkdownIt
from markdown_it.token import Token
from markupsafe import Markup

from ... import __version__
from ..cautions import ABOUT_GUIDE
from ..words.text import Vocabulary, say
from .figures import FIGURES
from .topics import ANSWER, TERM, Topic, topics

page_name = "guide.html"
_markdown = MarkdownIt("commonmark", {"html": False}).enable("table")
_image = re.compile(r'<p><img src="([a-z-]+)" alt="([^"]*)" /></p>')


def guide_page(*, vocabulary: Vocabulary = "ground") -> str:
    """The guide as one HTML file.

    Parameters
    ----------
    vocabulary : {"earth", "ground"}, optional
        Whose words are shown first; a reader can change them.
    """
    script = _asset("guide.js")
    environment = jinja2.Environment(
        loader=jinja2.FunctionLoader(_asset),
        autoescape=True,
        undefined=jinja2.StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    shown = [_shown(each) for each in topics()]
    return environment.get_template("guide.html").render(
        parts=[
            ("Chapters", [each for each in shown if not each["lesson"]]),
            ("Lessons", [each for each in shown if each["lesson"]]),
        ],
        cautions=ABOUT_GUIDE,
        vocabulary=vocabulary,
        version=__version__,
        style=Markup(_asset("guide.css")),
        script=Markup(script),
        # Only this script may run.
        script_hash=base64.b64encode(hashlib.sha256(script.encode()).digest()).decode(),
    )


def _shown(topic: Topic) -> dict[str, object]:
    before, _, rest = topic.text.partition(f"\n## {ANSWER}\n")
    answer, heading, after = rest.partition("\n## ")
    return {
        "key": topic.key,
        "title": say(topic.title),
        "summary": say(topic.summary),
        "lesson": bool(topic.cases),
        "question": _html(before, topic.key),
        "answer_title": ANSWER,
        "answer": _html(answer, topic.key),
        "after": _html(heading + after, topic.key),
    }


def _html(text: str, key: str) -> Markup:
    """HTML of Markdown: headings below that of the topic and with a name, wide tables apart."""
    tokens = _markdown.parse(text)
    for opened, inside, closed in _headings(tokens):
        level = f"h{int(opened.tag[1]) + 1}"
        opened.tag = closed.tag = level
        words = re.sub(r"[^a-z0-9]+", "-", inside.content.lower()).strip("-")
        opened.attrSet("id", f"{key}--{words}")
    html = _markdown.renderer.render(tokens, _markdown.options, {})
    html = _image.sub(_figure, html)
    html = html.replace("<table>", '<div class="sideways"><table>')
    html = html.replace("</table>", "</table></div>")
    return Markup(TERM.sub(lambda found: say(found[0]).__html__(), html))


def _figure(found: re.Match[str]) -> str:
    """A drawing in place of an image, so that the page asks for no file."""
    return f"<figure>{FIGURES[found[1]]()}<figcaption>{found[2]}</figcaption></figure>"


def _headings(tokens: list[Token]) -> Iterator[tuple[Token, Token, Token]]:
    for k, token in enumerate(tokens):
        if token.type == "heading_open":
            yield token, tokens[k + 1], tokens[k + 2]


def _asset(name: str) -> str:
    return (files(__package__) / "templates" / name).read_text(encoding="utf-8")
