"""Lists of calls and returns, by hand: every subset holds what it says, a page at a time, in order."""

from datetime import date

import pytest

from analytics.errors import BadQuestion
from analytics.filters import Filters
from analytics.questions.lists import RETURN_SORTS, SORTS
from analytics.questions.subsets import SUBSETS
from tests.analytics.small_fleet import SmallFleet


def fleet() -> SmallFleet:
    """One call or more for most subsets; all of one depot, watched until June."""
    made = SmallFleet()
    made.unit("U1", retired_on="2026-01-20")
    made.call("A", "U1", opened="2026-01-01 09:00", closed="2026-01-02 12:00", root_cause="valve_seeping")
    made.visit("VA", "A", arrived="2026-01-01 10:00")
    made.part("inlet_valve", visit_id="VA")
    made.call("A2", "U1", opened="2026-01-12 09:00", callback_flag="no")
    made.visit("VA2", "A2", arrived="2026-01-20 10:00")
    made.call("B", "U2", opened="2026-01-01 09:00", callback_flag="yes", filter_last_changed="2025-12-01")
    made.filter_change("2025-10-01", "U2")
    made.call("B2", "U2", opened="2026-01-05 09:00", complaint="leak_floor", closed=None)
    made.part("water_filter", call_id="B")
    made.call("C", "U3", opened="2026-01-03 09:00", outcome="part_on_order")
    made.call("C2", "U3", opened="2026-01-08 09:00", outcome="? eh")
    made.call("D", "U4", opened="2026-01-03", closed="2026-01-04", complaint="? what")
    made.call("E", "U5", opened="2026-01-01 09:00", complaint="water_slow", closed="2026-01-05")
    made.call("E2", "U5", opened="2026-01-05", complaint="water_slow", outcome="cancelled")
    made.call("F", "U6", opened="2026-05-20 09:00")
    made.call("G", "U7", opened="2026-01-02 09:00", job_kind="install", complaint=None)
    made.call("G2", "U7", opened="2026-01-06 09:00", outcome="no_access")
    made.call("H", "U8", opened="2026-01-01 09:00", closed="2026-01-09 09:00")
    made.visit("VH", "H", arrived="2026-01-01 10:00")
    made.call("H2", "U8", opened="2026-01-04 09:00", outcome="duplicate")
    made.ends("2026-06-01")
    return made.build()


EXPECTED = {
    "all": "A A2 B B2 C C2 D E E2 F G G2 H H2",
    "completed": "A A2 B C2 D E F H",
    "judged": "A A2 B C2 D E H",
    "came_back": "A",
    "held": "A2 B C2 D E H",
    "callbacks": "A2",
    "own_judged": "A B C2 D E H",
    "own_held": "B C2 D E H",
    "second_trips": "C2",
    "inside_window": "F",
    "first_time_judged": "A H",
    "first_time_fix": "H",
    "not_first_time_fix": "A",
    "spoiled_came_back": "A",
    "silent": "A2 C2 D E H",
    "fixed_by_phone": "B C2 D E F",
    "open": "B2",
    "return_trips": "C2",
    "same_day": "E",
    "install_returns": "G",
    "retired_inside_window": "A A2",
    "symptom_not_recognised": "D",
    "cause_not_recognised": "A2 B C2 D E F H",
    "outcome_not_recognised": "C2",
    "recorded:cause": "A",
    "recorded:outcome": "A A2 B C2 D E F H",
    "recorded:visit": "A A2 H",
    "recorded:filter_date": "B",
    "filter_disagrees": "B",
    "closed_by_paperwork": "A H",
    "returned_before_closing": "H",
    "visits_after_closing": "A2",
    "flagged_by_office_only": "B",
    "flagged_by_us_only": "A2",
    "leak_after_our_work": "B",
    "valve_fitted": "A",
    "valve_without_evidence": "A",
    "valve_without_evidence_judged": "A",
    "valve_without_evidence_came_back": "A",
    "unchecked": "A A2 B C2 D E F H",
    "unchecked_judged": "A A2 B C2 D E H",
    "unchecked_came_back": "A",
    "thought_unknown": "A",
    "thought_too_soon": "F",
    "habit_left_out": "A H",
    "left_out:not_a_repair": "G",
    "left_out:open": "B2",
    "left_out:cancelled": "E2",
    "left_out:no_access": "G2",
    "left_out:part_on_order": "C",
    "left_out:duplicate": "H2",
}


