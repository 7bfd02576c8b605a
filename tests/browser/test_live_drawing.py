"""The live page in a browser: what it draws and reads, what it asks for, for whom it works."""

import copy
import json
import os
from pathlib import Path

import numpy as np
import pytest
from live_loop import Loop, give, opened, settled, value

from ohmscape.jobs.drafting import Drafter
from ohmscape.jobs.steps import operate

_yard = {
    "ohmscape": 1,
    "title": "Yard that is being drawn",
    "soil": {
        "layers": [
            {"resistivity": "200 ohm*m", "thickness": "2.5 m"},
            {"resistivity": "60 ohm*m"},
        ]
    },
    "electrodes": [
        {
            "name": "yard",
            "drive": {"current": "400 A"},
            "parts": [
                {
                    "kind": "grid",
                    "name": "mesh",
                    "corner": ["0 m", "0 m"],
                    "size": ["12 m", "8 m"],
                    "meshes": [3, 2],
                    "depth": "0.5 m",
                    "diameter": "10 mm",
                },
                {
                    "kind": "rod",
                    "name": "east rod",
                    "at": ["14 m", "2 m"],
                    "top_depth": "0.5 m",
                    "length": "3 m",
                    "diameter": "16 mm",
                },
            ],
        }
    ],
    "study": {
        "area": {"margin": "4 m"},
        "touch": [
            {
                "name": "frames",
                "electrode": "yard",
                "polygon": [["0 m", "0 m"], ["12 m", "0 m"], ["12 m", "8 m"], ["0 m", "8 m"]],
            }
        ],
    },
    "safety": {
        "duration": "0.5 s",
        "limits": [{"name": "adults", "ieee_80": {"body": "50 kg"}}],
        "surface": [],
        "exposures": [
            {"name": "at the frames", "touch": "frames", "limit": "adults"},
            {"name": "walking", "step": "anywhere", "limit": "adults"},
        ],
    },
}
_rod = """[data-path='["electrodes",0,"parts",1,"at"]']"""


@pytest.fixture
def loop():
    content = copy.deepcopy(_yard)
    del content["safety"]["surface"]
    return Loop(content)


def page_of(browser, *, width=1440, height=900, dark=False, **more):
    context = browser.new_context(
        viewport={"width": width, "height": height},
        color_scheme="dark" if dark else "light",
        **more,
    )
    page = context.new_page()
    page.faults = []
    page.on("pageerror", lambda error: page.faults.append(str(error)))
    return page


@pytest.fixture
def live(browser, loop):
    page = opened(page_of(browser), loop)
    yield page
    assert page.faults == []
    page.context.close()


def kept(page, name):
    if folder := os.environ.get("OHMSCAPE_SCREENSHOTS"):
        page.screenshot(path=Path(folder) / f"live-{name}.png", full_page=True)


def pinned(page):
    """What is said of pinned places, once it is drawn."""
    page.wait_for_function("document.querySelector('#pins').innerText.trim() !== ''")
    return page.locator("#pins").inner_text()


def to_pixel(page, x, y):
    return page.evaluate("([x, y]) => ohmscapeLive.toPixel(x, y)", [x, y])


def test_numbers_are_those_of_the_draft(live, loop):
    draft = Drafter().draft(loop.case())
    assert value(live, "#resistance") == pytest.approx(draft.electrodes[0].resistance, rel=1e-9)
    assert value(live, "#rise") == pytest.approx(draft.rise, rel=1e-9)
    assert live.locator("#state").inner_text() == "draft"
    assert "no verdict" in live.locator("#verdict").inner_text()
    for outcome in ("PASS", "FAIL", "UNSAFE"):
        assert outcome not in live.locator("main").inner_text()
    kept(live, "desktop")


def test_a_pinned_place_reads_what_the_field_has_there(live, loop):
    case = loop.case()
    field = operate(case, Drafter()._solved(case)).field
    live.mouse.click(*to_pixel(live, 5.0, 3.3))
    text = pinned(live)
    potential = float(np.abs(field.surface_potential(np.array([[5.0, 3.3]]))[0]))
    told = text.split("potential")[1].split()[0:2]
    scale = {"V": 1.0, "kV": 1000.0, "mV": 0.001}[told[1]]
    # A click is on a pixel, and the map is taken between its places by straight lines.
    assert float(told[0]) * scale == pytest.approx(potential, rel=0.01)
    assert "touch, frames" in text
    assert "of its" in text or "% of" in text


