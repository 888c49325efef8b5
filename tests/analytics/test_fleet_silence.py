"""Silence by hand: who is silent, which answer counts, what follows for all repairs, whom to ask."""

from datetime import date

import pytest

from analytics import queries
from analytics.filters import Filters
from analytics.questions.subsets import SUBSETS
from tests.analytics.kept_fleets import kept
from tests.analytics.small_fleet import SmallFleet


@kept
def told() -> SmallFleet:
    """Ten repairs, nine of them silent; of those two work, one partly, one not, one was not reached."""
    fleet = SmallFleet()
    for n in range(10):
        fleet.call(f"C{n}", f"U{n}", opened="2026-01-01 09:00", closed="2026-01-01 12:00")
    fleet.call("R", "U0", complaint="leak_floor", opened="2026-01-05 09:00", outcome="cancelled")
    fleet.follow_up("C0", "2026-02-10", "no")  # came back: not silent
    fleet.follow_up("C1", "2026-02-10", "works")
    fleet.follow_up("C2", "2025-12-31", "no")  # before the closing: about something else
    fleet.follow_up("C2", "2026-02-10", "not_reached")
    fleet.follow_up("C3", "2026-02-10", "no")
    fleet.follow_up("C3", "2026-02-12", "works")
    fleet.follow_up("C3", "2026-02-14", "not_reached")  # says nothing, so that the one before counts
    fleet.follow_up("C4", "2026-02-10", "partly")
    fleet.follow_up("C5", "2026-02-10", "no")
    fleet.follow_up("C6", "2026-02-10", "? who knows")
    fleet.ends("2026-03-01 12:00")
    return fleet.build()


def check_silence() -> None:
    found = told().fleet.silence(Filters())
    names = ("judged", "came_back_any", "silent", "works", "partly", "no", "not_reached")
    assert [found.counts[name] for name in names] == [10, 1, 9, 2, 1, 1, 1]
    assert (found.not_working.numerator, found.not_working.denominator) == (2, 4)
    assert found.fails == pytest.approx(0.1 + 0.9 * 0.5)


def test_silence_by_hand() -> None:
    check_silence()


@pytest.mark.parametrize(
    ("statement", "right", "wrong"),
    [
        ("schema/subsets", "(came_back_bits & (32 * days_bit)", "(came_back_bits & (1 * days_bit)"),
        ("marts/asked", "and follow_ups.asked_on >= calls.closed_at::date", ""),
        ("marts/asked", "(answer <> 'not_reached', asked_on)", "(true, asked_on)"),
    ],
)
def test_broken_silence_is_caught(
    monkeypatch: pytest.MonkeyPatch, statement: str, right: str, wrong: str
) -> None:
    original = queries.statement
    assert right in original(statement)
    monkeypatch.setattr(queries, "statement", lambda name: original(name).replace(right, wrong))
    queries.parameters.cache_clear()
    with pytest.raises((AssertionError, KeyError)):
        check_silence()
    queries.parameters.cache_clear()


def test_each_number_has_its_calls() -> None:
    fleet = told().fleet
    counts = fleet.silence(Filters()).counts
    subsets = {"judged": "judged", "silent": "silent"}
    subsets |= {f"silent_{name}": name for name in ("works", "partly", "no", "not_reached")}
    subsets |= {name: name for name in counts if name.startswith("flagged")}
    assert {subset: fleet.calls(Filters(), subset)[1] for subset in subsets} == {
        subset: counts[name] for subset, name in subsets.items()
    }
    assert subsets.keys() <= SUBSETS.keys()


def test_as_of_a_day_nothing_was_told_yet() -> None:
    counts = told().fleet.silence(Filters(as_of=date(2026, 2, 5))).counts
    assert (counts["silent"], counts["works"]) == (9, 0)


def test_whom_to_ask() -> None:
    fleet = told().fleet
    drawn = fleet.silent_sample(Filters(), date(2026, 3, 2))
    # not asked yet, or with an answer that was not recognised; the one that came back is not silent
    assert sorted(drawn["call_id"]) == ["C6", "C7", "C8", "C9"]
    few = [fleet.silent_sample(Filters(), date(2026, 3, 2 + n), 2)["call_id"].to_list() for n in range(7)]
    assert few == [few[0]] * 7, "the same all week"
    draws = {tuple(fleet.silent_sample(Filters(), date(2026, w, 2), 2)["call_id"]) for w in range(1, 13)}
    assert len(draws) > 1, "another week, another draw"