@pytest.fixture(scope="module")
def asked() -> SmallFleet:
    return fleet()


@pytest.mark.parametrize("subset", SUBSETS)
def test_each_subset(asked: SmallFleet, subset: str) -> None:
    rows, total = asked.fleet.calls(Filters(), subset, sort="call_id", descending=False)
    assert rows["call_id"].to_list() == EXPECTED.get(subset, "").split()
    assert total == rows.height


def test_the_table_above_names_only_subsets() -> None:
    assert set(EXPECTED) <= set(SUBSETS)


@pytest.mark.parametrize("sort", SORTS)
@pytest.mark.parametrize("descending", [False, True])
def test_pages_put_together_are_the_whole_list(asked: SmallFleet, sort: str, descending: bool) -> None:
    whole, total = asked.fleet.calls(Filters(), "all", sort=sort, descending=descending)
    assert total == whole.height == 14
    pages = [
        asked.fleet.calls(Filters(), "all", offset=at, limit=5, sort=sort, descending=descending)[0]
        for at in (0, 5, 10)
    ]
    assert [id_ for page in pages for id_ in page["call_id"]] == whole["call_id"].to_list()
    values = [value for value in whole[sort] if value is not None]
    assert values == sorted(values, reverse=descending)
    assert whole[sort].to_list()[: len(values)] == values  # rows without a value come last


def test_columns(asked: SmallFleet) -> None:
    rows, _ = asked.fleet.calls(Filters(), "came_back")
    (row,) = rows.to_dicts()
    assert row["symptoms"] == ["no_ice"]
    assert row["parts"] == ["inlet_valve"]
    assert (row["came_back"], row["is_callback"], row["standing"]) == (True, False, "completed")
    assert row["days_until_return"] == pytest.approx(9.875)
    young, _ = asked.fleet.calls(Filters(), "inside_window")
    assert young["came_back"].to_list() == [None]


def test_looking_back_a_closed_call_is_open_again(asked: SmallFleet) -> None:
    rows, _ = asked.fleet.calls(Filters(as_of=date(2026, 1, 5)), "open", sort="call_id", descending=False)
    assert rows["call_id"].to_list() == ["B2", "H"]
    assert set(rows["standing"]) == {"open"}


class TestReturns:
    def test_each_return_stands_beside_the_call_it_is_counted_against(self, asked: SmallFleet) -> None:
        rows, total = asked.fleet.returns(Filters())
        assert total == 1
        (row,) = rows.to_dicts()
        assert (row["call_id"], row["return_call_id"]) == ("A", "A2")
        assert row["days_between"] == pytest.approx(9.875)
        assert (row["cause"], row["return_cause"]) == ("valve_seeping", None)

    def test_any_symptom(self, asked: SmallFleet) -> None:
        rows, total = asked.fleet.returns(Filters(match="any"), sort="call_id", descending=False)
        assert total == 2
        assert rows.select("call_id", "return_call_id").rows() == [("A", "A2"), ("B", "B2")]

    def test_window(self, asked: SmallFleet) -> None:
        assert asked.fleet.returns(Filters(window_days=7))[1] == 0

    @pytest.mark.parametrize("sort", RETURN_SORTS)
    def test_sorts(self, asked: SmallFleet, sort: str) -> None:
        rows, _ = asked.fleet.returns(Filters(match="any"), sort=sort, descending=False)
        values = [value for value in rows[sort] if value is not None]
        assert values == sorted(values)


@pytest.mark.parametrize(
    ("question", "says"),
    [
        ({"subset": "mine"}, "all, completed"),
        ({"sort": "colour"}, "closed_at, opened_at"),
        ({"limit": 1_000_000}, "10,000"),
        ({"offset": -1}, "from row 0"),
    ],
)
def test_bad_questions_say_what_is_possible(asked: SmallFleet, question: dict, says: str) -> None:
    with pytest.raises(BadQuestion, match=says):
        asked.fleet.calls(Filters(), **question)
