"""Changes asked for in the browser: in their order, settlements together; what is cut off goes on."""

import os
from datetime import date
from pathlib import Path

import pytest

from analytics.errors import BadQuestion
from analytics.fleet import Fleet
from analytics.intake import changing_work
from analytics.intake.changing import MEND, SETTLE, TAKE_BACK, TRY, Changing
from analytics.intake.loading import load_files
from analytics.store import Store
from tests.analytics.intake.conftest import load_catalogue_once

FILE = (
    "call_id,unit_id,opened_at,closed_at,complaint\n1,U,2026-01-05,2026-01-05,it went wobbly\n"
    "2,U,2026-01-09,2026-01-09,and then woolly\n3,U,never,2026-01-09,no ice\n"
)


@pytest.fixture
def store(tmp_path: Path) -> Store:
    store = Store(tmp_path / "store")
    (tmp_path / "a.csv").write_text(FILE)
    load_files(store, [tmp_path / "a.csv"], today=date(2026, 12, 31), catalogue=load_catalogue_once())
    return store


@pytest.fixture
def changing(store: Store) -> Changing:
    """A queue that nobody works at until `changing_work.work` is called."""
    return Changing(store, lambda store: None)


def settling(text: str, codes: list[str] | None) -> dict[str, object]:
    return {"field": "complaint", "text": text, "codes": codes}


def test_settlements_that_wait_make_one_generation(store: Store, changing: Changing) -> None:
    before = store.current()
    assert before
    changing.ask(SETTLE, settling("it went wobbly", ["no_ice"]))
    changing.ask(SETTLE, settling("and then woolly", []))
    assert [each["kind"] for each in changing.state().queued] == [SETTLE, SETTLE]
    assert changing.state().goes_on
    changing_work.work(store)
    after, state = store.current(), changing.state()
    assert after
    assert after.number == before.number + 1
    assert Fleet(store).unrecognised()[1] == 0
    assert (state.goes_on, state.queued, len(state.done)) == (False, [], 2)
    assert [each["values"]["text"] for each in state.done] == ["and then woolly", "it went wobbly"]


def test_what_goes_wrong_is_told_and_the_next_is_done(store: Store, changing: Changing) -> None:
    changing.ask(MEND, {"rows": [[1, 99, ["x"]]], "order": ""})
    changing.ask(TRY, {"files": [1], "load": None, "with_later": False})
    changing_work.work(store)
    tried, mended = changing.state().done
    assert "not set aside any more" in mended["problem"]
    assert tried["said"]["after"] == {"calls": 0, "callbacks": 0}
    assert store.current()
    assert tried["said"]["generation"] == store.current().number


def test_rows_are_mended_and_loads_taken_back(store: Store, changing: Changing) -> None:
    changing.ask(MEND, {"rows": [[1, 4, ["3", "U", "2026-01-09", "2026-01-09", "no ice"]]], "order": ""})
    changing_work.work(store)
    assert changing.state().done[0]["said"] == {"rows": 1, "loaded": 1, "set_aside": 0}
    assert Fleet(store).set_aside()[1] == 0
    changing.ask(TAKE_BACK, {"files": [], "load": 2, "with_later": False})
    changing_work.work(store)
    assert Fleet(store).set_aside()[1] == 1


def test_what_was_cut_off_is_seen_and_can_go_on_or_be_forgotten(store: Store, changing: Changing) -> None:
    changing.ask(SETTLE, settling("it went wobbly", ["no_ice"]))
    for path in changing.folder.glob("*.asked"):
        os.utime(path, (0, 0))
    assert changing.state().cut_off
    changing.go_on()
    assert not changing.state().cut_off
    changing.drop()
    assert changing.state().queued == []
    changing_work.work(store)
    assert Fleet(store).unrecognised()[1] == 2


def test_while_one_process_works_another_leaves_it_alone(store: Store, changing: Changing) -> None:
    changing.ask(SETTLE, settling("it went wobbly", ["no_ice"]))
    with changing.working() as mine:
        assert mine
        assert changing.state().goes_on
        changing_work.work(store)
    assert Fleet(store).unrecognised()[1] == 2


def test_no_other_change_is_taken(changing: Changing) -> None:
    with pytest.raises(BadQuestion):
        changing.ask("forget", {})
