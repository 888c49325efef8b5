"""Fair comparison from a store: what it may know, what it may not, and the figures by hand."""

from datetime import date, datetime, timedelta

import polars as pl
import pytest
from polars.testing import assert_frame_equal

from analytics import queries
from analytics.errors import BadQuestion
from analytics.filters import Filters
from analytics.questions.expected import expected_returns, known_before
from analytics.questions.selecting import ground, selection
from tests.analytics.small_fleet import SmallFleet


def known(fleet: SmallFleet, filters: Filters | None = None) -> pl.DataFrame:
    cursor = fleet.connection
    return known_before(cursor, selection(cursor, ground(cursor), filters or Filters()).values).calls


def test_what_was_known_before() -> None:
    fleet = SmallFleet()
    fleet.unit("U1", installed_on=date(2024, 2, 1), product_family="french door", water_supply="well")
    fleet.call("A", "U1", opened="2026-01-30 09:00", closed="2026-01-31 12:00", technician_id="T1")
    fleet.call("B", "U1", opened="2026-02-02 09:00", closed="2026-02-02 12:00", technician_id="T2",
               supply_type="softened", payer="maker")  # fmt: skip
    fleet.call("C", "U1", opened="2026-02-20 09:00", closed="2026-02-20 12:00", technician_id="T2")
    fleet.call("D", "U2", opened="2026-02-20 09:00", closed="2026-02-20 12:00", complaint="no_ice+leak_floor")
    fleet.call("E", "U3", opened="2026-02-20 09:00", closed="2026-02-20 12:00", complaint="?ratatat")
    fleet.ends("2026-06-01 12:00")
    rows = {row["call_id"]: row for row in known(fleet.build()).to_dicts()}
    assert [rows[call]["unit_age"] for call in "ABCD"] == ["1 to 3", "1 to 3", "1 to 3", None]
    assert [rows[call]["supply"] for call in "ABD"] == ["well", "softened", None]
    assert [rows[call]["payer"] for call in "AB"] == [None, "maker"]
    assert [rows[call]["month"] for call in "AB"] == ["2026-01", "2026-02"]
    assert [rows[call]["kind"] for call in "ADE"] == [rows["B"]["kind"], "several", None]
    # B follows another technician's repair, C follows one of its own
    assert [rows[call]["follows"] for call in "ABC"] == ["no", "another", "no"]
    assert rows["A"]["product_line"] == "french door"
    assert [rows[call]["came_back"] for call in "ABC"] == [True, True, False]


