"""The report as a person meets it: opened from a file, read, turned, switched, printed."""

import re
from dataclasses import replace
from datetime import datetime

import numpy as np
import pytest
from matplotlib.tri import LinearTriInterpolator, Triangulation

from ohmscape.solver.polygons import inside
from ohmscape.viz.report.assembly import sections
from ohmscape.viz.report.page import write_page

pytestmark = pytest.mark.slow

_prefix = {"µ": 1e-6, "m": 1e-3, "": 1.0, "k": 1e3, "M": 1e6}
# Three figures are right to half of the last one: 0.5 % at worst.
_rounding = 5.1e-3


def volts(text: str) -> float:
    found = re.fullmatch(r"(−?[\d.]+) ([µmkM]?)V", text.strip())
    assert found is not None, text
    return float(found[1].replace("−", "-")) * _prefix[found[2]]


@pytest.fixture
def report(opened, folder):
    return opened(folder / "report.html")


def extent(page):
    """Corners of what the map shows."""
    numbers = page.locator("#map-stage").get_attribute("data-extent").split()
    return np.array(numbers, dtype=float).reshape(2, 2)


def pointed(page, x, y):
    """Move the pointer to a plan place; give where the page says it is and what it shows."""
    low, high = extent(page)
    assert low[0] <= x <= high[0]
    assert low[1] <= y <= high[1]
    stage = page.locator("#map-over")
    stage.scroll_into_view_if_needed()
    box = stage.bounding_box()
    # The frame of the plot within the canvas, as the page draws it.
    left, right, bottom = 56, 10, 44
    top = int(page.locator("#map-stage").get_attribute("data-top"))  # more below a north arrow
    scale = (box["height"] - top - bottom) / (high[1] - low[1])
    assert scale * (high[0] - low[0]) <= box["width"] - left - right + 1
    place = (left + (x - low[0]) * scale, top + (high[1] - y) * scale)
    page.mouse.move(box["x"] + place[0], box["y"] + place[1])
    told = page.locator("#read-out")
    at = [float(told.get_attribute(f"data-{axis}")) for axis in "xy"]
    cells = {
        cell.get_attribute("data-key"): cell.inner_text() for cell in told.locator("dd").all()
    }
    return at, cells


def test_page_opens_offline_and_complains_of_nothing(report, result):
    assert report.locator("h1").inner_text() == result.title
    assert "UNSAFE" in report.locator("#verdict p").first.inner_text()
    assert report.locator("section").count() == 18


def test_page_is_ready_in_less_than_three_seconds(report):
    # Its script draws map and scene before the page counts as loaded.
    spent = report.evaluate("performance.getEntriesByType('navigation')[0].loadEventEnd")
    assert 0 < spent < 3000


def test_map_reads_what_the_result_file_holds(report, result):
    surface = result.surface
    triangles = Triangulation(*surface.places.T, surface.triangles)
    report.locator("[data-layer=potential]").click()

    def expected(values, at):
        return float(LinearTriInterpolator(triangles, values)(*at))

    fence, structures = 1, 0
    assert [metal.name for metal in result.metals] == ["structures", "fence"]
    potential, step = surface.potential, surface.step
    rise = abs(result.operating.voltage[0])
    seen = 0
    for place in [
        (2.3, 2.4),
        (20.0, 15.0),
        (40.6, -0.7),
        (-6.0, 25.0),
        (39.2, 31.1),
        (11.1, 4.7),
    ]:
        at, cells = pointed(report, *place)
        # Within a pixel of where the pointer was sent.
        assert np.abs(np.subtract(at, place)).max() < 0.2
        soil = expected(potential, at)
        # Beside a kink of the interpolation a pixel may belong to the next triangle.
        assert volts(cells["potential"]) == pytest.approx(soil, rel=_rounding)
        told = volts(cells["step"].splitlines()[0])
        assert told == pytest.approx(expected(step, at), rel=2 * _rounding)
        # And the field itself, which the samples stand for.
        field = float(result.field.surface_potential([at])[0])
        assert abs(volts(cells["potential"]) - field) < 0.02 * rise
        for number in (structures, fence):
            within = bool(result.metals[number].within_reach(np.array([at]))[0])
            assert (f"touch{number}" in cells) == within
            if within:
                told = volts(cells[f"touch{number}"])
                assert told == pytest.approx(rise - soil, rel=2 * _rounding, abs=0.01 * rise)
                seen += 1
    assert seen >= 5


