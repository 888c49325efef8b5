"""The story of a call and of a unit, by hand."""

from datetime import date, datetime

import pytest

from analytics.errors import UnknownRecord
from tests.analytics.small_fleet import SmallFleet


@pytest.fixture(scope="module")
def told() -> SmallFleet:
    fleet = SmallFleet()
    fleet.unit("U1", installed_on="2024-05-01", product_family="side_by_side", filter_kind="in_unit")
    fleet.filter_change("2025-09-01", "U1")
    fleet.call("A", "U1", opened="2025-12-20 09:00", root_cause="tube_frozen", technician_id="bob")
    fleet.call(
        "B",
        "U1",
        opened="2026-01-05 09:00",
        closed="2026-01-07 15:00",
        complaint="no_ice+leak_floor",
        root_cause="valve_seeping",
        mould_state="empty",
        filter_last_changed="3 months",
    )
    fleet.visit(
        "V1", "B", arrived="2026-01-06 10:00", left="2026-01-06 11:00", technician_id="ann", helper_id="cy"
    )
    fleet.check(
        "seep_test", "fault", visit_id="V1", sequence=1, reading=12.0, reading_unit="psi", state="flowing"
    )
    fleet.check("? odd test", "no_fault", visit_id="V1", sequence=2, reading_text="OL")
    fleet.part("inlet_valve", visit_id="V1")
    fleet.part("water_filter", visit_id="V1", quantity=2.0)
    fleet.follow_up("B", "2026-01-20", "works")
    fleet.call("C", "U1", opened="2026-01-25 09:00", closed=None)
    fleet.call("other", "U2")
    fleet.ends("2026-06-01")
    return fleet.build()


class TestCall:
    def test_facts(self, told: SmallFleet) -> None:
        story = told.fleet.call("B")
        assert (story.call_id, story.unit_id) == ("B", "U1")
        facts = story.facts
        assert facts["symptoms"] == ["leak_floor", "no_ice"]
        assert (facts["cause"], facts["technician"], facts["visits"]) == ("valve_seeping", "ann", 1)
        assert facts["filter_age_days"] == 92
        assert (facts["came_back"], facts["is_callback"]) == (True, True)

    def test_what_was_said_in_the_order_it_is_asked(self, told: SmallFleet) -> None:
        said = told.fleet.call("B").said
        assert said.rows() == [
            ("complaint", "Complaint", "no_ice+leak_floor", "no_ice", "no ice, water on the floor"),
            ("mould_state", "What is in the mould", "empty", "empty", "mould empty"),
            ("filter_last_changed", "Filter last changed", "3 months", "time_ago", None),
        ]

    def test_timeline(self, told: SmallFleet) -> None:
        timeline = told.fleet.call("B").timeline
        assert timeline["at"].is_sorted()
        assert timeline.select("kind", "what", "detail", "technician", "call_id").rows() == [
            ("installed", None, None, None, None),
            ("filter_change", None, None, None, None),
            ("earlier_call", "no ice", "fill tube frozen", "bob", "A"),
            ("opened", "water on the floor, no ice", None, None, "B"),
            ("visit", "done", "cy", "ann", "B"),
            ("check", "seep test", "12.0 psi, flowing, fault", "ann", "B"),
            ("check", "? odd test", "OL, no fault", "ann", "B"),
            ("part", "inlet valve", None, "ann", "B"),
            ("part", "water filter", "2.0 fitted", "ann", "B"),
            ("closed", "repaired", "valve seeps", "ann", "B"),
            ("follow_up", "it works", None, None, "B"),
            ("return", "no ice", None, None, "C"),
        ]
        assert timeline.filter(kind="installed")["has_time"].to_list() == [False]

    def test_returns_on_either_side(self, told: SmallFleet) -> None:
        story = told.fleet.call("B")
        back = story.came_back_as.filter(match="family").to_dicts()
        assert [(row["return_call_id"], row["windows_days"]) for row in back] == [("C", [30, 60, 90])]
        before = story.returns_for.filter(match="family").to_dicts()
        assert [(row["charged_call_id"], row["windows_days"]) for row in before] == [("A", [30, 60, 90])]
        assert story.earlier["call_id"].to_list() == ["A"]
        assert story.later["call_id"].to_list() == ["C"]

    def test_episode(self, told: SmallFleet) -> None:
        episode = told.fleet.call("B").episode
        assert episode is not None
        assert (episode["episode_id"], episode["calls"], episode["mature"]) == ("A", 3, True)
        assert (episode["final_cause"], episode["course"]) == ("valve_seeping", "went deeper")

    def test_caution_of_each_check_known(self, told: SmallFleet) -> None:
        assert told.fleet.call("B").checks["caution"].to_list() == ["b", None]

    def test_a_call_alone(self, told: SmallFleet) -> None:
        story = told.fleet.call("other")
        assert story.timeline["kind"].to_list() == ["opened", "closed"]
        assert story.visits.is_empty()
        assert story.came_back_as.is_empty()
        assert story.episode is not None
        assert story.episode["calls"] == 1

    def test_unknown(self, told: SmallFleet) -> None:
        with pytest.raises(UnknownRecord, match="no call 'X'"):
            told.fleet.call("X")


class TestUnit:
    def test_facts_and_calls(self, told: SmallFleet) -> None:
        story = told.fleet.unit("U1")
        assert story.facts["installed_on"] == date(2024, 5, 1)
        assert (story.facts["product_family"], story.facts["filter_kind"]) == ("side_by_side", "in_unit")
        assert story.calls["call_id"].to_list() == ["C", "B", "A"]

    def test_filter_changes_recorded_and_fitted(self, told: SmallFleet) -> None:
        assert told.fleet.unit("U1").filter_changes.rows() == [
            (date(2025, 9, 1), "filter change"),
            (date(2026, 1, 6), "part fitted"),
        ]

    def test_timeline_tells_every_call_in_full(self, told: SmallFleet) -> None:
        timeline = told.fleet.unit("U1").timeline
        assert timeline.filter(kind="opened")["call_id"].to_list() == ["A", "B", "C"]
        assert timeline.filter(kind="opened")["at"].to_list()[0] == datetime(2025, 12, 20, 9)
        assert timeline.filter(kind="closed").height == 2

    def test_episodes(self, told: SmallFleet) -> None:
        assert told.fleet.unit("U1").episodes.select("episode_id", "calls").rows() == [("A", 3)]

    def test_a_unit_known_only_from_its_calls(self, told: SmallFleet) -> None:
        story = told.fleet.unit("U2")
        assert story.facts == {"unit_id": "U2"}
        assert story.calls.height == 1

    def test_unknown(self, told: SmallFleet) -> None:
        with pytest.raises(UnknownRecord, match="no unit 'X'"):
            told.fleet.unit("X")
