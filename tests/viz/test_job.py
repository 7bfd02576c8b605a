"""What the work is filed under stands in front of a report, and never breaks it."""

import re
from dataclasses import replace
from datetime import datetime
from html import unescape

import pytest

from ohmscape.viz.report.contents import Paragraph, Section
from ohmscape.viz.report.page import set_page
from ohmscape.viz.report.paper import set_paper
from ohmscape.viz.terminal.summary import summary

_made = datetime(2031, 5, 6, 7, 8)
_job = (("number", "7-03"), ("client", "Møller & Søn"), ("prepared_by", "R. <b>Ashdown</b>"))
_chapters = (Section("verdict", "Verdict", (Paragraph("what was found"),)),)


@pytest.fixture
def set_words(monkeypatch):
    """Words of each paragraph set on paper, in order, as marked up."""
    from reportlab.platypus import Paragraph as Set

    found: list[str] = []
    first = Set.__init__

    def noted(self, text, *rest, **more):
        found.append(text)
        first(self, text, *rest, **more)

    monkeypatch.setattr(Set, "__init__", noted)
    return found


def test_it_stands_on_the_page_between_title_and_verdict(result, tmp_path):
    filed = replace(result, job=_job)
    text = set_page(filed, _chapters, tmp_path / "a.html", made=_made).read_text("utf-8")
    assert "<b>Ashdown" not in text
    front = text[text.index("<h1>") : text.index("what was found")]
    rows = re.findall(r"<dt>(.*?)</dt><dd>(.*?)</dd>", front)
    assert [(name, unescape(value)) for name, value in rows] == [
        ("Job number", "7-03"),
        ("Client", "Møller & Søn"),
        ("Prepared by", "R. <b>Ashdown</b>"),
    ]


def test_it_stands_on_paper_between_title_and_verdict(result, tmp_path, set_words):
    set_paper(replace(result, job=_job), _chapters, tmp_path / "a.pdf", made=_made)
    wanted = ["Job number", "7-03", "Client", "Møller &amp; Søn", "Prepared by"]
    wanted.append("R. &lt;b&gt;Ashdown&lt;/b&gt;")
    title = set_words.index(result.title)
    assert set_words[title + 1 : title + 7] == wanted
    assert "Verdict" in set_words[title + 7]


def test_nothing_stands_there_without_it(result, tmp_path, set_words):
    assert result.job == ()
    text = set_page(result, _chapters, tmp_path / "a.html", made=_made).read_text("utf-8")
    assert "<dl" not in text[text.index("<body>") : text.index("what was found")]
    set_paper(result, _chapters, tmp_path / "a.pdf", made=_made)
    assert "Verdict" in set_words[set_words.index(result.title) + 1]


def test_the_longest_texts_allowed_are_set(result, tmp_path):
    job = (("number", "8" * 40), ("client", "W" * 100), ("site", "W" * 160))
    filed = replace(result, title="W" * 200, job=job)
    path = set_paper(filed, _chapters, tmp_path / "a.pdf", made=_made)
    assert path.read_bytes().count(b"/Type /Page\n") == 1


def test_the_summary_says_it_in_one_line_below_the_title(result):
    lines = summary(replace(result, job=_job)).splitlines()
    line = "Job number 7-03; client Møller & Søn; prepared by R. <b>Ashdown</b>"
    assert lines[:4] == [result.title, "=" * len(result.title), "", line]
    assert line not in summary(result)