def test_map_holds_voltages_against_the_limit_of_the_ground(report, result):
    verdict = result.verdict
    report.locator("[data-layer=potential]").click()
    factor = verdict.growth_factor * verdict.decrement_factor
    rise = abs(result.operating.voltage[0])
    yard, fence, walking = verdict.judgements
    for place, judgement, key in [
        ((2.35, 2.4), yard, "share0"),
        ((40.6, -0.6), fence, "share1"),
        ((39.5, 20.0), fence, "share1"),
    ]:
        at, cells = pointed(report, *place)
        share, told = cells[key].split("\n")
        voltage, limit, margin = re.fullmatch(
            r"(.*) of (.*) permissible, margin (.*)", told
        ).groups()
        allowed = float(judgement.permissible(np.array([at]))[0])
        assert volts(limit) == pytest.approx(allowed, rel=_rounding)
        field = factor * (rise - float(result.field.surface_potential([at])[0]))
        assert volts(voltage) == pytest.approx(field, abs=0.02 * factor * rise)
        assert volts(margin) == pytest.approx(
            volts(limit) - volts(voltage), abs=2 * _rounding * max(volts(limit), field)
        )
        percent = float(share.split()[1])
        assert percent == pytest.approx(100 * field / allowed, rel=0.05)
        assert share.startswith("✕" if percent > 100 else "✓")
    outside = pointed(report, 20.0, -4.0)[1]
    assert "share0" not in outside  # nobody is judged inside the yard from there
    assert "share2" in outside
    assert walking.kind == "step"
    assert inside(np.array([[2.35, 2.4]]), outline=yard.outline).all()


@pytest.mark.parametrize("width", [1280, 390])
def test_the_bar_below_a_map_is_as_long_as_it_says(opened, folder, width):
    page = opened(folder / "report.html", width=width)
    box = page.locator("#map-over").bounding_box()
    for button, symbol, metres in (("metres", "m", 1.0), ("feet", "ft", 0.3048)):
        page.get_by_role("button", name=button, exact=True).click()
        low_x, _, high_x, _ = map(
            float, page.locator("#map-stage").get_attribute("data-extent").split()
        )
        # Left and right of the map are 56 and 10 px for the axes; a pixel is lost to rounding.
        scale = (box["width"] - 66) / (high_x - low_x)
        length, unit, pixels = page.locator("#map-stage").get_attribute("data-scale").split()
        assert unit == symbol
        assert float(length) * metres * scale == pytest.approx(float(pixels), rel=0.01)
        assert (box["width"] - 66) / 12 < float(pixels) <= (box["width"] - 66) / 4


def test_every_map_can_be_chosen(report):
    buttons = report.locator("#map-choices button")
    assert buttons.count() == 7
    pictures = set()
    for button in buttons.all():
        button.click()
        assert button.get_attribute("aria-pressed") == "true"
        assert button.inner_text() in report.locator("#map-heading").inner_text()
        pictures.add(report.evaluate("document.getElementById('map-base').toDataURL()"))
    assert len(pictures) == buttons.count()


def test_a_step_map_shows_where_the_other_foot_is(report, result):
    surface = result.surface
    triangles = Triangulation(*surface.places.T, surface.triangles)
    stage = report.locator("#map-stage")
    pointed(report, 20.0, 15.0)
    assert stage.get_attribute("data-other-foot") is None  # that map shows touch voltages
    report.locator("[data-layer=step]").click()
    for place in [(41.0, -1.2), (-2.0, 14.0), (30.0, 31.5)]:
        at, cells = pointed(report, *place)
        other = [float(part) for part in stage.get_attribute("data-other-foot").split()]
        assert np.hypot(*np.subtract(other, at)) == pytest.approx(surface.pace)
        ends = result.field.surface_potential([at, other])
        step = float(LinearTriInterpolator(triangles, surface.step)(*at))
        # The direction is that of the nearest sample, a quarter of a metre away at most.
        assert abs(ends[0] - ends[1]) == pytest.approx(step, rel=0.05)
        x, y = (f"{value:.2f}".replace("-", "−") for value in other)
        assert f"other foot at ({x}, {y}) m" in cells["step"]