def some_calls(later: int = 0) -> SmallFleet:
    """Return 240 calls in four depots; with `later` everything found or done on them is another."""
    fleet = SmallFleet()
    causes = ("filter_restricted", "valve_seeping", "fill_tube_frozen")
    for n in range(240):
        opened = datetime(2025, 6, 1, 9) + timedelta(days=n)
        call = f"C{n:03}"
        fleet.call(
            call,
            f"U{n * n % 83}",
            opened=f"{opened:%Y-%m-%d %H:%M}",
            closed=f"{opened + timedelta(hours=3):%Y-%m-%d %H:%M}",
            complaint=("no_ice", "leak_floor")[n % 3 == 0],
            depot=("north", "south", "east", "west")[n % 4],
            technician_id=f"T{n % 8}",
            payer=("customer", "maker")[n % 5 == 0],
            root_cause=causes[(n // (2 + later)) % 3],
            first_diagnosis=causes[(n // (3 + later)) % 3],
            notes=f"note {later}",
        )
        fleet.part(("water_filter", "inlet_valve")[(n // (1 + later)) % 2], call_id=call)
    fleet.ends("2026-06-01 12:00")
    return fleet.build()


def expected_of_north(later: int = 0) -> list[float]:
    fleet = some_calls(later)
    cursor = fleet.connection
    chosen = selection(cursor, ground(cursor), Filters(depots=("north",), window_days=90))
    return expected_returns(cursor, chosen, "depot", "north")["expected"].to_list()


def check_that_nothing_later_is_used() -> None:
    before = expected_of_north()
    assert len(set(before)) > 2
    assert expected_of_north(later=1) == pytest.approx(before, abs=1e-12)


def test_nothing_that_came_later_changes_what_is_expected() -> None:
    check_that_nothing_later_is_used()


def test_an_expectation_that_reads_the_cause_is_caught(monkeypatch: pytest.MonkeyPatch) -> None:
    original = queries.statement
    right, wrong = "calls.payer,", "calls.cause as payer,"
    assert right in original("metrics/known_before")
    monkeypatch.setattr(queries, "statement", lambda name: original(name).replace(right, wrong))
    with pytest.raises(AssertionError):
        check_that_nothing_later_is_used()


def test_expected_returns_are_those_of_the_group_in_order_of_closing() -> None:
    fleet = some_calls()
    cursor = fleet.connection
    chosen = selection(cursor, ground(cursor), Filters(window_days=90, depots=("north",)))
    rows = expected_returns(cursor, chosen, "depot", "north")
    assert rows["closed_at"].is_sorted()
    judged = fleet.fleet.figures(Filters(window_days=90, depots=("north",))).callback_rate.denominator
    assert rows.height == judged > 30
    assert rows.columns == ["call_id", "closed_at", "unit_hash", "came_back", "expected"]
    with pytest.raises(BadQuestion, match="Choose one of technician, depot, part, product_family"):
        expected_returns(cursor, chosen, "cause", "x")


def test_comparison_counts_what_the_figures_count() -> None:
    fleet = some_calls().fleet
    found = fleet.compared(Filters(window_days=90), "depot")
    assert found.since is not None
    assert found.until is not None
    same = Filters(window_days=90, closed_from=found.since.date(), closed_to=found.until.date())
    figures = fleet.figures(same, by="depot")
    assert (found.came_back, found.calls) == (
        figures.callback_rate.numerator,
        figures.callback_rate.denominator,
    )
    by_depot = {group.group: group.callback_rate for group in figures.groups}
    for row in found.groups.iter_rows(named=True):
        rate = by_depot[row["group"]]
        assert (row["came_back"], row["calls"]) == (rate.numerator, rate.denominator)
    # leaving a group out, the others expect of all groups together about what came back
    assert found.groups["expected"].sum() == pytest.approx(found.came_back, rel=0.05)


def test_call_with_several_parts_counts_under_each() -> None:
    fleet = some_calls()
    groups = fleet.fleet.compared(Filters(window_days=90), "part").groups
    assert set(groups["group"]) == {"water_filter", "inlet_valve"}


def test_other_choices_than_window_and_match_are_not_applied() -> None:
    fleet = some_calls().fleet
    everybody = fleet.compared(Filters(), "depot")
    narrowed = fleet.compared(Filters(depots=("north",), causes=("valve_seeping",)), "depot")
    assert_frame_equal(narrowed.groups, everybody.groups)


def test_week_is_not_compared_for_people_and_fields_are_named() -> None:
    fleet = some_calls().fleet
    with pytest.raises(BadQuestion, match=r"by technician over a week is not made\. Choose year"):
        fleet.compared(Filters(), "technician", "week")
    with pytest.raises(BadQuestion, match="'cause' is not compared"):
        fleet.compared(Filters(), "cause")
    assert fleet.compared(Filters(), "depot", "week").calls <= 7


def test_nothing_to_compare_is_no_fault() -> None:
    fleet = SmallFleet()
    fleet.call("A", "U1", opened="2026-01-30 09:00", closed="2026-01-31 12:00")
    fleet.ends("2026-02-01 12:00")
    built = fleet.build().fleet
    assert built.compared(Filters(), "depot").calls == 0
    assert built.worth_a_look().is_empty()


def test_alike_groups_are_not_worth_a_look() -> None:
    assert some_calls().fleet.worth_a_look(Filters(window_days=90)).is_empty()


def test_what_takes_longest_can_be_prepared() -> None:
    """In memory nothing is kept; a store keeps the answers, which tests/benchmarks measures."""
    some_calls().fleet.prepare()
    SmallFleet().build().fleet.prepare()
