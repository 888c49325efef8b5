"""Reviewing by keyboard: a row marked with a note that would do harm; the forms; the list on paper."""

import re
from collections.abc import Callable, Iterator

import pytest
from playwright.sync_api import Browser

from analytics.decisions import FILE
from analytics.store import Store
from tests.browser.conftest import FORMULA, HOSTILE
from tests.browser.test_every_page import AXE, RULES
from tests.browser.test_moving import tab_to
from tests.browser.watching import DESK, PHONE, Watched

pytestmark = pytest.mark.browser


@pytest.fixture(autouse=True)
def undecided(store: Store) -> Iterator[None]:
    yield
    for path in store.folder.glob(f"{FILE}*"):
        path.unlink()


def test_mark_a_row_by_keyboard(visit: Callable[..., Watched]) -> None:
    watched = visit(DESK)
    page = watched.open("/this-week?within=60")
    link = "#open-calls a[href*='mark=']"
    name = page.locator(link).first.get_attribute("aria-label") or ""
    tab_to(page, link, most=120)
    page.keyboard.press("Enter")
    page.wait_for_selector("#deciding")
    watched.settle()
    assert page.evaluate("document.activeElement.matches('#deciding h3')"), "the forms begin at their title"
    tab_to(page, "#note")
    page.keyboard.type(HOSTILE)
    tab_to(page, "#who-note")
    page.keyboard.type(FORMULA)
    tab_to(page, "form.decide button")
    page.keyboard.press("Enter")
    watched.arrive("/this-week?within=60#open-calls")
    assert "mark=" not in page.url
    assert HOSTILE in page.inner_text("#open-calls") or "1 reviewed" in page.inner_text("#open-calls h2")
    assert page.evaluate("window.hurt") is None
    page.reload()
    watched.settle()
    assert "1 reviewed" in page.inner_text("#open-calls h2"), (
        "reloading sends nothing twice, and nothing is lost"
    )
    assert name


@pytest.mark.parametrize("width", [PHONE, DESK])
def test_the_forms_fit_and_are_accessible(visit: Callable[..., Watched], width: int) -> None:
    page = visit(width).open("/this-week")
    page.locator("a[href*='mark=']").first.click()
    page.wait_for_selector("#deciding")
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    page.evaluate(AXE + "\n;0")
    found = page.evaluate(f"axe.run(document, {RULES}).then(r => r.violations.map(v => v.id))")
    assert found == []


def test_it_prints_on_one_page(browser: Browser, visit: Callable[..., Watched]) -> None:
    page = visit(DESK).open("/this-week")
    page.emulate_media(media="print")
    printed = page.pdf(prefer_css_page_size=True, format="A4")
    assert len(re.findall(rb"/Type\s*/Page[^s]", printed)) == 1
    assert page.locator("#returns, #open-calls").first.is_visible()
    assert not page.locator("form.sentence").first.is_visible()
