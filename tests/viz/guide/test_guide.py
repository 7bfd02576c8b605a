"""The guide: complete, without links into nothing, the same words in page and terminal."""

import math
import re
from html.parser import HTMLParser
from pathlib import Path

import pytest
from click.testing import CliRunner
from PIL import Image

from ohmscape.cases.loading import load_case, load_case_text
from ohmscape.cases.seasons import season_variants
from ohmscape.cases.shipped import lesson_cases, shipped_case_path, shipped_cases
from ohmscape.cases.starter import starter_case
from ohmscape.command_line import main
from ohmscape.solver.errors import CaseError
from ohmscape.viz.cautions import ABOUT_GUIDE, NEVER_ENERGISE
from ohmscape.viz.guide.page import guide_page
from ohmscape.viz.guide.terminal import contents_text, topic_text
from ohmscape.viz.guide.topics import ANSWER, topic, topics, topics_with
from ohmscape.viz.report import assembly
from ohmscape.viz.words.text import plain
from ohmscape.viz.words.vocabulary import terms

ROOT = Path(__file__).parents[3]
TOPICS = {each.key: each for each in topics()}
KNOWN = (*shipped_cases(), *lesson_cases())


class Page(HTMLParser):
    """Names, links, what could ask for something, and text of a page."""

    def __init__(self):
        super().__init__()
        self.names, self.links, self.sources, self.text = [], [], [], []
        self.tag = ""

    def handle_starttag(self, tag, attributes):
        given, self.tag = dict(attributes), tag
        self.names += [given["id"]] if "id" in given else []
        self.links += [given["href"]] if "href" in given else []
        self.sources += [tag] * (tag in ("img", "link", "iframe", "object") or "src" in given)

    def handle_endtag(self, tag):
        self.tag = ""

    def handle_data(self, text):
        if self.tag not in ("style", "script"):
            self.text.append(text)


@pytest.fixture(scope="module")
def page():
    parsed = Page()
    parsed.feed(guide_page())
    return parsed


@pytest.fixture
def run():
    return lambda *arguments: CliRunner().invoke(main, list(arguments))


def test_every_link_of_the_page_has_its_place_and_nothing_is_asked_for(page):
    assert len(set(page.names)) == len(page.names)
    assert {link.removeprefix("#") for link in page.links} <= set(page.names)
    assert all(link.startswith("#") for link in page.links)
    assert page.sources == []
    assert set(TOPICS) <= set(page.names)


def test_cautions_stand_above_all_in_one_wording(page):
    text = " ".join(" ".join(page.text).split())
    assert text.index(NEVER_ENERGISE) < text.index("Chapters")
    listed = " ".join(contents_text(vocabulary="earth").split())
    for caution in ABOUT_GUIDE:
        words = plain(caution, units="SI", vocabulary="earth")
        assert listed.index(words) < listed.index("Chapters")


@pytest.mark.parametrize("vocabulary", ["earth", "ground"])
def test_terms_are_put_into_page_and_terminal(vocabulary, page):
    assert not re.search(r"\{[A-Za-z ]+\}|\[\[", "".join(page.text))
    for each in topics():
        text = topic_text(each, vocabulary=vocabulary, answer=True)
        assert not re.search(r"\{[A-Za-z ]+\}", text), each.key
        assert max(map(len, text.splitlines())) <= 92
    wanted = terms["rise"][vocabulary == "ground"]
    assert wanted in " ".join(topic_text(TOPICS["theory"], vocabulary=vocabulary).split())


def test_a_lesson_is_printed_up_to_its_question_unless_the_answer_is_asked_for(run):
    asked = run("guide", "one-rod").output
    told = run("guide", "one-rod", "--answer").output
    resistance = TOPICS["one-rod"].figures["resistance"]
    assert resistance not in asked
    assert f"{ANSWER}: ohmscape guide one-rod --answer" in asked
    assert resistance in told
    assert '<details class="answer">\n<summary>' in guide_page()


def test_a_figure_is_drawn_in_the_page_and_left_out_of_the_terminal():
    page = guide_page()
    assert page.count("<figure><svg") == 2
    # Sunde 1949 (from memory): arsinh(L / r) over ln(4 L / a) - 1, a metre from the rod.
    share = math.asinh(2.44) / (math.log(4 * 2.44 / 0.0079) - 1)
    assert f"hand to feet: {100 * (1 - share):.0f} %" in page
    told = topic_text(TOPICS["how-far"], vocabulary="earth", answer=True)
    assert "falling-off" not in told
    assert "From about two lengths" in told


def test_search_finds_what_has_all_words(run):
    assert {"second-rod"} <= {each.key for each in topics_with("HALF rods")}
    assert "second-rod" in run("guide", "--search", "half rods").output
    nothing = run("guide", "--search", "half zeppelin")
    assert nothing.exit_code == 2
    assert "no topic of the guide has all of 'half zeppelin'" in nothing.output


