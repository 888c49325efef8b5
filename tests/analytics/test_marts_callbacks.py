"""Callbacks by hand: each case is a few calls and what the definition says of them.

Every expected value was worked out from the wording of the definition (docs/definitions.md, "Callback").
"""

from collections.abc import Callable, Sequence

import pytest

from analytics import queries
from tests.analytics.small_fleet import SmallFleet


def built(*calls: dict) -> SmallFleet:
    fleet = SmallFleet()
    for call in calls:
        fleet.call(**call)
    return fleet.build()


def pairs_in(edges: Sequence[tuple[str, str, tuple[int, ...]]]) -> SmallFleet:
    """For each edge a unit with a call and a later one for the same complaint."""
    calls: list[dict] = []
    for number, (closed, opened, _) in enumerate(edges):
        first = closed[:8] + "01" if len(closed) == 10 else "2026-01-01 08:00"
        calls.append({"call_id": f"A{number}", "unit_id": f"U{number}", "opened": first, "closed": closed})
        calls.append({"call_id": f"B{number}", "unit_id": f"U{number}", "opened": opened, "closed": None})
    return built(*calls)


EDGES = [
    # closed, opened, windows in which it counts
    ("2026-03-01 12:00", "2026-03-01 12:00", ()),  # the same minute
    ("2026-03-01 12:00", "2026-03-01 11:59", ()),  # before the closing
    ("2026-03-01 12:00", "2026-03-01 12:01", (7, 14, 30, 60, 90)),  # a minute later
    ("2026-03-01 12:00", "2026-03-08 12:00", (7, 14, 30, 60, 90)),  # exactly 7 days
    ("2026-03-01 12:00", "2026-03-08 12:01", (14, 30, 60, 90)),  # a minute more
    ("2026-03-01 12:00", "2026-03-15 12:00", (14, 30, 60, 90)),
    ("2026-03-01 12:00", "2026-03-31 12:00", (30, 60, 90)),  # exactly 30 days
    ("2026-03-01 12:00", "2026-03-31 12:01", (60, 90)),
    ("2026-03-01 12:00", "2026-04-30 12:00", (60, 90)),
    ("2026-03-01 12:00", "2026-05-30 12:00", (90,)),  # exactly 90 days
    ("2026-03-01 12:00", "2026-05-30 12:01", ()),
    # a date on either side: both are compared as dates
    ("2026-03-01", "2026-03-01", ()),  # same day: counted apart
    ("2026-03-01", "2026-03-01 23:59", ()),
    ("2026-03-01 00:01", "2026-03-01", ()),
    ("2026-03-01 23:59", "2026-03-02", (7, 14, 30, 60, 90)),
    ("2026-03-01", "2026-03-02 00:00", (7, 14, 30, 60, 90)),
    ("2026-03-01", "2026-03-31 23:59", (30, 60, 90)),  # 30 days as dates
    ("2026-03-01 00:01", "2026-03-31", (30, 60, 90)),
    ("2026-03-01", "2026-04-01", (60, 90)),
]


def check_edges() -> None:
    fleet = pairs_in(EDGES)
    for window in (7, 14, 30, 60, 90):
        expected = {(f"A{n}", f"B{n}") for n, (_, _, windows) in enumerate(EDGES) if window in windows}
        for match in ("family", "any"):
            assert fleet.charged(match, window) == expected, (window, match)


def check_charged_to_the_latest() -> None:
    """Two completed calls qualify: only the one closed latest is charged."""
    fleet = built(
        {"call_id": "A", "opened": "2026-03-01 09:00", "closed": "2026-03-01 12:00"},
        {"call_id": "B", "opened": "2026-03-05 09:00", "closed": "2026-03-05 12:00"},
        {"call_id": "C", "opened": "2026-03-10 09:00", "closed": "2026-03-10 12:00"},
    )
    assert fleet.charged() == {("A", "B"), ("B", "C")}


def test_edges_of_the_window() -> None:
    check_edges()


def test_charged_to_the_latest() -> None:
    check_charged_to_the_latest()


