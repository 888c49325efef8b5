"""From a phrase nobody recognised to its meaning, and from a row set aside to a call, in the browser."""

from collections.abc import Iterator
from datetime import date
from pathlib import Path

import pytest
from playwright.sync_api import Browser

from analytics.fleet import Fleet
from analytics.intake.loading import load_files
from analytics.store import Store
from tests.browser.serving import served
from tests.browser.test_moving import tab_to
from tests.browser.watching import DESK, PHONE, Watched, watch

pytestmark = pytest.mark.browser

HOSTILE = "<img src=x onerror='window.hurt=1'> went wobbly"
FILE = (
    "call_id,unit_id,opened_at,closed_at,complaint,root_cause\n"
    f"A1,U1,2026-01-05,2026-01-06,{HOSTILE},filter clogged\n"
    "A2,U2,2026-03-05,2026-03-06,no ice,filter clogged\n"
    "A3,U2,2026-03-45,2026-03-16,no ice,filter clogged\n"
)


@pytest.fixture
def store(tmp_path: Path) -> Store:
    store = Store(tmp_path / "store")
    (tmp_path / "calls.csv").write_text(FILE)
    load_files(store, [tmp_path / "calls.csv"], today=date(2026, 12, 31))
    return store


@pytest.fixture
def site(store: Store) -> Iterator[str]:
    with served(Fleet(store)) as address:
        yield address


def work_is_done(watched: Watched) -> None:
    """Wait until the page was opened anew after the work."""
    watched.page.wait_for_selector("main h1")
    watched.page.wait_for_selector("#changes-work", state="detached", timeout=60_000)
    watched.settle()


def test_a_phrase_is_settled_by_keyboard_and_undone(browser: Browser, site: str, store: Store) -> None:
    watched = watch(browser, site, DESK)
    page = watched.open("/settle")
    assert "1 phrase not recognised" in page.inner_text(".answer")
    assert page.get_by_text(HOSTILE).first.is_visible()
    tab_to(page, ".any-meaning select", most=60)
    page.keyboard.type("no ice")
    tab_to(page, ".any-meaning button")
    page.keyboard.press("Enter")
    page.wait_for_selector("#settled", timeout=60_000)
    work_is_done(watched)
    assert "0 phrases left" in page.inner_text(".answer")
    assert Fleet(store).unrecognised()[1] == 0
    page.get_by_role("button", name="Undo").click()
    page.wait_for_selector("#phrases .phrase", timeout=60_000)
    work_is_done(watched)
    assert Fleet(store).unrecognised()[1] == 1
    assert page.evaluate("window.hurt") is None


def test_a_row_is_mended_on_a_telephone(browser: Browser, site: str, store: Store) -> None:
    watched = watch(browser, site, PHONE)
    page = watched.open("/mend")
    assert "1 row set aside" in page.inner_text(".answer")
    page.get_by_label("opened_at").fill("2026-03-15")
    page.get_by_role("button", name="Load the mended rows").click()
    page.wait_for_selector("#rows", state="detached", timeout=60_000)
    work_is_done(watched)
    assert "nothing is to be mended" in page.inner_text(".answer")
    assert Fleet(store).set_aside()[1] == 0
    assert Fleet(store).call("A3") is not None


def test_a_load_is_taken_back_having_seen_what_changes(
    browser: Browser, site: str, store: Store, tmp_path: Path
) -> None:
    late = tmp_path / "late.csv"
    late.write_text(FILE.splitlines()[0] + "\nB1,U2,2026-03-20,2026-03-21,no ice,filter clogged\n")
    load_files(store, [late], today=date(2026, 12, 31))
    watched = watch(browser, site, DESK)
    page = watched.open("/data")
    page.get_by_role("link", name="Take back load 2").click()
    watched.arrive("/take-back?load=2")
    page.get_by_role("button", name="Count what would change").click()
    page.get_by_role("button", name="Take load 2 back").wait_for(timeout=60_000)
    work_is_done(watched)
    assert "3 calls before, 2 after; callbacks 1 before, 0 after" in page.inner_text(".answer")
    assert len(Fleet(store).files()) == 2
    page.get_by_role("button", name="Take load 2 back").click()
    page.get_by_role("link", name="Back to Data").wait_for(timeout=60_000)
    work_is_done(watched)
    assert Fleet(store).files()["file_name"].to_list() == ["calls.csv"]
    page.get_by_role("link", name="Back to Data").click()
    page.wait_for_selector("#taken-back")
    assert "late.csv" in page.inner_text("#taken-back")