def test_variants_are_chosen_on_the_map(opened, varied, screenshots):
    results, path = varied
    page = opened(path)
    buttons = page.locator("#map-variants button")
    told = [button.inner_text() for button in buttons.all()]
    assert told == ["as it stands", *(result.variant for result in results[1:])]
    page.locator("[data-layer=potential]").click()
    for number, (button, result) in enumerate(zip(buttons.all(), results, strict=True)):
        button.click()
        assert button.get_attribute("aria-pressed") == "true"
        assert told[number] in page.locator("#map-heading").inner_text()
        at, cells = pointed(page, 1.1, -0.7)
        field = result.field.surface_potential([at])[0]
        # Samples 0.2 m apart are linear between them: 1 % of the rise so near to the rod.
        assert volts(cells["potential"]) == pytest.approx(abs(field), abs=0.01 * result.rise)
        rise = abs(result.operating.voltage[0] - field)
        if "touch0" in cells:
            assert volts(cells["touch0"]) == pytest.approx(rise, abs=0.01 * result.rise)
        page.locator("#maps").screenshot(path=screenshots / f"variant-{number}.png")
    # What is chosen stays chosen from one condition to the next.
    page.locator("[data-layer=step]").click()
    buttons.first.click()
    assert page.locator("[data-layer=step]").get_attribute("aria-pressed") == "true"


def test_conditions_can_be_compared_by_their_colours(opened, varied, tmp_path):
    one, surface = varied[0][0], varied[0][0].surface
    larger = replace(
        one,
        variant="three times",
        operating=replace(one.operating, voltage=3 * one.operating.voltage),
        surface=replace(surface, potential=3 * surface.potential, step=3 * surface.step),
    )
    made = datetime(2026, 3, 1)
    drawn = [
        each for each in sections([one, larger], made=made) if each.key in ("maps", "scene")
    ]
    page = opened(write_page([one, larger], drawn, tmp_path / "report.html", made=made))
    page.locator("[data-layer=potential]").click()

    def keys():
        found = []
        for button in page.locator("#map-variants button").all():
            button.click()
            found.append(tuple(page.locator("#map-key .band").all_inner_texts()))
        return found

    alike = keys()
    assert len(set(alike)) == 1
    assert len(alike[0]) > 3
    page.locator("#map-levels").click()
    assert page.locator("#map-levels").get_attribute("aria-pressed") == "false"
    assert len(set(keys())) == 2


def test_a_case_without_variants_has_none_to_choose(report):
    assert report.locator("#map-variants button").count() == 0
    assert report.locator("#map-levels").count() == 0


def test_the_read_out_says_where_nobody_can_touch(report):
    report.locator("[data-layer=touch1]").click()
    cells = pointed(report, 20.0, 15.0)[1]
    assert cells["touch1-not"] == "out of reach of 'fence'"
    assert "touch1" not in cells
    assert "touch1-not" not in pointed(report, 40.6, -0.7)[1]
    report.locator("[data-layer=share0]").click()  # people stand inside the fence
    assert pointed(report, 20.0, 30.8)[1]["share0-not"] != ""


def test_the_key_names_edges_of_surface_layers_only_where_there_are_some(
    report, opened, varied
):
    report.locator("[data-layer=share1]").click()
    assert "edge of a surface layer" in report.locator("#map-key").inner_text()
    page = opened(varied[1])
    page.locator("[data-layer=share0]").click()
    assert "bold line: the limit" in page.locator("#map-key").inner_text()
    assert "surface layer" not in page.locator("#map-key").inner_text()


def test_a_touch_map_shows_what_is_within_reach(report, result):
    area, fence = result.area, result.metals[1]
    report.locator("[data-layer=touch1]").click()
    low, high = extent(report)
    assert np.allclose([low, high], [[-1.5, -1.5], [41.5, 31.5]])  # reach and half a metre
    at, cells = pointed(report, 40.6, -0.7)
    assert fence.within_reach(np.array([at])).all()
    assert "touch1" in cells
    report.locator("[data-layer=step]").click()
    assert np.allclose(extent(report), [area.low, area.high])
    # The place that was read is still shown.
    assert report.locator("#read-out dd[data-key=step]").count() == 1
    pointed(report, -6.0, 20.0)
    report.locator("[data-layer=touch1]").click()  # where that place is not
    assert report.locator("#read-out dd[data-key=place]").count() == 0


