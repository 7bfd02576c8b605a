"""The page of a batch: ten thousand rows, of which only those that are seen are there."""

import random
from datetime import datetime

import pytest

from ohmscape.solver.family import Batch, Record, RowFound
from ohmscape.viz.family.page import write_batch_page

pytestmark = pytest.mark.slow


@pytest.fixture(scope="module")
def batch():
    """Ten thousand invented rows, two in a hundred too close to tell."""
    draw = random.Random(3)
    rows = []
    for k in range(1, 10_001):
        share = draw.lognormvariate(-0.7, 0.6)
        near = abs(share - 1) < 0.03
        standing = "too close" if near else "passes" if share < 1 else "misses"
        ohms, rise = draw.uniform(3, 60), draw.uniform(100, 4000)
        found = Record("thin conductors", standing, share=share, resistance=ohms, rise=rise)
        place = (4 + draw.random(), 54 + draw.random())
        name = f"site-{k}-</script><b>"
        rows.append(RowFound(k, k + 1, name, f"{k:064x}", found, place=place))
    ranked = tuple(sorted(rows, key=lambda row: row.rank))
    return Batch("Many", "t.yaml", "t.csv", "SI", ranked, (), 0.1, 0.1, 0, 1, "geographic")


def test_rows_are_found_sorted_and_marked_from_the_map(opened, batch, tmp_path):
    page = opened(write_batch_page(batch, tmp_path, made=datetime(2026, 11, 28)))
    assert page.locator("#count").inner_text() == "10,000 of 10,000 rows"
    assert page.locator(".row").count() < 60
    first = page.locator(".row").first
    assert batch.rows[0].name in first.inner_text()
    page.fill("#find", "site-4242-")
    assert page.locator("#count").inner_text() == "1 of 10,000 rows"
    assert "site-4242-</script><b>" in first.inner_text()
    # The one that is left stands alone on the map, where a click marks it.
    where = [row.number for row in batch.rows].index(4242)
    box = page.locator("#map").bounding_box()
    x, y = page.evaluate("k => at(k)", where)
    page.mouse.click(box["x"] + x, box["y"] + y)
    assert page.locator(".row.marked").count() == 1
    page.fill("#find", "")
    page.locator("#head button", has_text="Ohms").click()
    least = min(batch.rows, key=lambda row: row.best.resistance)
    assert least.name in first.inner_text()
    page.select_option("#standing", "too close to a limit to tell")
    count = sum(row.best.standing == "too close" for row in batch.rows)
    assert page.locator("#count").inner_text() == f"{count:,} of 10,000 rows"
    page.locator("#body").evaluate("it => { it.scrollTop = it.scrollHeight }")
    page.wait_for_function("document.querySelectorAll('.row').length > 5")
    assert page.locator(".row").count() < 60
