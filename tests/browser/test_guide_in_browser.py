"""The guide in a browser: offline, searched, in both vocabularies, on a phone and on paper."""

import pytest

from ohmscape.viz.cautions import NEVER_ENERGISE
from ohmscape.viz.guide.page import guide_page
from ohmscape.viz.guide.topics import topic


@pytest.fixture(scope="session")
def guide(browser, tmp_path_factory):
    path = tmp_path_factory.mktemp("guide") / "guide.html"
    path.write_text(guide_page(vocabulary="earth"), encoding="utf-8")
    return path


@pytest.mark.parametrize("width", [1280, 390])
def test_cautions_are_seen_first_and_nothing_is_wider_than_the_screen(
    opened, guide, width, screenshots
):
    page = opened(guide, width=width, height=844)
    page.screenshot(path=screenshots / f"guide-{width}.png")
    page.screenshot(path=screenshots / f"guide-{width}-whole.png", full_page=True)
    told = page.get_by_text(NEVER_ENERGISE).first.bounding_box()
    assert told["y"] + told["height"] < 844
    assert page.evaluate("document.documentElement.scrollWidth") <= width


def test_an_answer_is_shown_when_it_is_opened_and_found_by_no_search(opened, guide):
    page = opened(guide)
    answer = page.locator("#one-rod details.answer")
    assert not answer.locator("p").first.is_visible()
    page.fill("#find", topic("one-rod").figures["current"])
    assert "0 places" in page.locator("#found").inner_text()
    answer.locator("summary").click()
    assert topic("one-rod").figures["current"] in answer.inner_text()


def test_a_search_leads_to_its_place(opened, guide):
    page = opened(guide)
    page.fill("#find", "apparent resistivity")
    first = page.locator("#found a").first
    assert "apparent resistivity" in first.inner_text().lower()
    assert first.locator("mark").count() >= 1
    first.click()
    assert page.url.endswith("#glossary")
    assert page.locator("#found").is_hidden()


def test_words_are_those_of_the_reader(opened, guide):
    page = opened(guide)
    assert "earth potential rise" in page.locator("#theory").inner_text()
    page.click("button[data-value=ground]")
    text = page.locator("#theory").inner_text()
    assert "ground potential rise" in text
    assert "earth potential rise" not in text


def test_answers_are_on_paper(opened, guide, screenshots):
    page = opened(guide)
    page.evaluate("window.dispatchEvent(new Event('beforeprint'))")
    assert page.locator("details.answer:not([open])").count() == 0
    page.pdf(path=screenshots / "guide.pdf", format="A4", print_background=True)
    assert (screenshots / "guide.pdf").stat().st_size > 50_000
