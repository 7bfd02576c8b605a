"""A real browser for the report, without network.

Chromium and playwright are not needed to use ohmscape. Where they are missing these tests are
left out, unless OHMSCAPE_BROWSER=required says that this must not happen, as in .ci/run.
OHMSCAPE_SCREENSHOTS names a folder in which to keep what the browser showed.
"""

import os
import shutil
from pathlib import Path

import pytest

from ohmscape.cases.loading import load_case
from ohmscape.cases.shipped import shipped_case_path
from ohmscape.jobs.run import run_case, run_variants
from ohmscape.viz.report import write_report
from ohmscape.viz.result_folder import load_result, save_result

_names = ("chromium", "chromium-browser", "google-chrome-stable", "google-chrome")


def missing(what: str) -> None:
    remedy = "install the package chromium, and ohmscape[dev] for playwright"
    if os.environ.get("OHMSCAPE_BROWSER") == "required":
        pytest.fail(f"{what} is missing and OHMSCAPE_BROWSER=required: {remedy}")
    pytest.skip(f"{what} is missing; to run the tests of the report in a browser {remedy}")


@pytest.fixture(scope="session")
def browser():
    program = next(filter(None, map(shutil.which, _names)), None)
    if program is None:
        missing("chromium")
    try:
        from playwright.sync_api import sync_playwright
    except ImportError:
        missing("playwright")
    # As root, which containers are, chromium refuses its own sandbox.
    arguments = ["--no-sandbox"] if os.geteuid() == 0 else []
    with sync_playwright() as player:
        shown = player.chromium.launch(executable_path=program, args=arguments)
        yield shown
        shown.close()


@pytest.fixture(scope="session")
def folder(browser, tmp_path_factory) -> Path:
    """Folder of a finished run of a shipped case, with its report."""
    target = tmp_path_factory.mktemp("switchyard") / "result"
    case = load_case(shipped_case_path("switchyard"))
    save_result(run_case(case, accuracy="coarse"), target, pictures=False)
    write_report([load_result(target)], target)
    return target


@pytest.fixture(scope="session")
def varied(browser, tmp_path_factory):
    """Results of a case with variants, and the page on them."""
    case = load_case(shipped_case_path("tt-workshop"))
    results = run_variants(case, accuracy="coarse")
    target = tmp_path_factory.mktemp("workshop")
    write_report(results, target)
    return results, target / "report.html"


@pytest.fixture(scope="session")
def result(folder):
    """What the result file holds."""
    return load_result(folder)


@pytest.fixture(scope="session")
def screenshots(tmp_path_factory) -> Path:
    asked = os.environ.get("OHMSCAPE_SCREENSHOTS")
    target = Path(asked) if asked else tmp_path_factory.mktemp("screenshots")
    target.mkdir(parents=True, exist_ok=True)
    return target


@pytest.fixture
def opened(browser):
    """Opens a page offline; it must not complain or ask for anything when the test ends."""
    wrong: list[str] = []
    contexts = []

    def request(asked):
        if not asked.url.startswith(("file:", "data:")):
            wrong.append(f"asked for {asked.url}")

    def message(said):
        if said.type in ("error", "warning"):
            wrong.append(f"console: {said.text}")

    def open_page(path: Path, *, width: int = 1280, height: int = 900):
        size = {"width": width, "height": height}
        context = browser.new_context(offline=True, viewport=size)
        contexts.append(context)
        page = context.new_page()
        page.on("console", message)
        page.on("pageerror", lambda error: wrong.append(f"error: {error}"))
        page.on("request", request)
        page.on("dialog", lambda dialog: wrong.append(f"dialog: {dialog.message}"))
        page.goto(path.as_uri())
        return page

    yield open_page
    for context in contexts:
        context.close()
    assert wrong == []
