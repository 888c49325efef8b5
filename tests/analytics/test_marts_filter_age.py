"""Filter age by hand. The call is on 1 March 2026, a Sunday; ages are calendar days."""

import pytest

from tests.analytics.small_fleet import SmallFleet

DAY = "2026-03-01 09:00"


def age(
    told: str | None = None, changes: tuple[str, ...] = (), unit: dict | None = None, **columns: str
) -> dict:
    fleet = SmallFleet()
    fleet.call("A", opened=DAY, filter_last_changed=told, **columns)
    for changed_on in changes:
        fleet.filter_change(changed_on)
    if unit is not None:
        fleet.unit(**unit)
    return fleet.build().row("A")


@pytest.mark.parametrize(
    ("changes", "days"),
    [
        ((), None),
        (("2026-02-28",), 1),
        (("2026-03-01",), None),  # the day of the call does not count
        (("2026-03-02",), None),
        (("2025-03-01", "2026-02-01", "2026-03-01"), 28),
        (("2025-03-01",), 365),
    ],
)
def test_days_since_the_latest_change_before_the_day_of_the_call(
    changes: tuple[str, ...], days: int | None
) -> None:
    assert age(changes=changes)["filter_age_days"] == days


@pytest.mark.parametrize(
    ("told", "days"),
    [
        ("2026-02-01", 28),
        ("2026-03-01", 0),  # told to be today: said before anybody came
        ("2026-03-02", None),
        ("14 days", 14),
        ("3 months", 92),  # 3 * 30.4375 = 91.31, rounded up
        ("12 months", 366),
        ("2 years", 731),
        ("last autumn", 137),  # 15 October 2025
        ("christmas", 66),
        ("last spring", 320),  # 15 April 2025
        ("dont_know", None),
        ("light_came_on", None),
        ("? eh", None),
    ],
)
def test_dated_answers(told: str, days: int | None) -> None:
    assert age(told)["filter_age_days"] == days


@pytest.mark.parametrize(
    ("told", "recorded", "days", "later_by", "disagrees"),
    [
        ("2026-02-01", "2025-12-01", 28, 62, True),  # told is later and wins
        ("2025-12-01", "2026-02-01", 28, -62, True),  # recorded is later and wins
        ("2026-02-01", "2026-01-20", 28, 12, False),  # within a month
        ("dont_know", "2026-02-01", 28, None, False),
        ("2026-03-01", "2026-02-20", 0, 9, False),
        ("2026-03-02", "2026-02-01", 28, None, False),  # after the call: not believed
    ],
)
def test_the_later_of_told_and_recorded_wins(
    told: str, recorded: str, days: int, later_by: int | None, disagrees: bool
) -> None:
    row = age(told, (recorded,))
    found = (row["filter_age_days"], row["filter_told_later_days"], row["filter_disagrees"])
    assert found == (days, later_by, disagrees)


class TestNever:
    def test_is_the_age_of_the_unit_where_a_filter_is_fitted(self) -> None:
        row = age("never", unit={"installed_on": "2024-03-01", "filter_kind": "in_unit"})
        assert (row["filter_age_days"], row["filter_age_band"]) == (730, "18+")

    def test_is_unknown_where_no_filter_is_known_to_be_fitted(self) -> None:
        assert age("never", unit={"installed_on": "2024-03-01"})["filter_age_band"] == "unknown"
        assert age("never", filter_kind="dont_know")["filter_age_band"] == "unknown"

    def test_takes_the_age_told_where_installation_is_not_recorded(self) -> None:
        assert age("never", unit_age="2 years", filter_kind="in_line")["filter_age_days"] == 731

    def test_yields_to_a_recorded_change_and_is_counted(self) -> None:
        row = age("never", ("2026-02-01",), unit={"installed_on": "2024-03-01", "filter_kind": "in_unit"})
        assert (row["filter_age_days"], row["filter_disagrees"]) == (28, True)

    def test_on_the_day_of_installation(self) -> None:
        row = age("never", unit={"installed_on": "2026-03-01", "filter_kind": "in_unit"})
        assert (row["filter_age_days"], row["filter_age_band"]) == (0, "0-3")