@pytest.mark.parametrize(
    ("check", "file", "right", "wrong"),
    [
        (check_edges, "marts/callbacks", "gap_days <= 30", "gap_days < 30"),
        (check_edges, "marts/callbacks", "gap_days <= 7)", "gap_days <= 8)"),
        (check_edges, "marts/callbacks", "opened_at > latest.after_at", "opened_at >= latest.after_at"),
        (check_edges, "marts/coded_calls", "interval 1 day - interval 1 microsecond", "interval 0 day"),
        (check_charged_to_the_latest, "marts/callbacks", "asof join", "join"),
    ],
)
def test_broken_rule_is_caught(
    monkeypatch: pytest.MonkeyPatch, check: Callable[[], None], file: str, right: str, wrong: str
) -> None:
    original = queries.statement
    assert right in original(file)
    if wrong == "join":  # every earlier call is charged, not the latest alone
        wrongly = {right: wrong, "having count(*) > 1": "having count(*) > 1000"}
    else:
        wrongly = {right: wrong}

    def broken(name: str) -> str:
        text = original(name)
        for before, after in wrongly.items() if name == file else ():
            text = text.replace(before, after)
        return text

    monkeypatch.setattr(queries, "statement", broken)
    with pytest.raises(AssertionError):
        check()


def test_overlapping_calls_are_no_callbacks_of_each_other() -> None:
    """B is opened while A is open; it is no return of A, and A none of B."""
    fleet = built(
        {"call_id": "A", "opened": "2026-03-01 09:00", "closed": "2026-03-05 12:00"},
        {"call_id": "B", "opened": "2026-03-03 09:00", "closed": "2026-03-06 12:00"},
        {"call_id": "C", "opened": "2026-03-09 09:00", "closed": None},
    )
    assert fleet.charged() == {("B", "C")}


def test_tie_of_closing_goes_to_the_later_opened() -> None:
    fleet = built(
        {"call_id": "A", "opened": "2026-03-02 09:00", "closed": "2026-03-05 12:00"},
        {"call_id": "B", "opened": "2026-03-01 09:00", "closed": "2026-03-05 12:00"},
        {"call_id": "C", "opened": "2026-03-09 09:00", "closed": None},
    )
    assert fleet.charged() == {("A", "C")}


def test_tie_of_closing_and_opening_goes_to_the_larger_id() -> None:
    fleet = built(
        {"call_id": "A", "opened": "2026-03-01 09:00", "closed": "2026-03-05 12:00"},
        {"call_id": "B", "opened": "2026-03-01 09:00", "closed": "2026-03-05 12:00"},
        {"call_id": "C", "opened": "2026-03-09 09:00", "closed": None},
    )
    assert fleet.charged() == {("B", "C")}


def test_other_family_matches_only_any_symptom() -> None:
    fleet = built(
        {"call_id": "A", "complaint": "no_ice"},
        {"call_id": "B", "opened": "2026-03-09 09:00", "complaint": "water_slow"},
        {"call_id": "C", "opened": "2026-03-12 09:00", "complaint": "little_ice"},
    )
    assert fleet.charged("family") == {("A", "C")}
    assert fleet.charged("any") == {("A", "B"), ("B", "C")}


def test_several_symptoms_match_on_any_of_them() -> None:
    fleet = built(
        {"call_id": "A", "complaint": "no_ice+water_slow"},
        {"call_id": "B", "opened": "2026-03-09 09:00", "complaint": "leak_floor+water_slow"},
    )
    assert fleet.charged("family") == {("A", "B")}


@pytest.mark.parametrize("complaint", ["? whatever", "filter_light", None])
def test_no_family_matches_no_family(complaint: str | None) -> None:
    fleet = built(
        {"call_id": "A", "complaint": complaint},
        {"call_id": "B", "opened": "2026-03-09 09:00", "complaint": complaint},
    )
    assert fleet.charged("family") == set()
    assert fleet.charged("any") == {("A", "B")}


def test_other_units_do_not_match() -> None:
    fleet = built({"call_id": "A"}, {"call_id": "B", "unit_id": "U2", "opened": "2026-03-09 09:00"})
    assert fleet.charged("any") == set()


@pytest.mark.parametrize(
    "became",
    [
        {"closed": None, "outcome": None},
        {"outcome": "cancelled"},
        {"outcome": "no_access"},
        {"outcome": "duplicate"},
        {"outcome": "part_on_order"},
    ],
)
def test_a_return_counts_whatever_became_of_it(became: dict) -> None:
    fleet = built({"call_id": "A"}, {"call_id": "B", "opened": "2026-03-09 09:00"} | became)
    assert fleet.charged() == {("A", "B")}


