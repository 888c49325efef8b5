"""Codes in place of technicians, as a browser shows them to whoever may only look."""

import re
import shutil
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from analytics import fleet_shown
from analytics.accounts import Accounts
from analytics.fleet import Fleet
from analytics.store import Store
from tests.browser.serving import served
from tests.browser.test_signing_in import sign_in
from tests.browser.watching import DESK, PHONE, Watched
from tests.dashboard.fake_doors import GOOD, quick_hashes

pytestmark = pytest.mark.browser

NAME, CODE = re.compile(r"\bT0\d\d\b"), re.compile(r"\btech-[2-9A-Z]{3}\b")
PAGES = ("/compare?by=technician", "/callbacks?by=technician", "/calls")


@pytest.fixture
def coded(store: Store, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[str]:
    quick_hashes(monkeypatch)
    shutil.copytree(store.folder, tmp_path / "store")
    for role in ("look", "settle"):
        Accounts(tmp_path / "store").add(role, role, GOOD, "test")
    Accounts(tmp_path / "store").show_names_from("settle", "test")
    fleet = Fleet(Store(tmp_path / "store"))
    monkeypatch.setattr(
        fleet_shown, "answers_ahead", lambda folder, also, in_codes: iter(())
    )  # takes seconds
    fleet.keep_coded()
    with served(fleet) as address:
        yield address


@pytest.mark.parametrize(("role", "width"), [("look", PHONE), ("look", DESK), ("settle", DESK)])
def test_who_sees_what(visit: Callable[..., Watched], coded: str, role: str, width: int) -> None:
    watched = visit(width, at=coded)
    page = watched.page
    page.goto(coded + "/sign-in")
    sign_in(watched, role)
    page.wait_for_selector("#question")
    for path in PAGES:
        watched.open(path)
        shown = page.content()
        assert page.evaluate("document.documentElement.scrollWidth") <= width
        assert (path, bool(NAME.search(shown)), bool(CODE.search(shown))) == (
            path,
            role != "look",
            role == "look",
        )
