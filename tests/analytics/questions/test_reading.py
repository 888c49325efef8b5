"""A page stays with its numbers, whatever is loaded meanwhile; answers are kept a generation long."""

import pickle
import threading
from collections.abc import Hashable
from contextlib import suppress
from datetime import datetime
from pathlib import Path

import duckdb
import numpy as np
import polars as pl
import pytest

from analytics.filters import Filters
from analytics.fleet import Fleet
from analytics.questions import reading
from analytics.questions.reading import Kept, Reading, in_a_thread, size_bytes
from analytics.store import Store
from analytics.store_files import Generation
from tests.analytics.few_calls import calls, load


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


def chosen(*names: str) -> list[Hashable]:
    """Return questions that name filters."""
    return [("question", Filters(depots=(name,))) for name in names]


def test_the_least_used_answer_is_forgotten_first(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(reading, "MOST_KEPT_BYTES", 2 * size_bytes("any"))
    kept, (a, b, c) = Kept(), chosen("a", "b", "c")
    kept.keep(1, a, "one")
    kept.keep(1, b, "two")
    assert kept.get(1, a) == "one"
    kept.keep(1, c, "six")
    assert [kept.get(1, question) for question in (a, b, c)] == ["one", None, "six"]


def test_a_large_answer_makes_room_for_itself_alone(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(reading, "MOST_KEPT_BYTES", 1000)
    kept, questions = Kept(), chosen(*map(str, range(100)))
    for each in questions:
        kept.keep(1, each, "x" * 90)
    assert sum(kept.get(1, each) is not None for each in questions) == 9
    (large,) = chosen("large")
    kept.keep(1, large, "x" * 2000)
    assert [kept.get(1, each) for each in questions] == [None] * 100
    assert kept.get(1, large) is not None


def test_what_was_worked_out_ahead_or_depends_on_no_choice_stays(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(reading, "MOST_KEPT_BYTES", 100)
    kept, (ahead, *others) = Kept(), chosen(*map(str, range(51)))
    kept.keep(1, ahead, "asked before it was worked out")
    kept.keep(1, ahead, "worked out", for_good=True)
    kept.keep(1, ("ground", 7), "x" * 1000)
    for each in others:
        kept.keep(1, each, "x" * 90)
    assert kept.get(1, ahead) == "worked out"
    assert kept.get(1, ("ground", 7)) is not None
    kept.show(2)
    assert (kept.get(1, ahead), kept.get(1, ("ground", 7))) == (None, None)


def test_the_answers_of_the_next_generation_stand_beside_those_shown() -> None:
    kept, (a,) = Kept(), chosen("a")
    kept.keep(1, a, 1)
    kept.show(1)
    assert kept.get(2, a) is None
    for generation in (2, 3, 4, 5):  # loads that follow each other while the first is still shown
        kept.keep(generation, a, generation)
    assert [kept.get(generation, a) for generation in (1, 2, 3, 4, 5)] == [1, None, None, 4, 5]
    kept.show(5)
    assert [kept.get(generation, a) for generation in (1, 4, 5)] == [None, None, 5]


def test_sizes_are_those_of_a_pickle() -> None:
    frame = pl.DataFrame({"a": range(1000), "b": np.zeros(1000)})
    for answer in (frame, np.ones(200_000), np.ones((300, 300))[::2], {"a": [1.5] * 10}, Filters()):
        assert size_bytes(answer) == len(pickle.dumps(answer, pickle.HIGHEST_PROTOCOL))


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


@pytest.mark.parametrize(("alone", "most"), [(True, 1), (False, 2)])
def test_what_takes_much_memory_is_worked_out_one_at_a_time(tmp_path: Path, alone: bool, most: int) -> None:
    read = Reading(duckdb.connect(), Generation(1, tmp_path / "x.duckdb", 1, datetime(2026, 3, 1)), Kept())
    at_work, seen = [], []
    both = threading.Barrier(2)

    def slow() -> str:
        at_work.append(1)
        with suppress(threading.BrokenBarrierError):
            both.wait(0.3)
        seen.append(len(at_work))
        at_work.pop()
        return "answer"

    answers = [read.meanwhile(lambda other, q=q: other.once(q, slow, alone=alone)) for q in ("a", "b")]
    assert [answer() for answer in answers] == ["answer"] * 2
    assert max(seen) == most


def test_a_problem_met_in_a_thread_is_raised_where_the_answer_is_wanted() -> None:
    def broken(_: None) -> None:
        raise ZeroDivisionError

    answer = in_a_thread(broken, None)
    with pytest.raises(ZeroDivisionError):
        answer()
