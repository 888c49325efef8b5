"""Building some units gives what building all does; ends of observation; each column is described."""

import random
from datetime import datetime

import pytest

from analytics.filters import Filters
from tests.analytics.small_fleet import SmallFleet, snapshot


def random_fleet(seed: int, calls: int = 60) -> SmallFleet:
    rng = random.Random(seed)
    fleet = SmallFleet()
    for unit in range(6):
        fleet.unit(
            f"U{unit}", installed_on="2024-01-01", filter_kind=rng.choice(["in_unit", "bypass_or_none"])
        )
        fleet.filter_change(f"2025-{rng.randint(1, 12):02d}-01", f"U{unit}")
    for number in range(calls):
        add_random_call(fleet, rng, f"C{number:03d}")
    return fleet


def add_random_call(fleet: SmallFleet, rng: random.Random, call_id: str) -> None:
    day, hour = rng.randint(1, 28), rng.randint(8, 15)
    opened = f"2026-{rng.randint(1, 4):02d}-{day:02d} {hour:02d}:00"
    if rng.random() < 0.2:
        opened = opened[:10]
    fleet.call(
        call_id,
        f"U{rng.randint(0, 5)}",
        opened=opened,
        closed=rng.choice(["", "", "", None]),
        complaint=rng.choice(
            ["no_ice", "no_ice+water_slow", "leak_floor", "? eh", "same again", "little_ice"]
        ),
        outcome=rng.choice(["repaired", "repaired", "repaired", "part_on_order", "cancelled", None]),
        root_cause=rng.choice(["valve_seeping", "tube_frozen", "no_fault_found", None]),
        depot=rng.choice(["north", "south", None]),
        job_kind=rng.choice(["repair", None, "install"]),
    )
    for visit in range(rng.randint(0, 2)):
        fleet.visit(f"{call_id}-{visit}", call_id, arrived=f"{opened[:10]} {16 + visit}:00")
        if rng.random() < 0.5:
            fleet.part(rng.choice(["inlet_valve", "water_filter", "module"]), visit_id=f"{call_id}-{visit}")
        if rng.random() < 0.5:
            fleet.check("seep_test", rng.choice(["fault", "no_fault"]), visit_id=f"{call_id}-{visit}")


def places_apart(marts: dict[str, list]) -> dict[str, list]:
    """Set numbers that may differ between two histories (sets, places) aside."""
    return {name: rows for name, rows in marts.items() if name not in ("calls", "episodes")}


def without_numbers(fleet: SmallFleet) -> list[tuple]:
    """Calls and episodes with sets and places spelt out instead of numbered."""
    calls = fleet.connection.execute(
        """
        select calls.* exclude (place, symptom_set, part_set), symptoms, parts
        from marts.calls
        inner join marts.symptom_sets using (symptom_set)
        inner join marts.part_sets using (part_set)
        order by call_id
        """
    ).fetchall()
    episodes = fleet.connection.execute(
        "select * exclude (place) from marts.episodes order by episode_id"
    ).fetchall()
    ends = fleet.connection.execute(
        "select * exclude (place) from marts.observation_ends order by source, depot"
    ).fetchall()
    return calls + episodes + ends


@pytest.mark.parametrize("seed", range(6))
def test_building_what_was_touched_gives_what_building_all_does(seed: int) -> None:
    step_by_step = random_fleet(seed).build()
    rng = random.Random(seed + 1000)
    for number in range(5):
        add_random_call(step_by_step, rng, f"N{number}")
    step_by_step.withdraw("calls", call_id="C003")
    step_by_step.withdraw("visits", call_id="C010")
    touched = step_by_step.table(
        "select distinct unit_id from records.calls where call_id like 'N%' or call_id in ('C003', 'C010')"
    )["unit_id"]
    step_by_step.build(touched)

    at_once = SmallFleet()
    for table in ("calls", "visits", "checks", "parts", "units", "filter_changes"):
        rows = step_by_step.connection.sql(f"from records.{table}").pl()
        at_once.connection.register("rows_in", rows)
        at_once.connection.execute(f"insert into records.{table} by name from rows_in")
    at_once.build()

    assert without_numbers(step_by_step) == without_numbers(at_once)
    assert places_apart(snapshot(step_by_step)) == places_apart(snapshot(at_once))


def test_building_again_changes_nothing() -> None:
    fleet = random_fleet(1).build()
    before = snapshot(fleet)
    assert snapshot(fleet.build()) == before


def test_a_unit_whose_calls_are_all_withdrawn_leaves_the_marts() -> None:
    fleet = SmallFleet()
    fleet.call("A", "U1")
    fleet.call("B", "U2")
    fleet.build()
    fleet.withdraw("calls", call_id="A")
    fleet.build(["U1"])
    assert fleet.table("select call_id from marts.calls").to_series().to_list() == ["B"]
    assert fleet.table("select episode_id from marts.episodes").to_series().to_list() == ["B"]


