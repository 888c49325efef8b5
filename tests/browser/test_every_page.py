"""Every page at both widths: fits, fetches nothing from outside, complains of nothing, passes axe."""

from collections.abc import Callable
from pathlib import Path

import axe_playwright_python
import pytest

from tests.browser.watching import DESK, PHONE, Watched

pytestmark = pytest.mark.browser

AXE = (Path(axe_playwright_python.__file__).parent / "axe.min.js").read_text(encoding="utf-8")
RULES = "{runOnly: ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice']}"
ADDRESSES = {
    "summary": "/",
    "callbacks": "/callbacks",
    "first visit": "/first-visit",
    "checks": "/checks",
    "checks by complaint": "/checks?by=symptom&within=60",
    "over time": "/over-time",
    "over time by week": "/over-time?each=week&within=60",
    "this week": "/this-week",
    "new call": "/new-call",
    "how soon": "/how-soon",
    "silence": "/silence",
    "repeat units": "/repeat-units?by=shutoff_valve",
    "filter age": "/filter-age?by=unit_age",
    "teaching": "/teaching?names=yes&lesson_minutes=30",
    "costs": "/costs?hour_price=75",
    "wrong turns": "/wrong-turns?hour_price=75",
    "how soon by part": "/how-soon?by=part&within=90&match=any",
    "technicians": "/callbacks?by=technician&within=90&match=any",
    "lesson": "/lesson",
    "lesson of a cause": "/lesson?cause=fill_tube_frozen",
    "lessons": "/lessons",
    "calls": "/calls?subset=came_back",
    "data": "/data",
    "bring a file": "/bring",
    "settle": "/settle",
    "mend": "/mend",
    "take back": "/take-back?load=1",
    "wrong address": "/?depot=nowhere&within=45",
    "no calls": "/callbacks?to=2001-01",
    "unknown call": "/call/none-such",
}


@pytest.mark.parametrize("name", [*ADDRESSES, "call", "unit"])
def test_page_fits_and_is_accessible(visit: Callable[..., Watched], name: str) -> None:
    """Opened on a phone, then on a screen that has become wide: most of the time goes into opening."""
    watched = visit(PHONE)
    address = ADDRESSES.get(name) or record(watched, name)
    page = watched.open(address)
    page.evaluate("document.querySelectorAll('details').forEach(each => { each.open = true; })")
    page.evaluate(AXE + "\n;0")
    for width in (PHONE, DESK):
        page.set_viewport_size({"width": width, "height": 900})
        assert page.evaluate("document.documentElement.scrollWidth") <= width
        found = page.evaluate(f"axe.run(document, {RULES}).then(r => r.violations)")
        broken = [(each["id"], [node["html"][:200] for node in each["nodes"]]) for each in found]
        assert (width, broken) == (width, [])


@pytest.mark.parametrize("name", ["summary", "callbacks", "filter age", "data"])
def test_page_opened_on_a_wide_screen_fits(visit: Callable[..., Watched], name: str) -> None:
    page = visit(DESK).open(ADDRESSES[name])
    page.evaluate("document.querySelectorAll('details').forEach(each => { each.open = true; })")
    assert page.evaluate("document.documentElement.scrollWidth") <= DESK


def test_a_page_that_is_too_wide_would_be_found(visit: Callable[..., Watched]) -> None:
    page = visit(PHONE).open("/calls")
    page.add_style_tag(content="main table { min-width: 900px } main * { overflow: visible !important }")
    assert page.evaluate("document.documentElement.scrollWidth") > PHONE


def record(watched: Watched, kind: str) -> str:
    page = watched.open("/calls?subset=came_back")
    return page.locator(f"main a[href^='/{kind}/']").first.get_attribute("href") or ""


def test_axe_would_find_a_fault(visit: Callable[..., Watched]) -> None:
    page = visit().open("/")
    page.evaluate("document.querySelectorAll('label').forEach(label => label.removeAttribute('for'))")
    page.evaluate(
        "document.querySelectorAll('form select').forEach(s => document.querySelector('main').append(s))"
    )
    page.evaluate(AXE + "\n;0")
    found = page.evaluate(f"axe.run(document, {RULES}).then(r => r.violations.map(v => v.id))")
    assert "select-name" in found


@pytest.mark.parametrize("name", ["summary", "this week", "callbacks", "calls", "data"])
def test_dark_setting_passes_axe_too(visit: Callable[..., Watched], name: str) -> None:
    page = visit(DESK, scheme="dark").open(ADDRESSES[name])
    page.evaluate(AXE + "\n;0")
    found = page.evaluate(f"axe.run(document, {RULES}).then(r => r.violations.map(v => v.id))")
    assert found == []


@pytest.mark.parametrize("address", ["/", "/callbacks"])
def test_touch_targets_are_large_enough(visit: Callable[..., Watched], address: str) -> None:
    """Controls are 44 px high on a phone; links in sentences and tables follow the text (WCAG 2.2, 2.5.8)."""
    page = visit(PHONE).open(address)
    controls = page.locator("main select, main summary, main .tools a, main .tools button, .menu, .pages a")
    small = [
        (each.inner_text()[:30], box)
        for each in controls.all()
        if each.is_visible() and (box := each.bounding_box()) and box["height"] < 43.5
    ]
    assert small == []


def test_print_keeps_the_evidence_and_drops_the_navigation(visit: Callable[..., Watched]) -> None:
    page = visit().open("/callbacks")
    page.emulate_media(media="print")
    assert not page.locator(".head nav").is_visible()
    assert not page.locator(".tools").first.is_visible()
    assert page.locator(".answer").is_visible()
    assert page.locator("#groups table").is_visible()
