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
def files(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """About 800 calls; the complaints of some would do harm if they were run."""
    folder = tmp_path_factory.mktemp("files")
    generate(folder, calls=CALLS, seed=7)
    rows = _rows(folder / "calls.csv")
    for row in rows[:40]:
        row["complaint"] = HOSTILE
    for row in rows[40:70]:
        row["complaint"] = FORMULA
    with (folder / "calls.csv").open("w", newline="", encoding="utf-8") as file:
        writer = csv.DictWriter(file, fieldnames=list(rows[0]))
        writer.writeheader()
        writer.writerows(rows)
    return folder


def _rows(path: Path) -> list[dict[str, str]]:
    with path.open(newline="", encoding="utf-8") as file:
        return list(csv.DictReader(file))


@pytest.fixture(scope="session")
def hostile_call(files: Path) -> str:
    """The call of the first complaint that would do harm."""
    return _rows(files / "calls.csv")[0]["call_id"]


@pytest.fixture(scope="session")
def store(files: Path, tmp_path_factory: pytest.TempPathFactory) -> Store:
    store = Store(tmp_path_factory.mktemp("data"))
    load_files(store, sorted(files.glob("*.csv")))
    return store


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