def test_dragging_a_rod_sends_moves_one_at_a_time_and_ends_with_the_last(live, loop):
    before = value(live, "#resistance")
    x, y = to_pixel(live, 14.0, 2.0)
    live.mouse.move(x, y)
    live.mouse.down()
    to = to_pixel(live, 15.5, 6.0)
    for k in range(1, 11):
        live.mouse.move(x + (to[0] - x) * k / 10, y + (to[1] - y) * k / 10)
    live.mouse.up()
    live.wait_for_function("document.querySelector('#undo').disabled === false")
    settled(live, loop.number)
    sets = [each for each in loop.sent if each["do"] == "set"]
    assert [each["moving"] for each in sets] == [True] * (len(sets) - 1) + [False]
    assert len(sets) >= 2
    at = [float(each.split()[0]) for each in loop.content["electrodes"][0]["parts"][1]["at"]]
    assert at == pytest.approx([15.5, 6.0], abs=0.15)
    assert sets[-1]["value"] == loop.content["electrodes"][0]["parts"][1]["at"]
    assert value(live, "#resistance") != before
    fresh = Drafter().draft(loop.case())
    assert value(live, "#resistance") == pytest.approx(fresh.electrodes[0].resistance, rel=1e-9)
    live.locator("#undo").click()
    settled(live, loop.number)
    assert value(live, "#resistance") == pytest.approx(before, rel=1e-9)


def test_escape_puts_back_what_is_dragged(live, loop):
    before = value(live, "#resistance")
    x, y = to_pixel(live, 14.0, 2.0)
    live.mouse.move(x, y)
    live.mouse.down()
    live.mouse.move(x + 30, y + 20)
    settled(live, 1)
    live.keyboard.press("Escape")
    live.mouse.move(x + 60, y + 20)
    live.mouse.up()
    live.wait_for_function("document.querySelector('#state').innerText === 'draft'")
    settled(live, loop.number)
    assert loop.content["electrodes"][0]["parts"][1]["at"] == ["14 m", "2 m"]
    assert value(live, "#resistance") == pytest.approx(before, rel=1e-9)


def test_arrows_move_what_has_the_focus(live, loop):
    live.locator(_rod).focus()
    label = live.locator(_rod).get_attribute("aria-label")
    assert "east rod" in label
    assert "14.00" in label
    live.keyboard.press("ArrowRight")
    settled(live, 1)
    small = float(loop.content["electrodes"][0]["parts"][1]["at"][0].split()[0])
    live.keyboard.press("Shift+ArrowRight")
    settled(live, 2)
    large = float(loop.content["electrodes"][0]["parts"][1]["at"][0].split()[0])
    assert 14.0 < small < 14.5
    assert large - small > 4 * (small - 14.0)
    focus = live.evaluate("document.activeElement.dataset.path")
    assert focus == '["electrodes",0,"parts",1,"at"]'


def test_a_plane_between_layers_is_moved_and_typed(live, loop):
    plane = live.locator("[data-plane='0']")
    plane.focus()
    live.keyboard.press("ArrowDown")
    settled(live, 1)
    moved = float(loop.content["soil"]["layers"][0]["thickness"].split()[0])
    assert moved > 2.5
    field = live.locator("""#soil [data-path='["soil","layers",0,"thickness"]']""")
    field.fill("3 m")
    field.press("Enter")
    field.blur()
    settled(live, 2)
    assert loop.content["soil"]["layers"][0]["thickness"] == "3 m"


def test_what_is_refused_is_shown_in_place_and_the_last_numbers_stay(live, loop):
    before = value(live, "#resistance")
    field = live.locator("""#soil [data-path='["soil","layers",0,"resistivity"]']""")
    field.fill("-5 ohm*m")
    field.blur()
    live.locator("#problems").wait_for(state="visible")
    assert "resistivity" in live.locator("#problems").inner_text()
    assert field.get_attribute("aria-invalid") == "true"
    assert field.input_value() == "-5 ohm*m"
    assert value(live, "#resistance") == before
    assert loop.number == 0


def test_a_ring_is_added_and_removed(live, loop):
    live.locator("#add-ring").click()
    settled(live, 1)
    assert loop.content["electrodes"][0]["parts"][-1]["kind"] == "ring"
    live.locator("#remove").click()
    settled(live, 2)
    assert len(loop.content["electrodes"][0]["parts"]) == 2


@pytest.mark.slow
def test_verdict_comes_with_the_confirmed_result(live, loop):
    give(live, loop.confirmed())
    live.wait_for_function("document.querySelector('#state').dataset.kind !== 'draft'")
    assert live.locator("#state").get_attribute("data-kind") == "confirmed"
    assert "±" in live.locator("#state").inner_text()
    verdict = live.locator("#verdict")
    assert verdict.get_attribute("class") in ("pass", "fail")
    kept(live, "confirmed")
    # The next edit takes the verdict away.
    live.locator(_rod).focus()
    live.keyboard.press("ArrowRight")
    settled(live, 1)
    assert verdict.get_attribute("class") == "open"