@pytest.mark.parametrize(
    "no_filter",
    [
        {"filter_kind": "bypass_or_none"},
        {"filter_kind": "reverse_osmosis"},
        {"supply_type": "reverse_osmosis"},
        {"supply_type": "softened+reverse_osmosis"},
        {"unit": {"filter_kind": "bypass_or_none"}},
        {"unit": {"water_supply": "reverse_osmosis"}},
        {"unit": {"filter_kind": "bypass_or_none"}, "filter_kind": "dont_know"},
    ],
)
def test_not_applicable_is_a_level_of_its_own(no_filter: dict) -> None:
    row = age("2026-02-01", ("2026-01-01",), **no_filter)
    assert row["filter_age_days"] is None
    assert (row["filter_age_band"], row["filter_age_began_band"]) == ("not_applicable", "not_applicable")
    assert not row["filter_disagrees"]


def test_what_is_said_on_the_call_goes_before_what_the_unit_says() -> None:
    row = age(changes=("2026-02-01",), unit={"filter_kind": "bypass_or_none"}, filter_kind="in_unit")
    assert row["filter_age_days"] == 28


@pytest.mark.parametrize(
    ("days", "band"),
    [
        (1, "0-3"),
        (91, "0-3"),  # 3 months are 91.3 days
        (92, "3-6"),
        (182, "3-6"),
        (183, "6-9"),
        (273, "6-9"),
        (274, "9-12"),
        (365, "9-12"),
        (366, "12-18"),
        (547, "12-18"),
        (548, "18+"),
    ],
)
def test_bands_are_left_closed(days: int, band: str) -> None:
    assert age(f"{days} days")["filter_age_band"] == band


@pytest.mark.parametrize("months", [3, 6, 9, 12, 18])
def test_told_in_months_falls_into_the_band_that_begins_there(months: int) -> None:
    assert age(f"{months} months")["filter_age_band"].startswith(str(months))


class TestWhenTheTroubleBegan:
    def test_a_filter_changed_because_of_the_trouble_does_not_count(self) -> None:
        row = age(changes=("2025-08-01", "2026-02-20"), problem_duration="3 weeks")
        assert (row["filter_age_days"], row["filter_age_began_days"]) == (9, 191)  # to 8 February

    @pytest.mark.parametrize(
        ("duration", "days"),
        [("today", 28), ("days", 25), ("weeks", 14), ("10 days", 18), ("2026-02-11", 10)],
    )
    def test_durations(self, duration: str, days: int) -> None:
        assert age(changes=("2026-02-01",), problem_duration=duration)["filter_age_began_days"] == days

    @pytest.mark.parametrize("duration", [None, "comes_and_goes", "dont_know", "? eh"])
    def test_is_unknown_where_the_duration_is(self, duration: str | None) -> None:
        row = age(changes=("2026-02-01",), problem_duration=duration)
        assert (row["filter_age_began_days"], row["filter_age_began_band"]) == (None, "unknown")

    def test_since_new_goes_back_to_installation(self) -> None:
        unit = {"installed_on": "2026-01-01", "filter_kind": "in_unit"}
        row = age("never", unit=unit, problem_duration="since_new")
        assert (row["filter_age_days"], row["filter_age_began_days"]) == (59, 0)

    def test_an_answer_dated_after_the_beginning_does_not_count(self) -> None:
        row = age("2026-02-20", ("2025-08-01",), problem_duration="3 weeks")
        assert (row["filter_age_days"], row["filter_age_began_days"]) == (9, 191)


def test_a_filter_among_the_parts_is_a_change() -> None:
    fleet = SmallFleet()
    fleet.call("A", opened="2026-02-01 09:00")
    fleet.visit("V1", "A", arrived="2026-02-02 10:00")
    fleet.part("water_filter", visit_id="V1")
    fleet.call("B", opened=DAY)
    fleet.call("C", opened="2026-02-02 15:00", complaint="leak_floor")  # the very day
    fleet.build()
    assert fleet.row("B")["filter_age_days"] == 27
    assert fleet.row("C")["filter_age_days"] is None


def test_a_filter_without_a_visit_counts_from_closing() -> None:
    fleet = SmallFleet()
    fleet.call("A", opened="2026-02-01 09:00", closed="2026-02-05 09:00")
    fleet.part("water_filter", call_id="A")
    fleet.call("B", opened=DAY)
    assert fleet.build().row("B")["filter_age_days"] == 24
