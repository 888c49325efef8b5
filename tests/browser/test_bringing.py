"""From the file chooser to the callback figure, by keyboard, over a store into which nothing was loaded."""

import csv
import re
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from analytics.fleet import Fleet
from analytics.store import Store
from tests.browser.conftest import HOSTILE
from tests.browser.serving import served
from tests.browser.test_every_page import AXE, RULES
from tests.browser.test_moving import tab_to
from tests.browser.watching import DESK, PHONE, Watched

pytestmark = pytest.mark.browser

THEIRS = {
    "Auftrag": "call_id",
    "Gerät": "unit_id",
    "Eingang": "opened_at",
    "Erledigt am": "closed_at",
    "Kunde sagt": "complaint",
    "Befund": "root_cause",
    "Ausgang": "outcome",
    "Wer": "technician_id",
}
WORDS = {"repaired": "erledigt"}


def day_first(written: str) -> str:
    year, month, day = written[:10].split("-") if written else ("", "", "")
    return f"{day}.{month}.{year}" if written else ""


@pytest.fixture(scope="module")
def export(files: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The calls of the invented fleet as an office writes them: headers, dates and words of its own."""
    path = tmp_path_factory.mktemp("export") / "märz.csv"
    with (files / "calls.csv").open(newline="", encoding="utf-8") as stream:
        rows = list(csv.DictReader(stream))
    with path.open("w", newline="", encoding="cp1252", errors="replace") as out:
        writer = csv.writer(out, delimiter=";")
        writer.writerow(THEIRS)
        for row in rows:
            cells = {theirs: row[ours] for theirs, ours in THEIRS.items()}
            cells |= {name: day_first(cells[name]) for name in ("Eingang", "Erledigt am")}
            cells["Ausgang"] = WORDS.get(cells["Ausgang"], cells["Ausgang"])
            writer.writerow(cells.values())
    return path


@pytest.fixture
def empty(tmp_path: Path) -> Iterator[str]:
    with served(Fleet(Store(tmp_path / "store"))) as address:
        yield address


def accessible(watched: Watched, width: int) -> None:
    page = watched.page
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    page.evaluate(AXE + "\n;0")
    assert page.evaluate(f"axe.run(document, {RULES}).then(r => r.violations.map(v => v.id))") == []


def test_from_the_file_chooser_to_the_callback_figure(
    visit: Callable[..., Watched], empty: str, export: Path
) -> None:
    watched = visit(DESK, at=empty)
    page = watched.open("/data")
    page.set_input_files("#bring-file-input", export)  # the system's own window is not the page's
    tab_to(page, "form.bring button")
    page.keyboard.press("Enter")
    page.wait_for_selector("#columns", timeout=60_000)
    watched.settle()
    assert "märz.csv" in page.inner_text("#question")
    assert page.evaluate("window.hurt") is None
    assert HOSTILE in page.inner_text("#looks")
    accessible(watched, DESK)

    assert "Wer" in page.inner_text("#absent .lead"), "what is not used of the file is said"
    tab_to(page, "#absent summary", most=80)
    page.keyboard.press("Enter")
    tab_to(page, "#column-technician_id", most=80)
    page.keyboard.type("Wer")  # a native list jumps to what is typed
    assert page.input_value("#column-technician_id") == "7"
    erledigt = page.locator("select[name^='word.outcome']").first
    assert "erledigt" in erledigt.locator("xpath=..").inner_text()
    erledigt.select_option("repaired")
    tab_to(page, ".map-send button", most=200)
    page.keyboard.press("Enter")
    page.wait_for_selector("#account, .notice", timeout=60_000)
    watched.settle()
    assert page.locator("#account").count() == 1, page.inner_text("main")
    rows = sum(1 for _ in csv.reader(export.open(encoding="cp1252", newline=""), delimiter=";")) - 1
    assert page.inner_text("#account .lead").startswith(f"{rows:,} rows = ")
    accessible(watched, DESK)
    page.reload()
    watched.settle()
    assert page.inner_text("#account .lead").startswith(f"{rows:,} rows = "), "reloading loses nothing"

    tab_to(page, ".bring-decide button")
    page.keyboard.press("Enter")
    page.wait_for_selector("a[href='/callbacks'] >> nth=1", timeout=90_000)
    watched.settle()
    page.locator("main a[href='/callbacks']").click()
    watched.arrive("/callbacks")
    said = re.search(r"(\d+)\.?\d*% came back", page.inner_text(".answer"))
    assert said, page.inner_text(".answer")
    assert 0 < int(said[1]) < 50


def test_a_phone_brings_cancels_and_drops(visit: Callable[..., Watched], empty: str, export: Path) -> None:
    watched = visit(PHONE, at=empty)
    page = watched.open("/bring")
    accessible(watched, PHONE)
    page.locator("form.bring button").click()
    page.wait_for_selector("[role=alert]:has-text('Choose a file first')")
    page.route("**/bring?name=*", lambda route: None)  # never answered: it is still being sent
    page.set_input_files("#bring-file-input", export)
    page.locator("form.bring button").click()
    page.locator("form.bring button:has-text('Cancel')").click()
    page.wait_for_selector("text=Cancelled. Nothing of the file was kept.")
    page.unroute("**/bring?name=*")
    page.set_input_files("#bring-file-input", export)
    page.locator("form.bring button").click()
    page.wait_for_selector("#columns", timeout=60_000)
    watched.settle()
    accessible(watched, PHONE)
    page.locator(".map-leave button").click()
    watched.arrive("/bring")
    assert page.locator("form.bring").count() == 1
    assert "märz" not in page.inner_text("main")