def test_an_unknown_topic_is_refused_with_the_known_ones(run):
    with pytest.raises(CaseError, match="the guide has no topic 'rodd'; it has theory, soils"):
        topic("rodd")
    assert run("guide", "rodd").exit_code == 2


def test_the_page_is_written_once(run, tmp_path):
    file = tmp_path / "guide.html"
    assert run("guide", "-o", str(file), "--terms", "earth").exit_code == 0
    assert 'data-show-vocabulary="earth"' in file.read_text(encoding="utf-8")
    again = run("guide", "-o", str(file))
    assert again.exit_code == 2
    assert "exists; name another file by -o" in again.output


def test_it_opens_at_the_topic(run, monkeypatch, tmp_path):
    opened = []
    monkeypatch.setattr("webbrowser.open", lambda place: opened.append(place) or False)
    monkeypatch.setattr("tempfile.tempdir", str(tmp_path))
    done = run("guide", "rock", "--open")
    assert "No browser was found" in done.output
    (place,) = opened
    assert place.startswith("file:///")
    assert place.endswith("guide.html#rock")
    (file,) = tmp_path.rglob("guide.html")
    assert "<article" in file.read_text(encoding="utf-8")


def test_every_command_in_the_texts_is_one_that_there_is():
    every = " ".join(each.text for each in topics())
    commands = set(re.findall(r"\bohmscape ([a-z-]+)", every)) - {"uses"}
    assert commands <= set(main.commands), commands - set(main.commands)
    for command, name in re.findall(r"\bohmscape (run|compare|earth-test) ([a-z-]+)", every):
        assert name in KNOWN, (command, name)


def test_every_lesson_has_its_cases_and_every_lesson_case_its_lesson():
    used = {name for each in topics() for name in each.cases}
    assert used <= set(KNOWN)
    assert set(lesson_cases()) <= used
    for name in lesson_cases():
        assert load_case(name).title
        text = shipped_case_path(name).read_text(encoding="utf-8")
        comment = " ".join(text.replace("\n#", "").split())
        assert NEVER_ENERGISE in comment


def test_variants_shown_in_the_texts_are_good_ones():
    (block,) = re.findall(r"```\n(variants:\n.*?)```", TOPICS["soils"].text, re.DOTALL)
    soil = load_case_text(starter_case()).soil
    assert block.strip() in season_variants(soil, dry=1.2, frost=0.6)
    assert len(load_case_text(starter_case() + block).variants) == 2


def test_the_fence_shown_is_one_that_can_be_added_to_a_new_case():
    (block,) = re.findall(r"```\n(variants:\n.*?)```", TOPICS["case"].text, re.DOTALL)
    case = load_case_text(starter_case() + block)
    (fenced,) = case.variants
    assert set(fenced.conductors.group_names) - set(case.conductors.group_names) == {
        "yard fence"
    }
    # Sides of 16 m make six spans of 3 m at most; that with the gate 2 + 1 + 2; it is closed.
    posts = len(fenced.conductors.start) - len(case.conductors.start)
    assert posts == 3 * 6 + 5


def test_the_picture_of_the_ground_shown_lies_where_the_text_says(tmp_path):
    text = TOPICS["case"].text
    (line,) = re.findall(r"```\n(ground_picture: .*?\n)```", text)
    (world,) = re.findall(r"```\n((?:[-0-9.]+\n){6})```", text)
    Image.new("L", (1200, 1000), 200).save(tmp_path / "site.png")
    (tmp_path / "site.pgw").write_text(world)
    (tmp_path / "case.yaml").write_text(starter_case() + line)
    picture = load_case(tmp_path / "case.yaml").ground_picture
    assert picture is not None
    (tmp_path / "site.pgw").write_text(world.replace("-30\n", "900\n"))
    with pytest.raises(CaseError, match="picture"):
        load_case(tmp_path / "case.yaml")


def test_the_page_on_the_report_names_its_sections():
    text = TOPICS["report"].text
    told = set(re.findall(r"^\| ([^|]+?) \|", text, re.MULTILINE))
    source = "".join(
        file.read_text(encoding="utf-8")
        for file in (Path(assembly.__file__).parent / "sections").glob("*.py")
    )
    titles = re.findall(r'Section\(\s*"[a-z-]+",\s*(?:say\()?"([^"]+)"', source)
    assert len(titles) > 12
    # Of a survey: as "Soil"; other titles are put together by the section.
    assert {each for each in titles if "fitted to a survey" not in each} <= told | {
        "Soil model"
    }


def test_every_case_is_listed_by_what_it_teaches(run):
    listed = run("cases").output
    for name in (*KNOWN, "forty-pads"):
        assert re.search(rf"^  {re.escape(name)} +[A-Z]", listed, re.MULTILINE), name
    assert "One rod driven into uniform soil: the smallest case there is." in listed
    assert max(map(len, listed.splitlines())) <= 92


def test_a_lesson_case_is_a_start_for_a_case_of_ones_own(run, tmp_path):
    file = tmp_path / "mine.yaml"
    assert run("new", str(file), "--like", "two-rods").exit_code == 0
    assert load_case(file).title == "A second rod at three distances"
