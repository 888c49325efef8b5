"""Files and pictures to keep, hostile text, and a load while somebody is looking."""

import csv
import io
from collections.abc import Callable
from pathlib import Path

import pytest
from playwright.sync_api import Browser

from analytics.fleet import Fleet
from analytics.intake.loading import load_files
from analytics.store import Store
from tests.browser.conftest import FORMULA, HOSTILE
from tests.browser.serving import served
from tests.browser.watching import DESK, Watched, watch

pytestmark = pytest.mark.browser

HEADER = "call_id,unit_id,opened_at,closed_at,complaint,root_cause\n"
FIRST = "A1,U1,2026-01-05 09:00,2026-01-06 10:00,no ice,filter clogged\n"
SECOND = "A2,U2,2026-03-05 09:00,2026-03-06 10:00,no ice,filter clogged\n"


def test_chart_is_saved_as_a_picture(visit: Callable[..., Watched]) -> None:
    page = visit(DESK).open("/callbacks")
    with page.expect_download() as waited:
        page.get_by_role("button", name="PNG: rate by month").click()
    picture = waited.value
    assert picture.suggested_filename == "callback-rate-by-month.png"
    assert Path(picture.path()).read_bytes().startswith(b"\x89PNG")


def test_numbers_are_saved_as_a_file(visit: Callable[..., Watched]) -> None:
    page = visit(DESK).open("/calls?subset=completed")
    count = int(page.locator(".answer strong").inner_text().split()[0].replace(",", ""))
    with page.expect_download() as waited:
        page.get_by_role("link", name="CSV: all of these calls").click()
    text = Path(waited.value.path()).read_text(encoding="utf-8-sig")
    assert len(list(csv.DictReader(io.StringIO(text)))) == count


def test_hostile_complaint_is_shown_as_text_and_exported_safely(
    visit: Callable[..., Watched], site: str
) -> None:
    watched = visit(DESK)
    page = watched.open("/data")
    assert page.get_by_text(HOSTILE).first.is_visible()
    assert page.evaluate("window.hurt") is None
    answer = page.request.get(f"{site}/export.csv?table=phrases")
    texts = [row["text"] for row in csv.DictReader(io.StringIO(answer.text().removeprefix("\ufeff")))]
    assert "'" + FORMULA in texts
    assert not [text for text in texts if text.startswith(("=", "+", "-", "@"))]


def test_call_with_a_hostile_complaint_is_shown_as_written(
    visit: Callable[..., Watched], hostile_call: str
) -> None:
    page = visit(DESK).open(f"/call/{hostile_call}")
    assert page.get_by_text(HOSTILE).first.is_visible()
    assert page.evaluate("window.hurt") is None
    assert page.locator("main script, main img").count() == 0


def test_new_load_shows_at_the_next_request(browser: Browser, tmp_path: Path) -> None:
    store = Store(tmp_path / "data")
    with served(Fleet(store)) as site:
        watched = watch(browser, site, DESK)
        page = watched.open("/calls")
        assert page.get_by_text("Nothing is loaded yet").is_visible()
        load(store, tmp_path / "first.csv", HEADER + FIRST)
        watched.open("/calls")
        assert page.locator(".answer strong").inner_text() == "1 call"
        load(store, tmp_path / "second.csv", HEADER + SECOND)
        page.get_by_role("link", name="Summary").click()
        page.wait_for_url(lambda url: url.endswith("/"))
        watched.settle()
        page.get_by_role("link", name="Calls", exact=True).click()
        watched.arrive("/calls")
        assert page.locator(".answer strong").inner_text() == "2 calls"
        page.context.close()
        assert watched.complaints == []


def load(store: Store, path: Path, text: str) -> None:
    path.write_text(text, encoding="utf-8")
    load_files(store, [path])
