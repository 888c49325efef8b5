"""Strings of returns by hand: which calls belong together, what it turned out to be, and how sure that is."""

import pytest

from tests.analytics.small_fleet import SmallFleet


def string(*causes: str | None, days: int = 10) -> SmallFleet:
    """Calls C1, C2, ... of one unit and complaint, `days` apart, with these causes."""
    fleet = SmallFleet()
    for number, cause in enumerate(causes, start=1):
        day = 1 + (number - 1) * days
        fleet.call(f"C{number}", opened=f"2026-03-{day:02d} 09:00", root_cause=cause)
    return fleet


def episode(fleet: SmallFleet) -> dict:
    (row,) = fleet.build().table("from marts.episodes").to_dicts()
    return row


def test_calls_joined_by_callbacks_are_one_episode() -> None:
    row = episode(string("tube_frozen", "tube_frozen", "valve_seeping"))
    assert (row["episode_id"], row["calls"], row["last_call_id"]) == ("C1", 3, "C3")
    assert (row["final_cause"], row["course"], row["held"]) == ("valve_seeping", "went deeper", True)


@pytest.mark.parametrize(
    ("causes", "final", "course"),
    [
        (["tube_frozen"], "tube_frozen", None),
        (["tube_frozen", "tube_frozen"], "tube_frozen", "same"),
        (["valve_seeping", "tube_frozen"], "tube_frozen", "different"),  # deeper one way only
        (["module_failed", "tube_frozen", "valve_seeping"], "valve_seeping", "different"),
        (["tube_frozen", "no_fault_found", "valve_seeping"], "valve_seeping", "went deeper"),
        (["no_fault_found", "valve_seeping"], "valve_seeping", None),
        ([None, "valve_seeping"], "valve_seeping", None),
        (["valve_seeping", "no_fault_found"], None, None),  # no falling back
        (["valve_seeping", "? eh"], None, None),
        (["valve_seeping", None], None, None),
    ],
)
def test_final_cause_and_course(causes: list[str | None], final: str | None, course: str | None) -> None:
    row = episode(string(*causes))
    assert (row["final_cause"], row["course"]) == (final, course)


def test_thirty_days_and_family_whatever_else() -> None:
    fleet = string("tube_frozen")
    fleet.call("D", opened="2026-04-01 09:00")  # 30 days and a half after closing
    fleet.call("E", opened="2026-03-05 09:00", complaint="leak_floor")
    assert fleet.build().table("select episode_id from marts.episodes order by 1").to_series().to_list() == [
        "C1",
        "D",
        "E",
    ]


def test_a_return_that_was_not_completed_belongs_but_is_not_the_last() -> None:
    fleet = string("tube_frozen")
    fleet.call("J", opened="2026-03-05 09:00", outcome="cancelled", root_cause="module_failed")
    row = episode(fleet)
    assert (row["calls"], row["last_call_id"], row["final_cause"], row["held"]) == (
        2,
        "C1",
        "tube_frozen",
        False,
    )
    assert fleet.row("J")["episode_id"] == "C1"


def test_a_call_that_is_neither_completed_nor_a_callback_is_in_no_episode() -> None:
    fleet = SmallFleet()
    fleet.call("A", outcome="cancelled")
    assert fleet.build().table("from marts.episodes").is_empty()
    assert fleet.row("A")["episode_id"] is None


def test_two_returns_counted_against_one_call() -> None:
    fleet = string("tube_frozen")
    fleet.call("J", opened="2026-03-05 09:00", closed="2026-03-12 09:00")
    fleet.call("K", opened="2026-03-06 09:00", closed="2026-03-11 09:00", root_cause="module_failed")
    row = episode(fleet)
    assert (row["calls"], row["last_call_id"]) == (3, "J")


class TestConfirmed:
    def make(
        self, *, check: tuple[str, str] | None = None, parts: tuple[str, ...] = (), back: bool = False
    ) -> bool:
        fleet = string("valve_seeping")
        fleet.visit("V1", "C1")
        if check:
            fleet.check(check[0], check[1], visit_id="V1")
        for part in parts:
            fleet.part(part, visit_id="V1")
        if back:
            fleet.call("J", opened="2026-03-05 09:00", closed=None)
        return episode(fleet)["confirmed"]

    def test_a_check_that_reveals_it_found_it(self) -> None:
        assert self.make(check=("seep_test", "fault"))

    @pytest.mark.parametrize(
        "check", [("seep_test", "no_fault"), ("tube_look", "fault"), ("? test", "fault")]
    )
    def test_another_check_or_finding_does_not(self, check: tuple[str, str]) -> None:
        assert self.make(check=check) is False

    def test_one_part_alone_was_fitted_and_held(self) -> None:
        assert self.make(parts=("inlet_valve",))
        assert self.make(parts=("inlet_valve", "inlet_valve"))

    @pytest.mark.parametrize("parts", [("inlet_valve", "module"), ("module",), ()])
    def test_several_or_another_part_do_not(self, parts: tuple[str, ...]) -> None:
        assert self.make(parts=parts) is False

    def test_a_part_that_did_not_hold_does_not(self) -> None:
        assert self.make(parts=("inlet_valve",), back=True) is False

    def test_a_check_recorded_without_a_visit(self) -> None:
        fleet = string("valve_seeping")
        fleet.check("seep_test", "fault", call_id="C1")
        assert episode(fleet)["confirmed"]

    def test_nothing_to_confirm_without_a_cause(self) -> None:
        assert episode(string(None))["confirmed"] is None


def test_flow_linked_follows_the_final_cause() -> None:
    assert episode(string("tube_frozen", "filter_restricted"))["flow_linked"]
    assert not episode(string("filter_restricted", "tube_frozen"))["flow_linked"]


@pytest.mark.parametrize(
    ("first", "found", "wrong"),
    [
        ("module_failed", "valve_seeping", True),
        ("valve_seeping", "valve_seeping", False),
        ("tube_frozen", "valve_seeping", False),  # went deeper
        ("valve_seeping", "tube_frozen", True),
        (None, "valve_seeping", False),
        ("? hm", "valve_seeping", False),
        ("module_failed", None, False),
    ],
)
def test_wrong_first_diagnosis(first: str | None, found: str | None, wrong: bool) -> None:
    fleet = SmallFleet()
    fleet.call("A", first_diagnosis=first, root_cause=found)
    assert fleet.build().row("A")["first_diagnosis_wrong"] == wrong