@pytest.mark.slow
def test_numbers_of_the_state_before_say_so_while_an_edit_is_under_way(live, loop):
    give(live, loop.confirmed())
    live.wait_for_function("document.querySelector('#verdict').className !== 'open'")
    assert "confirmed" in live.locator("#resistance").inner_text()
    # The program takes its time.
    live.evaluate("window.liveSocket.send = () => {}")
    live.locator(_rod).focus()
    live.keyboard.press("ArrowRight")
    live.wait_for_function("document.querySelector('#verdict').className === 'open'")
    assert "of the state before" in live.locator("#resistance").inner_text()
    assert "of the state before" in live.locator("#map-words").inner_text()
    table = live.locator("#worst tbody").inner_text()
    assert "of the state before" in table
    assert "PASS" not in table
    assert "FAIL" not in table


def test_a_draft_is_not_marked_as_failed(browser, loop):
    loop.content["electrodes"][0]["drive"]["current"] = "40 kA"
    page = opened(page_of(browser), loop)
    page.locator("#plan").click(position={"x": 20, "y": 20})
    table = page.locator("#worst tbody")
    share = float(table.locator("td").nth(2).inner_text().split("%")[0])
    assert share > 100
    assert page.locator(".over").count() == 0
    assert "✕" not in page.locator("main").inner_text()
    assert page.locator("#verdict").get_attribute("class") == "open"
    assert page.faults == []
    page.context.close()


@pytest.mark.parametrize("evil", ["<img src=x onerror=alert(1)>", "</script><b>bold</b>"])
def test_names_are_shown_and_never_run(browser, loop, evil):
    loop.content["title"] = evil
    loop.content["electrodes"][0]["name"] = evil
    loop.content["electrodes"][0]["parts"][1]["name"] = evil
    loop.content["study"]["touch"][0] |= {"name": evil, "electrode": evil}
    loop.content["safety"]["exposures"][0] |= {"name": evil, "touch": evil}
    page = page_of(browser)
    dialogs = []
    page.on("dialog", lambda dialog: (dialogs.append(dialog.message), dialog.dismiss()))
    opened(page, loop)
    page.locator("#plan").click(position={"x": 20, "y": 20})
    assert page.locator("h1").inner_text() == evil
    assert evil in pinned(page)
    assert page.locator("main img, main b, header img, header b").count() == 0
    assert dialogs == page.faults == []
    page.context.close()


def test_a_result_that_differs_is_said_to(live, loop):
    (message, numbers), *_ = loop.confirmed()
    told = json.loads(message)
    for one in told["electrodes"]:
        one["resistance"] *= 1.2
    give(live, [[json.dumps(told), numbers]])
    live.wait_for_function("document.querySelector('#state').dataset.kind !== 'draft'")
    assert live.locator("#state").get_attribute("data-kind") == "differs"
    assert "below" in live.locator("#state").inner_text()


def test_a_program_that_is_gone_is_told(live):
    live.evaluate("window.liveSocket.dispatchEvent(new Event('close'))")
    live.locator("#gone").wait_for(state="visible")
    # What is moved now would follow nothing.
    place = live.locator(_rod).get_attribute("transform")
    live.locator(_rod).focus()
    live.keyboard.press("ArrowRight")
    assert live.locator(_rod).get_attribute("transform") == place
    assert live.locator("#soil input").first.is_disabled()


@pytest.mark.parametrize(
    ("name", "size"), [("phone", (390, 844)), ("desk", (1440, 900)), ("narrow", (1024, 768))]
)
@pytest.mark.parametrize("dark", [False, True])
def test_nothing_lies_beyond_the_screen(browser, loop, name, size, dark):
    page = opened(page_of(browser, width=size[0], height=size[1], dark=dark), loop)
    assert page.evaluate("document.documentElement.scrollWidth") <= size[0]
    duty = page.locator("#duty").bounding_box()
    assert duty["y"] + duty["height"] < size[1]
    kept(page, f"{name}-{'dark' if dark else 'light'}")
    assert page.faults == []
    page.context.close()


@pytest.mark.parametrize("margin", ["4 m", "14 m"])
def test_plan_key_and_section_are_seen_at_once(browser, loop, margin):
    loop.content["study"]["area"]["margin"] = margin
    # As many buttons of maps as make two rows of them.
    loop.content["safety"]["exposures"] += [
        {
            "name": f"walking on the long way to the gate {k}",
            "step": "anywhere",
            "limit": "adults",
        }
        for k in range(3)
    ]
    page = opened(page_of(browser), loop)
    box = page.locator("#section").bounding_box()
    assert box["height"] > 100
    assert box["y"] + box["height"] <= 900
    assert page.locator("#plan").bounding_box()["height"] >= 250
    page.context.close()


def test_the_page_asks_nothing_of_any_network(browser, loop):
    page = page_of(browser)
    asked = []
    page.on("request", lambda request: asked.append(request.url))
    opened(page, loop)
    assert asked == ["http://live.test/"]
    page.context.close()
