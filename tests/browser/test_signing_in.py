"""Signing in by keyboard at both widths, a session that ends while a page is open, the audit, signing out."""

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from analytics.doors import Doors
from tests.browser.serving import served
from tests.browser.test_every_page import AXE, RULES
from tests.browser.watching import DESK, PHONE, Watched
from tests.dashboard.fake_doors import GOOD, Clock, doors_with_everybody, quick_hashes
from tests.dashboard.fake_fleet import FakeFleet

pytestmark = pytest.mark.browser


@pytest.fixture
def doors(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Doors:
    quick_hashes(monkeypatch)
    return doors_with_everybody(tmp_path, Clock())


@pytest.fixture
def closed(doors: Doors) -> Iterator[str]:
    fleet = FakeFleet()
    fleet.kept_doors = doors
    with served(fleet) as address:
        yield address


def check_page(watched: Watched, width: int) -> None:
    page = watched.page
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    page.evaluate(AXE + "\n;0")
    found = page.evaluate(f"axe.run(document, {RULES}).then(r => r.violations)")
    assert [(each["id"], [node["html"][:200] for node in each["nodes"]]) for each in found] == []


def sign_in(watched: Watched, name: str, password: str = GOOD) -> None:
    """Type into the form, by keyboard alone."""
    keyboard = watched.page.keyboard
    watched.page.focus("body")
    for text in (name, password):
        keyboard.press("Tab")
        keyboard.press("Control+A")
        keyboard.type(text)
    keyboard.press("Enter")


@pytest.mark.parametrize("width", [PHONE, DESK])
def test_sign_in_look_and_leave(visit: Callable[..., Watched], closed: str, doors: Doors, width: int) -> None:
    watched = visit(width, at=closed)
    page = watched.page
    page.goto(closed + "/callbacks?within=60")
    assert "/sign-in?next=" in page.url
    check_page(watched, width)
    sign_in(watched, "manage", "not the password")
    page.wait_for_selector("[role=alert]")
    assert page.input_value("#name") == "manage"
    assert page.input_value("#password") == ""
    check_page(watched, width)
    sign_in(watched, "manage")
    page.wait_for_selector(".signed-in")
    watched.settle()
    assert page.url == closed + "/callbacks?within=60"
    check_page(watched, width)
    page.click(".signed-in a[href='/audit']")
    page.wait_for_url("**/audit")
    assert "sign-in refused" in page.inner_text("table")
    check_page(watched, width)
    page.goto(closed + "/password")
    check_page(watched, width)
    watched.open("/data")
    page.click(".sign-out button")
    page.wait_for_url("**/sign-in")
    page.goto(closed + "/callbacks")
    assert "/sign-in?next=" in page.url
    watched.complaints = [line for line in watched.complaints if "401" not in line]


def test_a_session_that_ends_leads_to_the_form_at_the_next_click(
    visit: Callable[..., Watched], closed: str, doors: Doors
) -> None:
    watched = visit(DESK, at=closed)
    page = watched.page
    page.goto(closed + "/callbacks")
    sign_in(watched, "look")
    page.wait_for_selector(".signed-in")
    watched.settle()
    doors.accounts.set_role("look", "settle", "test")
    page.click("#navigation nav a[href='/calls']")
    page.wait_for_url("**/sign-in?next=**")
    sign_in(watched, "look")
    page.wait_for_selector(".signed-in")
    watched.settle()
    assert page.url == closed + "/calls"
    # what was asked meanwhile is refused, and the browser says so: with the status, or on reading the refusal
    refused = ("401", "body stream already read")
    watched.complaints = [line for line in watched.complaints if not any(word in line for word in refused)]
