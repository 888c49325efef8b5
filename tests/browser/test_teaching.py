"""Teaching in a browser: a lesson recorded and taken back by keyboard, a case played, sheets on paper."""

from collections.abc import Callable, Iterator

import pytest

from analytics.decisions import FILE
from analytics.store import Store
from tests.browser.conftest import FORMULA, HOSTILE
from tests.browser.test_every_page import AXE, RULES
from tests.browser.test_moving import tab_to
from tests.browser.watching import DESK, PHONE, Watched

pytestmark = pytest.mark.browser
CASES = "/lesson?cause=filter_restricted"


@pytest.fixture(autouse=True)
def unrecorded(store: Store) -> Iterator[None]:
    yield
    for path in store.folder.glob(f"{FILE}*"):
        path.unlink()


def test_record_and_take_back_by_keyboard(visit: Callable[..., Watched]) -> None:
    watched = visit(DESK)
    page = watched.open("/lessons")
    tab_to(page, "#lesson-day", most=60)
    page.keyboard.type("05042026")
    tab_to(page, "#lesson-cause")
    page.keyboard.type("filter")
    tab_to(page, "#lesson-attended input")
    page.keyboard.press("Space")
    tab_to(page, "#lesson-note", most=200)
    page.keyboard.type(HOSTILE)
    tab_to(page, "#lesson-who")
    page.keyboard.type(FORMULA)
    tab_to(page, "form.lesson button")
    page.keyboard.press("Enter")
    watched.arrive("/lessons#recorded")
    assert "1 lesson" in page.inner_text(".answer")
    assert page.evaluate("window.hurt") is None
    page.reload()
    watched.settle()
    assert "1 lesson" in page.inner_text(".answer"), "reloading sends nothing twice, and nothing is lost"
    page.locator("#lessons a[href*='lesson=']").first.press("Enter")
    watched.arrive("lesson=2026-05-04")
    assert "Attended: " in page.inner_text("#recorded")
    assert page.input_value("#lesson-note") == HOSTILE
    tab_to(page, "form.lesson button[name='take_back']", most=300)
    page.keyboard.press("Enter")
    page.wait_for_url(lambda url: "lesson=" not in url)
    watched.settle()
    assert "No lesson is recorded yet" in page.inner_text(".answer")
    assert "taken back" in page.locator("details.twin").inner_html()


@pytest.mark.parametrize("width", [PHONE, DESK])
def test_form_to_correct_fits_and_is_accessible(visit: Callable[..., Watched], width: int) -> None:
    watched = visit(width)
    page = watched.open("/lessons")
    page.fill("#lesson-day", "2026-05-04")
    page.select_option("#lesson-cause", index=1)
    page.locator("#lesson-attended input").first.check()
    page.locator("form.lesson button").click()
    watched.arrive("/lessons#recorded")
    watched.open(page.locator("#lessons a[href*='lesson=']").first.get_attribute("href") or "")
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    page.evaluate(AXE + "\n;0")
    found = page.evaluate(f"axe.run(document, {RULES}).then(r => r.violations.map(v => v.id))")
    assert found == []


def test_a_case_is_played_step_by_step_by_keyboard(visit: Callable[..., Watched]) -> None:
    page = visit(PHONE).open(CASES)
    sheet = page.locator("#sheet-1")
    assert not sheet.locator("details.play > div").first.is_visible()
    sheet.locator("summary").first.press("Enter")
    assert sheet.locator("details.play > div").first.is_visible()
    assert not sheet.locator("details.play > div").last.is_visible(), "the outcome waits"


def test_on_paper_every_case_is_open_and_begins_a_page(visit: Callable[..., Watched]) -> None:
    page = visit(DESK).open(CASES)
    page.set_viewport_size({"width": 710, "height": 1000})
    page.emulate_media(media="print")
    sheets = page.locator("article.case")
    assert sheets.count() > 1
    for sheet in sheets.all():
        assert sheet.locator("details.play > div").last.is_visible()
        assert sheet.evaluate("each => getComputedStyle(each).breakBefore") == "page"
        box = sheet.bounding_box()
        assert box is not None
        assert box["height"] < 1039, "275 mm at 96 dots an inch: one page a case"