def test_arrow_keys_move_the_place_that_is_read(report):
    report.locator("#map-stage").focus()
    report.keyboard.press("ArrowRight")
    told = report.locator("#read-out")
    before = float(told.get_attribute("data-x"))
    report.keyboard.press("Shift+ArrowRight")
    assert float(told.get_attribute("data-x")) > before


def test_scene_turns(report, screenshots):
    stage = report.locator("#scene-stage")
    stage.scroll_into_view_if_needed()
    picture = "document.getElementById('scene-canvas').toDataURL()"
    before, azimuth = report.evaluate(picture), stage.get_attribute("data-azimuth")
    box = stage.bounding_box()
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    report.mouse.move(x, y)
    report.mouse.down()
    report.mouse.move(x + 140, y - 40, steps=5)
    report.mouse.up()
    report.wait_for_function(
        "before => document.getElementById('scene-stage').dataset.azimuth !== before",
        arg=azimuth,
    )
    assert report.evaluate(picture) != before
    stage.screenshot(path=screenshots / "scene-turned.png")
    turned = stage.get_attribute("data-azimuth")
    report.locator("[data-turn=left]").click()
    report.wait_for_function(
        "before => document.getElementById('scene-stage').dataset.azimuth !== before",
        arg=turned,
    )


def test_units_and_vocabulary_switch_independently(report):
    def told():
        return report.locator("main").inner_text()

    def choose(value):
        report.locator(f"[data-value={value}]").click()

    seen = {}
    for units in ("SI", "US"):
        for vocabulary in ("earth", "ground"):
            choose(units)
            choose(vocabulary)
            seen[units, vocabulary] = told()
    for (units, vocabulary), text in seen.items():
        assert ("13.4 mm" in text) == (units == "SI")
        assert ("0.528 in" in text) == (units == "US")
        assert ("earth potential rise" in text) == (vocabulary == "earth")
        assert ("ground potential rise" in text) == (vocabulary == "ground")
        # The scripts follow too.
        assert ("A/ft" in text) == (units == "US")


def test_read_out_follows_the_units(report, result):
    at, cells = pointed(report, 10.0, 10.0)
    assert cells["place"] == f"({at[0]:.2f}, {at[1]:.2f}) m"
    report.locator("[data-value=US]").click()
    feet = report.locator("#read-out dd[data-key=place]").inner_text()
    assert feet == f"({at[0] / 0.3048:.2f}, {at[1] / 0.3048:.2f}) ft"


@pytest.mark.parametrize(
    ("value", "text"),
    [(9.996, "10.0"), (0.0, "0"), (123456.0, "123000"), (-0.012345, "−0.0123"), (2.5, "2.50")],
)
def test_script_rounds_as_the_rest_does(report, value, text):
    from ohmscape.viz.wording import significant

    assert report.evaluate("value => significant(value)", value) == significant(value) == text


@pytest.mark.parametrize("share", [0.4567, 1.0004, 0.99996, 1.0, 11.3])
def test_script_tells_a_share_from_its_limit_as_the_rest_does(report, share):
    from ohmscape.viz.wording import share_text

    assert report.evaluate("value => shareText(value)", 100 * share) == share_text(share)


@pytest.mark.parametrize(
    ("name", "width", "height"), [("desktop", 1280, 900), ("phone", 390, 844)]
)
def test_nothing_is_wider_than_the_screen(opened, folder, screenshots, name, width, height):
    page = opened(folder / "report.html", width=width, height=height)
    page.screenshot(path=screenshots / f"{name}.png", full_page=True)
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    canvas = page.locator("#map-base").bounding_box()
    assert 0.5 * width < canvas["width"] <= width


def test_what_is_wider_than_a_phone_says_so(opened, folder):
    page = opened(folder / "report.html", width=390, height=844)
    told = {
        each.evaluate(
            "each => (each.scrollWidth > each.clientWidth + 1) === each.matches('.wider')"
        )
        for each in page.locator(".sideways").all()
    }
    assert told == {True}
    assert page.locator("#site .sideways.wider").count() >= 1
    # What is checked stands beside what was found, without any dragging.
    assert page.locator("#accuracy .sideways.wider").count() == 0


