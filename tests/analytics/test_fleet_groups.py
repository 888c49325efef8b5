"""Figures by group, by hand."""

import json

import pytest

from analytics.errors import BadQuestion
from analytics.filters import GROUPINGS, Filters
from tests.analytics.small_fleet import SmallFleet


class TestGroups:
    def fleet(self) -> SmallFleet:
        fleet = SmallFleet()
        fleet.unit("U1", product_family="side_by_side")
        fleet.call(
            "A",
            opened="2026-01-01 09:00",
            complaint="no_ice+leak_floor",
            root_cause="valve_seeping",
            technician_id="ann",
            depot="north",
        )
        fleet.visit("V1", "A", arrived="2026-01-01 10:00")
        fleet.part("inlet_valve", visit_id="V1")
        fleet.part("inlet_valve", visit_id="V1", occurrence=2)
        fleet.part("module", visit_id="V1")
        fleet.call("B", opened="2026-01-09 09:00", technician_id="bob", closed="2026-02-09 09:00")
        # the depot is at work until the end, or it would have an end of observation of its own
        fleet.call(
            "N", "U2", opened="2026-05-30 09:00", job_kind="maintenance", complaint=None, depot="north"
        )
        fleet.ends("2026-06-01")
        return fleet.build()

    @pytest.mark.parametrize(
        ("by", "groups"),
        [
            ("technician", {"ann": (1, 1), "bob": (0, 1)}),
            ("depot", {"north": (1, 1), None: (0, 1)}),
            ("symptom", {"no_ice": (1, 2), "leak_floor": (1, 1)}),
            ("cause", {"valve_seeping": (1, 1), None: (0, 1)}),
            ("part", {"inlet_valve": (1, 1), "module": (1, 1), None: (0, 1)}),  # once under each part fitted
            ("product_family", {"side_by_side": (1, 2)}),
            ("month", {"2026-01-01": (1, 1), "2026-02-01": (0, 1)}),
        ],
    )
    def test_each_grouping(self, by: str, groups: dict) -> None:
        found = self.fleet().fleet.figures(Filters(), by=by)
        assert {
            group.group: (group.callback_rate.numerator, group.callback_rate.denominator)
            for group in found.groups
            if group.callback_rate.denominator
        } == groups
        assert by in GROUPINGS

    def test_labels(self) -> None:
        fleet = self.fleet().fleet
        assert [group.label for group in fleet.figures(Filters(), by="month").groups] == [
            "Jan 2026",
            "Feb 2026",
            "May 2026",
        ]
        assert {group.label for group in fleet.figures(Filters(), by="part").groups} == {
            "inlet valve",
            "module",
            "no part",
        }

    def test_unknown_grouping(self) -> None:
        with pytest.raises(BadQuestion, match="technician, depot"):
            self.fleet().fleet.figures(Filters(), by="colour")

    def test_to_dict_is_plain(self) -> None:

        found = json.loads(json.dumps(self.fleet().fleet.figures(Filters(), by="depot").to_dict()))
        assert found["callback_rate"]["numerator"] == 1
        assert set(found["callback_rate"]) >= {
            "numerator",
            "denominator",
            "rate",
            "low",
            "high",
            "inside_window",
        }
        assert {group["group"] for group in found["groups"]} == {None, "north"}
