"""The calls behind the number of a group are the calls of that group, of what is not recorded too."""

import pytest

from analytics.filters import GROUPINGS, Filters
from dashboard.components.grouping import group_filters
from dashboard.pages.callbacks import group_finding
from tests.analytics.small_fleet import SmallFleet


def small_fleet() -> SmallFleet:
    fleet = SmallFleet()
    fleet.unit("U1", product_family="french_door")
    fleet.call(
        "A", "U1", depot="north", technician_id="ann", root_cause="valve",
        opened="2026-01-02 09:00", closed="2026-01-02 11:00",
    )  # fmt: skip
    fleet.call("B", "U2", complaint="?", opened="2026-02-02 09:00", closed="2026-02-02 11:00")
    fleet.call(
        "C", "U3", depot="north", complaint="no_ice+leak_floor",
        opened="2026-02-03 09:00", closed="2026-02-03 11:00",
    )  # fmt: skip
    fleet.part("inlet_valve+module", call_id="A")
    fleet.ends("2026-06-01")
    return fleet.build()


@pytest.mark.parametrize("by", GROUPINGS)
def test_each_number_of_a_group_has_its_calls(by: str) -> None:
    fleet = small_fleet().fleet
    groups = fleet.figures(Filters(), by=by).groups
    assert len(groups) >= 2
    found = {
        group.group: fleet.calls(group_filters(Filters(), by, group.group), "judged")[1] for group in groups
    }
    assert found == {group.group: group.callback_rate.denominator for group in groups}
    assert by == "month" or None in found, "what is not recorded is a group of its own"


def test_the_title_never_says_none_where_some_came_back_without_a_group() -> None:
    fleet = SmallFleet()
    fleet.call("A", opened="2026-01-02 09:00", closed="2026-01-02 11:00")
    fleet.call("B", opened="2026-01-05 09:00", closed="2026-01-05 11:00")
    fleet.ends("2026-06-01")
    found = fleet.build().fleet.figures(Filters(), by="depot")
    assert group_finding(found.groups, "depot", found.callback_rate.numerator) == "Returns by depot"
    assert group_finding(found.groups, "depot", 0) == "No return in any depot"