def test_all_of_a_verdict_is_seen_on_a_phone(opened, folder, screenshots):
    page = opened(folder / "report.html", width=390, height=844)
    page.locator("#verdict").screenshot(path=screenshots / "phone-verdict.png")
    for section in ("verdict", "worst"):
        cells = page.locator(f"#{section} table.stacked td")
        assert cells.count() > 10
        for cell in cells.all():
            box = cell.bounding_box()
            assert 0 <= box["x"] <= box["x"] + box["width"] <= 390
    labels = page.locator("#verdict table.stacked").first.locator("tr").nth(1)
    assert labels.locator(".label").all_inner_texts() == [
        "Exposure", "Outcome", "Voltage", "Permissible", "For", "Share", "Worst place",
    ]  # fmt: skip


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_page_can_be_printed(report, screenshots, paper):
    printed = report.pdf(format=paper, path=screenshots / f"printed-{paper}.pdf")
    assert printed.count(b"/Type /Page\n") + printed.count(b"/Type /Page ") > 4


def test_names_do_nothing_but_stand_there(opened, result, tmp_path):
    attack = "<img src=x onerror=\"document.title='taken'\"><script>alert(1)</script>"
    named = replace(
        result,
        title=attack,
        case_text=attack + "</pre>",
        metals=tuple(replace(metal, name=attack + metal.name) for metal in result.metals),
        worst=tuple(
            replace(item, name=attack + item.name) if item.kind == "touch" else item
            for item in result.worst
        ),
        verdict=None,
    )
    path = write_page(
        [named],
        sections([named], made=datetime(2031, 5, 6)),
        tmp_path / "report.html",
        made=datetime(2031, 5, 6),
    )
    page = opened(path)
    assert page.title() == attack
    assert page.locator("h1").inner_text() == attack
    for button in page.locator("#map-choices button").all():
        button.click()
    assert page.locator("img[src=x]").count() == 0
    assert page.title() == attack


def test_a_report_without_maps_opens_too(opened, tmp_path):
    from ohmscape.cases.loading import load_case
    from ohmscape.cases.shipped import shipped_case_path
    from ohmscape.jobs.case_origin import case_origin
    from ohmscape.jobs.earth_tests import predict_tests
    from ohmscape.viz.earth_tests.sections import prediction_chapters
    from ohmscape.viz.report import write_sections

    case = load_case(shipped_case_path("grid-test-on-rock"))
    origin, made = case_origin(case), datetime(2031, 5, 6)
    chapters = prediction_chapters(predict_tests(case), origin=origin, made=made)
    page = opened(write_sections(origin, chapters, tmp_path, made=made)[0], width=390)
    assert page.locator("section").count() == len(chapters)
    page.locator("[data-value=US]").click()
    assert "196.9 ft" in page.locator("#test1").inner_text()  # paced out: to a tenth
    assert page.evaluate("document.documentElement.scrollWidth") <= 390


def test_a_variant_with_other_metal_is_drawn_and_read_over_its_own(opened, tmp_path):
    from ohmscape.cases.loading import load_case
    from ohmscape.cases.shipped import shipped_case_path
    from ohmscape.jobs.run import run_variants

    case = load_case(shipped_case_path("kiosk-in-three-seasons"))
    kept = [item for item in case.variants if item.variant == "another ring"]
    results = run_variants(replace(case, variants=tuple(kept)), accuracy="coarse")
    path = tmp_path / "report.html"
    made = datetime(2026, 3, 1)
    write_page(results, sections(results, made=made), path, made=made)
    page = opened(path)
    page.locator('#map-choices [data-layer="potential"]').click()
    before = extent(page)
    shown = []
    for number, result in enumerate(results):
        page.locator(f'#map-variants [data-variant="{number}"]').click()
        _, cells = pointed(page, 3.3, 2.8)
        exact = abs(result.field.surface_potential(np.array([[3.3, 2.8]]))[0])
        # Between samples the page interpolates.
        assert volts(cells["potential"]) == pytest.approx(exact, rel=0.02)
        shown.append(volts(cells["potential"]))
    assert shown[0] != pytest.approx(shown[1], rel=0.05)
    # The map of the larger ring reaches farther.
    assert (np.abs(extent(page)) > np.abs(before)).all()
