"""A page stays with its numbers, whatever is loaded meanwhile; answers are kept a generation long."""

import threading
from datetime import datetime
from pathlib import Path

import duckdb
import pytest

from analytics.filters import Filters
from analytics.fleet import Fleet
from analytics.intake.loading import load_files
from analytics.questions import reading
from analytics.questions.reading import Kept, Reading, in_a_thread
from analytics.store import Store
from analytics.store_files import Generation

HEADER = "call_id,unit_id,opened_at,complaint,root_cause\n"


def load(store: Store, folder: Path, call: str) -> None:
    file = folder / f"{call}.csv"
    file.write_text(f"{HEADER}{call},U{call},2026-03-01 09:00,no ice,\n", encoding="utf-8")
    load_files(store, [file], source="office")


def calls(fleet: Fleet) -> int:
    return fleet.figures(Filters()).counts["calls"]


def test_a_page_stays_with_its_generation_and_the_fleet_follows_the_next(tmp_path: Path) -> None:
    store = Store(tmp_path / "store")
    load(store, tmp_path, "A")
    fleet = Fleet(store)
    page = fleet.for_one_page()
    assert (calls(page), calls(fleet)) == (1, 1)
    load(store, tmp_path, "B")
    assert (page.generation()["number"], fleet.generation()["number"]) == (1, 2)
    assert (calls(page), page.calls(Filters())[1]) == (1, 1)
    assert (calls(fleet), fleet.for_one_page().calls(Filters())[1]) == (2, 2)
    assert (calls(page), calls(fleet)) == (1, 2)


def test_before_the_first_load_there_is_a_page_too(tmp_path: Path) -> None:
    assert Fleet(Store(tmp_path)).for_one_page().generation() == {}


def test_the_least_used_answer_is_forgotten_first(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(reading, "MOST_KEPT", 2)
    kept = Kept()
    kept.keep(1, "a", 1)
    kept.keep(1, "b", 2)
    assert kept.get(1, "a") == 1
    kept.keep(1, "c", 3)
    assert [kept.get(1, question) for question in "abc"] == [1, None, 3]


def test_no_answer_outlives_its_generation() -> None:
    kept = Kept()
    kept.keep(1, "a", 1)
    assert kept.get(2, "a") is None
    kept.keep(2, "a", 2)
    assert (kept.get(1, "a"), kept.get(2, "a")) == (None, 2)


def test_two_who_ask_the_same_at_once_have_it_answered_once(tmp_path: Path) -> None:
    read = Reading(duckdb.connect(), Generation(1, tmp_path / "x.duckdb", 1, datetime(2026, 3, 1)), Kept())
    times, begun = [], threading.Event()

    def slow() -> str:
        times.append(1)
        begun.wait(5)
        return "answer"

    answers = [read.meanwhile(lambda other: other.once("question", slow)) for _ in range(3)]
    begun.set()
    assert [answer() for answer in answers] == ["answer"] * 3
    assert len(times) == 1


def test_a_problem_met_in_a_thread_is_raised_where_the_answer_is_wanted() -> None:
    def broken(_: None) -> None:
        raise ZeroDivisionError

    answer = in_a_thread(broken, None)
    with pytest.raises(ZeroDivisionError):
        answer()
