"""A dashboard over a small invented fleet, loaded once, and a browser that is watched."""

import csv
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, sync_playwright

from analytics.fleet import Fleet
from analytics.intake.loading import load_files
from analytics.store import Store
from synthetic_data import generate
from tests.browser.serving import served
from tests.browser.watching import DESK, FLAGS, Watched, watch

CALLS = 800
HOSTILE = "<script>window.hurt = 1</script><img src=x onerror='window.hurt = 1'>"
FORMULA = "=cmd()|' /C calc'!A0"


@pytest.fixture(scope="session")
def store(tmp_path_factory: pytest.TempPathFactory) -> Store:
    """A store with about 800 calls, the first of them with texts that would do harm if they were run."""
    folder = tmp_path_factory.mktemp("fleet")
    generate(folder / "files", calls=CALLS, seed=7)
    _spoil_first_call(folder / "files" / "calls.csv")
    store = Store(folder / "data")
    load_files(store, sorted((folder / "files").glob("*.csv")))
    return store


def _spoil_first_call(path: Path) -> None:
    with path.open(newline="", encoding="utf-8") as file:
        rows = list(csv.DictReader(file))
    rows[0]["complaint"] = HOSTILE
    rows[1]["complaint"] = FORMULA
    with path.open("w", newline="", encoding="utf-8") as file:
        writer = csv.DictWriter(file, fieldnames=list(rows[0]))
        writer.writeheader()
        writer.writerows(rows)


@pytest.fixture(scope="session")
def site(store: Store) -> Iterator[str]:
    with served(Fleet(store)) as address:
        yield address


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path="/usr/bin/chromium", args=FLAGS)
        yield browser
        browser.close()


@pytest.fixture
def visit(browser: Browser, site: str) -> Iterator[Callable[..., Watched]]:
    """Open a watched page of some width; nothing may leave this machine, and the console must stay silent."""
    opened: list[Watched] = []

    def start(width: int = DESK, scheme: str = "light", at: str = site) -> Watched:
        opened.append(watch(browser, at, width, scheme))
        return opened[-1]

    yield start
    for each in opened:
        each.page.context.close()
        assert each.outside == []
        assert each.complaints == []