@pytest.mark.parametrize(
    "outcome",
    ["cancelled", "no_access", "referred_on", "estimate_declined", "part_on_order", "duplicate"],
)
def test_nothing_comes_back_where_no_work_was_done(outcome: str) -> None:
    fleet = built(
        {"call_id": "A", "outcome": outcome, "complaint": "water_slow+no_ice"},
        {"call_id": "B", "opened": "2026-07-09 09:00"},
    )
    assert fleet.row("A")["standing"] == outcome
    fleet = built(
        {"call_id": "A", "outcome": outcome, "complaint": "water_slow"},
        {"call_id": "B", "opened": "2026-03-09 09:00", "complaint": "no_ice"},
    )
    assert fleet.charged("any") == set()


@pytest.mark.parametrize("outcome", ["? mended it", None])
def test_outcome_not_recognised_counts_as_completed(outcome: str | None) -> None:
    fleet = built({"call_id": "A", "outcome": outcome}, {"call_id": "B", "opened": "2026-03-09 09:00"})
    assert fleet.row("A")["standing"] == "completed"
    assert fleet.charged() == {("A", "B")}


def test_only_repairs_come_back_and_are_returns() -> None:
    fleet = built(
        {"call_id": "A", "job_kind": "install", "complaint": None},
        {"call_id": "B", "opened": "2026-03-09 09:00", "job_kind": "repair"},
        {"call_id": "C", "opened": "2026-03-12 09:00", "job_kind": "maintenance"},
    )
    assert fleet.charged("any") == set()
    assert [fleet.row(id_)["standing"] for id_ in "ABC"] == ["not_a_repair", "completed", "not_a_repair"]
    assert fleet.row("A")["install_return_bits"] == 0b11110  # 8 days: in every window but 7


def test_job_kind_is_repair_unless_said() -> None:
    fleet = built(
        {"call_id": "A", "job_kind": None}, {"call_id": "B", "job_kind": "? visit", "unit_id": "U2"}
    )
    assert fleet.row("A")["is_repair"]
    assert fleet.row("B")["is_repair"]


def test_opening_stands_in_where_the_file_has_no_closing_column() -> None:
    fleet = built(
        {"call_id": "A", "opened": "2026-03-01 09:00", "closed": None, "closing_recorded": False},
        {"call_id": "B", "opened": "2026-03-31 09:00", "closed": None, "closing_recorded": False},
    )
    assert fleet.charged() == {("A", "B")}
    assert fleet.row("A")["standing"] == "completed"


def test_same_day_pairs_are_counted_apart() -> None:
    fleet = built(
        {"call_id": "A", "opened": "2026-02-20", "closed": "2026-03-01"},
        {"call_id": "B", "opened": "2026-03-01 15:00", "closed": "2026-03-02 12:00"},
        {
            "call_id": "C",
            "opened": "2026-03-01 16:00",
            "closed": "2026-03-02 13:00",
            "complaint": "leak_floor",
        },
    )
    assert fleet.charged("any") == set()
    assert (fleet.row("A")["same_day_calls"], fleet.row("A")["same_day_calls_any"]) == (1, 2)
    assert fleet.row("B")["same_day_calls_any"] == 0


def test_windows_can_charge_different_calls_where_precision_is_mixed() -> None:
    """D (closing with a time) is closed latest but too far back for 30 days; A, by date, is just inside."""
    fleet = built(
        {"call_id": "A", "opened": "2026-02-20", "closed": "2026-03-01"},
        {"call_id": "D", "opened": "2026-02-21 09:00", "closed": "2026-03-01 10:00"},
        {"call_id": "J", "opened": "2026-03-31 11:00", "closed": None},
    )
    assert fleet.charged("family", 30) == {("A", "J")}
    assert fleet.charged("family", 60) == {("D", "J")}
    assert fleet.row("A")["came_back_bits"] == 0b0010000100
    assert fleet.row("J")["is_callback_bits"] == 0b1110011100


def test_same_again_takes_the_symptoms_of_the_last_call_with_any() -> None:
    fleet = built(
        {"call_id": "A", "opened": "2026-03-01 09:00", "complaint": "no_ice"},
        {"call_id": "B", "opened": "2026-03-03 09:00", "complaint": "? what"},
        {"call_id": "C", "opened": "2026-03-05 09:00", "complaint": "same again"},
        {"call_id": "D", "opened": "2026-03-07 09:00", "complaint": "same again", "unit_id": "U2"},
        {"call_id": "E", "opened": "2026-03-09 09:00", "complaint": "same again"},
    )
    assert fleet.charged() == {("A", "C"), ("C", "E")}
    assert fleet.row("C")["customer_says_same"]
    assert fleet.row("D")["symptom_set"] == 0
