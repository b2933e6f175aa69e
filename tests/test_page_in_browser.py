"""The page in a browser: keys, filters, no script, a narrow screen, hostile copy."""

import shutil
from pathlib import Path

import pytest
from report_cases import programme
from test_page import hostile

from proofcheck.results.page.fault_page import write_page

sync_api = pytest.importorskip("playwright.sync_api")
CHROMIUM = next(filter(None, map(shutil.which, ("chromium", "chromium-browser"))), None)
pytestmark = pytest.mark.skipif(CHROMIUM is None, reason="needs a chromium browser")


@pytest.fixture(scope="module")
def chromium():
    with sync_api.sync_playwright() as driver:
        how = ["--no-sandbox", "--disable-gpu"]
        browser = driver.chromium.launch(executable_path=CHROMIUM, args=how)
        yield browser
        browser.close()


@pytest.fixture
def browser(chromium):
    """Its windows are closed after each test: left open, they go on asking for desks long shut."""
    yield chromium
    for context in chromium.contexts:
        context.close()


def opened(browser, report, tmp_path, **options):
    path = write_page(report, tmp_path / "proof.html", overwrite=True)
    context = browser.new_context(**options)
    page = context.new_page()
    troubles = []
    page.on("console", lambda message: troubles.append(message.text))
    page.on("pageerror", lambda error: troubles.append(str(error)))
    page.on("request", lambda request: troubles.append(request.url[:60])
            if not request.url.startswith(("file:", "data:image/webp")) else None)  # fmt: skip
    page.goto(Path(path).as_uri())
    return page, troubles


def test_keys_step_jump_and_help_and_filters_sift(browser, tmp_path):
    page, troubles = opened(browser, programme(), tmp_path)
    focused = "document.activeElement.id"
    page.keyboard.press("j")
    page.keyboard.press("ArrowDown")
    assert page.evaluate(focused) == "F2"
    page.keyboard.press("k")
    assert page.evaluate(focused) == "F1"
    page.keyboard.press("Enter")
    assert page.evaluate(focused) == "F1-place"
    page.keyboard.press("Enter")
    assert page.evaluate(focused) == "F1"
    page.keyboard.press("?")
    assert page.locator("#help").is_visible()
    page.keyboard.press("Escape")
    assert not page.locator("#help").is_visible()

    page.locator("input[value=fault]").uncheck()
    assert page.locator(".card:visible").count() == 1
    assert page.locator("#F4").is_visible()
    assert "1 entry shown" in page.locator("#told").inner_text()
    page.locator("input[value=fault]").check()
    page.locator("select[name=kind]").select_option("word-missing")
    assert [card.get_attribute("id") for card in page.locator(".card:visible").all()] == ["F3"]
    page.locator("input[value=fault]").uncheck()
    assert page.locator("#none").is_visible()
    assert troubles == []


def test_without_script_on_a_narrow_screen_all_is_shown(browser, tmp_path):
    page, troubles = opened(
        browser,
        programme(),
        tmp_path,
        java_script_enabled=False,
        viewport={"width": 360, "height": 740},
    )
    assert page.locator(".card:visible").count() == 4
    assert not page.locator("#filter").is_visible()
    assert not page.locator("#help").is_visible()
    for card in page.locator(".card").all():
        box = card.bounding_box()
        assert box["x"] >= 0
        assert box["x"] + box["width"] <= 360
    page.locator("#F3 .go a").click()
    assert page.url.endswith("#F3-place")
    assert troubles == []


def test_hostile_copy_runs_nothing(browser, tmp_path):
    page, troubles = opened(browser, hostile(), tmp_path)
    page.keyboard.press("j")
    assert page.evaluate("typeof window.broken") == "undefined"
    assert page.locator(".card").count() == 4
    assert page.evaluate("document.scripts.length") == 1
    assert troubles == []
