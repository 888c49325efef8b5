"""What is shown while newer data is made ready: one generation, whole, until the next one is prepared."""

import os
import signal
import subprocess
import threading
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from analytics import fleet_shown, preparing, store_reader
from analytics.filters import Filters
from analytics.fleet import Fleet
from analytics.preparing import PreparingFailed, answers_ahead
from analytics.processes import python_path
from analytics.questions.reading import Kept
from analytics.store import Store
from tests.analytics.few_calls import calls, load


@pytest.fixture
def store(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Store:
    monkeypatch.setattr(store_reader, "HELD_FROM_BYTES", 0)
    store = Store(tmp_path / "store")
    load(store, tmp_path, "A")
    return store


def following(fleet: Fleet) -> Fleet:
    """A broken twin: it shows the newest generation at once."""
    return fleet


@pytest.mark.parametrize(("hold", "shown"), [(Fleet.holding, 1), (following, 2)])
def test_what_is_shown_stays_until_the_next_is_ready(
    store: Store, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, hold: object, shown: int
) -> None:
    seen: list[tuple[int, bool]] = []

    def ahead(folder: Path, also: object, in_codes: bool) -> Iterator[preparing.Told]:
        yield 2, "question", "answer"
        seen.append((calls(fleet), fleet.loaded_meanwhile() is not None))

    monkeypatch.setattr(fleet_shown, "answers_ahead", ahead)
    fleet: Fleet = hold(Fleet(store))  # type: ignore[operator]
    assert calls(fleet) == 1
    load(store, tmp_path, "B")
    assert calls(fleet.newest()) == 2
    fleet.make_ready()
    assert seen == [(shown, shown == 1)]
    assert (calls(fleet), fleet.loaded_meanwhile()) == (2, None)


def test_each_that_was_prepared_is_shown_however_fast_loads_follow(
    store: Store, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def ahead(folder: Path, also: object, in_codes: bool) -> Iterator[preparing.Told]:
        prepared = Fleet(store).generation()["number"]
        load(store, tmp_path, f"while {prepared} was prepared")
        yield prepared, "question", "answer"

    monkeypatch.setattr(fleet_shown, "answers_ahead", ahead)
    fleet = Fleet(store).holding()
    assert calls(fleet) == 1
    load(store, tmp_path, "B")
    shown = []
    for _ in range(3):
        fleet.make_ready()
        shown.append((fleet.generation()["number"], calls(fleet), fleet.loaded_meanwhile() is not None))
    assert shown == [(2, 2, True), (3, 3, True), (4, 4, True)]
    assert fleet.generation()["made_at"] < Fleet(store).generation()["made_at"]


def test_little_data_is_shown_at_once(store: Store, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    fleet = Fleet(store).holding()
    assert calls(fleet) == 1
    load(store, tmp_path, "B")
    assert calls(fleet) == 1
    monkeypatch.setattr(store_reader, "HELD_FROM_BYTES", 2 * store.current().path.stat().st_size)  # type: ignore[union-attr]
    assert calls(fleet) == 2


def test_the_first_load_is_shown_at_once(tmp_path: Path) -> None:
    store = Store(tmp_path / "store")
    fleet = Fleet(store).holding()
    assert fleet.for_one_page().generation() == {}
    fleet.make_ready()
    load(store, tmp_path, "A")
    assert (calls(fleet), fleet.loaded_meanwhile()) == (1, None)


def test_what_was_forgotten_or_taken_back_is_not_shown_any_longer(store: Store, tmp_path: Path) -> None:
    fleet = Fleet(store).holding()
    load(store, tmp_path, "B")
    assert calls(fleet) == 2
    store.go_back()
    assert calls(fleet) == 1
    store.rewrite(lambda connection: None)  # as `forget` does: no generation before it stays
    assert fleet.generation()["number"] == 3


def test_when_preparing_fails_the_data_is_shown_all_the_same(
    store: Store, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    fleet = Fleet(store).holding()
    assert calls(fleet) == 1
    load(store, tmp_path, "B")
    monkeypatch.setattr(preparing, "LONGEST_S", 0.01)
    with pytest.raises(PreparingFailed, match="-9"):
        fleet.make_ready()
    assert calls(fleet) == 2


def test_answers_come_from_another_process_as_they_would_here(store: Store) -> None:
    told: dict[object, object] = {}
    here = Fleet(store, Kept(lambda generation, question, answer: told.update({question: answer})))
    here.prepare()
    ahead = {question: (generation, answer) for generation, question, answer in answers_ahead(store.folder)}
    assert ahead.keys() == told.keys()
    assert {generation for generation, _ in ahead.values()} == {1}
    asked = ("counts", Filters())
    assert repr(ahead[asked][1]) == repr(told[asked])
    fleet = Fleet(store).holding()
    fleet.make_ready()
    page = fleet.for_one_page()
    assert page._read().once(asked, lambda: pytest.fail("asked again")).by_state
    assert repr(page.figures(Filters())) == repr(here.figures(Filters()))


def test_clicks_are_answered_meanwhile_and_windows_compared_by_prepared_again(
    store: Store, tmp_path: Path
) -> None:
    fleet, window = Fleet(store).holding(), Filters(window_days=60, match="any")
    fleet.worth_a_look(window)
    fleet.worth_a_look(Filters(window_days=90, depots=("north",)))
    load(store, tmp_path, "B")
    preparing_it = threading.Thread(target=fleet.make_ready)
    preparing_it.start()
    assert calls(fleet) == 1
    preparing_it.join()
    assert calls(fleet) == 2
    read = fleet.for_one_page()._read()
    for asked in (window, Filters(window_days=90), Filters()):
        assert read.once(("comparisons", asked), lambda: pytest.fail("not prepared"))


def test_who_prepares_ends_with_who_asked(store: Store, tmp_path: Path) -> None:
    before = children()
    answers = answers_ahead(store.folder)
    next(answers)
    assert len(children() - before) == 1
    answers.close()
    assert children() == before


def test_who_prepares_ends_when_who_asked_is_killed(store: Store) -> None:
    script = (
        "import sys; from pathlib import Path; from analytics.preparing import answers_ahead\n"
        "answers = answers_ahead(Path(sys.argv[1])); print(next(answers)[0], flush=True); input()"
    )
    asker = subprocess.Popen(
        ["python", "-c", script, str(store.folder)],
        env=os.environ | {"PYTHONPATH": python_path()},
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
    )
    assert asker.stdout
    assert asker.stdout.readline() == "1\n"
    helpers = children(asker.pid)
    asker.send_signal(signal.SIGKILL)
    asker.communicate()
    until = time.monotonic() + 20
    while any(Path("/proc", each).exists() for each in helpers) and time.monotonic() < until:
        time.sleep(0.05)
    assert [each for each in helpers if Path("/proc", each).exists()] == []


def children(of: int | None = None) -> set[str]:
    """Return the processes that a process has started and that have not ended."""
    found = set()
    for thread in Path("/proc", str(of or os.getpid()), "task").iterdir():
        found |= set((thread / "children").read_text().split())
    return found