def test_a_ring_of_returns_is_refused_and_not_followed_for_ever() -> None:
    fleet = SmallFleet()
    for call in ("A", "B"):  # intake sets such rows aside
        fleet.call(call, opened="2026-03-05 09:00", closed="2026-03-01 09:00")
    with pytest.raises(RuntimeError, match="in a ring"):
        fleet.build()


def test_a_cell_that_names_two_parts_is_two_parts() -> None:
    fleet = SmallFleet()
    fleet.call("A")
    fleet.part("module+inlet_valve", call_id="A")
    fleet.build()
    assert fleet.fleet.calls(Filters())[0]["parts"].to_list() == [["inlet_valve", "module"]]


class TestEndOfObservation:
    def test_is_the_latest_timestamp_of_calls_and_visits(self) -> None:
        fleet = SmallFleet()
        fleet.call("A", opened="2026-01-01 09:00", closed="2026-01-03 12:00")
        fleet.visit("V1", "A", arrived="2026-01-05 10:00", left="2026-01-05 11:30")
        (end,) = fleet.build().fleet.observation_ends()
        assert (end.ends_at, end.ends_from) == (datetime(2026, 1, 5, 11, 30), "latest timestamp")

    def test_is_the_extraction_date_where_given(self) -> None:
        fleet = SmallFleet()
        fleet.call("A", opened="2026-01-01 09:00")
        fleet.ends("2026-02-01 08:00")
        (end,) = fleet.build().fleet.observation_ends()
        assert (end.ends_at, end.ends_from) == (datetime(2026, 2, 1, 8), "extraction date")

    @pytest.mark.parametrize(
        ("given", "ends_at", "ends_from"),
        [
            ("2026-01-03", datetime(2026, 1, 3, 12), "latest timestamp"),
            ("2026-01-03 13:00", datetime(2026, 1, 3, 13), "extraction date"),
            ("2026-01-04", datetime(2026, 1, 4), "extraction date"),
        ],
    )
    def test_a_day_alone_takes_in_the_records_of_that_day(
        self, given: str, ends_at: datetime, ends_from: str
    ) -> None:
        fleet = SmallFleet()
        fleet.call("A", opened="2026-01-01 09:00", closed="2026-01-03 12:00")
        fleet.ends(given)
        (end,) = fleet.build().fleet.observation_ends()
        assert (end.ends_at, end.ends_from) == (ends_at, ends_from)

    def test_each_source_has_its_own(self) -> None:
        fleet = SmallFleet()
        fleet.call("A", "U1", opened="2026-01-01 09:00", closed="2026-01-01 12:00", source="east")
        fleet.call("B", "U2", opened="2026-01-01 09:00", closed="2026-01-01 12:00", source="west")
        fleet.ends("2026-02-01 12:00", "east")
        fleet.ends("2026-01-20 12:00", "west")
        rate = fleet.build().fleet.figures(Filters()).callback_rate
        assert (rate.denominator, rate.inside_window) == (1, 1)

    @pytest.mark.parametrize(("last", "silent"), [("2026-01-16 23:59", True), ("2026-01-17 00:00", False)])
    def test_a_depot_silent_for_more_than_14_days_has_its_own(self, last: str, silent: bool) -> None:
        fleet = SmallFleet()
        fleet.call("A", "U1", opened="2026-01-01 09:00", closed=last, depot="north")
        fleet.call("B", "U2", opened="2026-01-01 09:00", closed="2026-01-31 00:00", depot="south")
        ends = {end.depot: end for end in fleet.build().fleet.observation_ends()}
        assert set(ends) == ({"", "north"} if silent else {""})
        assert ends[""].ends_at == datetime(2026, 1, 31)
        if silent:
            assert (ends["north"].ends_at, ends["north"].ends_from) == (
                datetime.fromisoformat(last),
                "own last record",
            )

    def test_calls_without_a_depot_follow_the_source(self) -> None:
        fleet = SmallFleet()
        fleet.call("A", "U1", opened="2025-01-01 09:00")
        fleet.call("B", "U2", opened="2026-01-01 09:00", closed="2026-01-31 00:00", depot="south")
        assert [end.depot for end in fleet.build().fleet.observation_ends()] == [""]


def test_many_calls_of_one_unit_make_one_string() -> None:
    """A unit id that stands for "unknown" may have very many; the work must not grow with their square."""
    fleet = SmallFleet()
    fleet.connection.execute(
        """
        insert into records.calls by name
        select 'C' || lpad(n::varchar, 6, '0') as call_id, 'UNKNOWN' as unit_id,
            timestamp '2026-01-01' + to_hours(n::integer) as opened_at, true as opened_has_time,
            timestamp '2026-01-01 00:30' + to_hours(n::integer) as closed_at, true as closed_has_time,
            true as closing_recorded, true as outcome_recorded, 'no_ice' as complaint, 'repaired' as outcome,
            'main' as source, 1 as file_id, n as line, n as row_hash
        from range(20000) as numbers (n)
        """
    )
    fleet.build()
    assert len(fleet.charged()) == 19_999
    assert fleet.table("select episode_id, calls from marts.episodes").rows() == [("C000000", 20_000)]
