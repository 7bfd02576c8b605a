"""The command `ohmscape live` and its page in a real browser, as a person uses both."""

import pytest
from live_page import Live

from ohmscape.cases.loading import load_case
from ohmscape.jobs.run import run_case

pytestmark = pytest.mark.slow

CASE = """\
# the yard behind the mill
ohmscape: 1
title: Yard behind the mill
soil:
  layers:
    - {resistivity: 90 ohm*m, thickness: 2.5 m}  # loam
    - resistivity: 260 ohm*m
electrodes:
  - name: yard
    drive: {current: 40 A}
    parts:
      # the rod by the gate
      - {kind: rod, name: gate, at: [0 m, 0 m], top_depth: 0 m, length: 3 m, diameter: 16 mm}
      - {kind: rod, name: mill, at: [4 m, 1 m], top_depth: 0 m, length: 3 m, diameter: 16 mm}
variants:
  - name: dry season
    soil: {layers: [{resistivity: 300 ohm*m, thickness: 2.5 m}, {resistivity: 260 ohm*m}]}
study:
  area: {margin: 4 m}
numerics: {accuracy: coarse, second_opinion: never}
"""
ROD = """[data-path='["electrodes",0,"parts",1,"at"]']"""


@pytest.fixture
def file(tmp_path):
    path = tmp_path / "yard.yaml"
    path.write_text(CASE, encoding="utf-8")
    return path


@pytest.fixture
def live(file):
    live = Live(file)
    assert live.port, live.errors
    yield live
    live.kill()


@pytest.fixture
def context(browser):
    context = browser.new_context(viewport={"width": 1440, "height": 900})
    yield context
    context.close()


def opened(context, live, *, address=None):
    """The page; what it complains of and asks of others is kept."""
    page = context.new_page()
    page.wrong = []
    page.on("pageerror", lambda error: page.wrong.append(str(error)))
    page.on("console", lambda said: said.type == "error" and page.wrong.append(said.text))
    page.on(
        "request", lambda asked: live.host not in asked.url and page.wrong.append(asked.url)
    )
    page.goto(address or f"http://{live.host}/?token={live.token}")
    page.wait_for_url("**/p/*/")
    return page


def shown(page, what):
    return float(page.locator(what).get_attribute("data-value"))


def expect_confirmed(page):
    from playwright.sync_api import expect

    expect(page.locator("#verdict")).not_to_contain_text("no verdict", timeout=60_000)
    expect(page.locator("#resistance")).to_contain_text("confirmed", timeout=60_000)


def dragged(page, selector, *, by):
    """Drag a handle by so many pixels, in steps as a hand does."""
    box = page.locator(selector).bounding_box()
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    page.mouse.move(x, y)
    page.mouse.down()
    for step in range(1, 13):
        page.mouse.move(x + by[0] * step / 12, y + by[1] * step / 12)
        page.wait_for_timeout(30)
    page.mouse.up()


def test_what_a_drag_shows_is_what_a_run_of_the_saved_case_gives(context, live, file):
    from playwright.sync_api import expect

    page = opened(context, live)
    expect_confirmed(page)
    before = shown(page, "#resistance")
    dragged(page, ROD, by=(120, -60))
    expect(page.locator("#undo")).to_be_enabled()
    expect(page.locator("#changes")).to_contain_text("mill")
    expect_confirmed(page)
    page.locator("#save").click()
    expect(page.locator("#save")).to_be_disabled()
    text = file.read_text(encoding="utf-8")
    assert "# the yard behind the mill" in text
    assert "# loam" in text
    assert "# the rod by the gate" in text
    case = load_case(file)
    assert case.conductors.start[1, 0] > 4.5
    result = run_case(case)
    resistance = result.operating.resistance[0, 0]
    assert shown(page, "#resistance") == pytest.approx(resistance, rel=1e-9)
    assert shown(page, "#rise") == pytest.approx(40 * resistance, rel=1e-9)
    assert shown(page, "#resistance") < before * 0.99
    assert page.wrong == []


def test_undo_and_a_second_tab_and_the_dry_season(context, live, file):
    from playwright.sync_api import expect

    first = opened(context, live)
    expect_confirmed(first)
    before = shown(first, "#resistance")
    second = opened(context, live, address=first.url)
    expect_confirmed(second)
    dragged(first, ROD, by=(100, 0))
    expect(second.locator("#changes")).to_contain_text("mill", timeout=20_000)
    expect_confirmed(second)
    assert shown(second, "#resistance") != before
    second.locator("#undo").click()
    expect(first.locator("#changes")).not_to_contain_text("mill")
    expect_confirmed(first)
    assert shown(first, "#resistance") == pytest.approx(before, rel=1e-9)
    first.locator("#variants").select_option("dry season")
    expect(first.locator("#verdict")).to_contain_text("no verdict")
    expect_confirmed(first)
    dry = run_case(load_case(file).variants[0]).operating.resistance[0, 0]
    assert shown(first, "#resistance") == pytest.approx(dry, rel=1e-9)
    assert first.wrong == second.wrong == []


def test_the_page_says_that_its_program_is_gone_and_finds_edits_again(context, live, file):
    from playwright.sync_api import expect

    page = opened(context, live)
    expect_confirmed(page)
    dragged(page, ROD, by=(90, 40))
    expect(page.locator("#changes")).to_contain_text("mill")
    expect_confirmed(page)  # the last of the drag has come
    words = page.locator("#changes li").all_inner_texts()
    live.kill()
    expect(page.locator("#gone")).to_be_visible()
    again = Live(file)
    try:
        page = opened(context, again)
        expect(page.locator("#taken")).to_be_visible()
        assert page.locator("#changes li").all_inner_texts() == words
        page.locator("#discard").click()
        expect(page.locator("#changes")).not_to_contain_text("mill")
    finally:
        again.kill()


def test_a_used_address_opens_nothing_in_another_browser(browser, context, live):
    opened(context, live)
    stranger = browser.new_context()
    page = stranger.new_page()
    answer = page.goto(f"http://{live.host}/?token={live.token}")
    assert answer.status == 403
    assert "has been used" in page.content()
    stranger.close()
