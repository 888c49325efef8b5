"""The best interval by group of households: from made cells, and the cells themselves by hand."""

from datetime import date

import numpy as np
import polars as pl
import pytest

from analytics import queries
from analytics.cost_assumptions import FilterCosts
from analytics.questions import filter_intervals as asked
from analytics.questions.filter_age import lay_out
from analytics.questions.filter_intervals import AGES_MONTHS, filter_intervals, from_cells
from tests.analytics.small_fleet import SmallFleet

STEPS = len(AGES_MONTHS)
COSTS = FilterCosts(failure_cost=200, filter_cost=20, planned_cost=5, at_visit_cost=0)


def cells(by_group: dict[str, np.ndarray], units: int = 60, months: float = 20.0) -> pl.DataFrame:
    """Units of so many months in each step and failures at these rates a month; all, and wells and town."""
    rows = []
    for group, rates in by_group.items():
        for unit in range(units):
            for step in range(STEPS):
                failures = round(rates[step] * months * (1 + unit) - 1e-9) - round(
                    rates[step] * months * unit - 1e-9
                )
                for field, name in (("all", None), ("water_supply", group)):
                    at = unit + (0 if group == "well" else units)
                    rows.append((field, name, at, step, failures, 0, 0, round(months * 30.4375)))
    columns = ("field", "group", "unit_group", "step", "failures", "callbacks", "told", "days")
    frame = pl.DataFrame(rows, schema=columns, orient="row", infer_schema_length=None)
    return frame.group_by("field", "group", "unit_group", "step").agg(
        pl.col("failures", "callbacks", "told", "days").sum()
    )


RISING = np.concatenate([[0.0], 0.01 * np.arange(1, STEPS)])
FLAT = np.full(STEPS, 0.13)


def row(group: str, found: asked.FilterIntervals) -> dict:
    return found.of("water_supply").row(by_predicate=pl.col("group") == group, named=True)


def test_where_failures_rise_an_interval_pays_and_where_not_none_does() -> None:
    """0.01 t failures a month have H = 0.005 T (T + 1), near 0.005 T^2: T = sqrt(25 / (200 x 0.005)) = 5."""
    found = filter_intervals(from_cells(cells({"well": RISING, "town_water": FLAT}), 100), COSTS)
    well, town = row("well", found), row("town_water", found)
    assert well["best"] in (4, 5, 6)
    assert well["best_low"] <= well["best"] <= well["best_high"]
    assert well["cost_never"] > well["cost_twelve"] > well["cost_six"] >= well["cost"]
    assert (town["best"], town["best_low"]) == (None, None)
    assert town["none_pays"] > 0.9
    assert town["cost"] == town["cost_never"]


def test_dearer_failures_or_cheaper_filters_shorten_the_interval() -> None:
    hazards = from_cells(cells({"well": RISING, "town_water": FLAT}), 20)
    base = row("well", filter_intervals(hazards, COSTS))["best"]
    assert row("well", filter_intervals(hazards, FilterCosts(2000, 20, 5, 0)))["best"] < base
    assert row("well", filter_intervals(hazards, FilterCosts(200, 200, 5, 0)))["best"] > base


def test_few_failures_are_pulled_towards_all_units_and_fewer_say_nothing() -> None:
    many, few = cells({"town_water": RISING}), cells({"well": FLAT}, units=2, months=10.0)
    drawn = from_cells(pl.concat([many, few]), 10)
    at = drawn.groups["group"].to_list().index("well")
    raw = FLAT[5] / FLAT[20]
    assert drawn.hazard[at, 0, 5] / drawn.hazard[at, 0, 20] < 0.8 * raw, "pulled to what rises"
    assert row("well", filter_intervals(drawn, COSTS))["best"] is not None
    nothing = from_cells(cells({"well": FLAT / 100}, units=2, months=10.0), 10)
    assert row("well", filter_intervals(nothing, COSTS))["cost"] is None


def test_the_smoothed_hazard_does_not_fall_after_the_first_weeks() -> None:
    humped = np.concatenate([[0.9], np.linspace(0.1, 0.3, 12), np.linspace(0.3, 0.1, STEPS - 13)])
    hazard = from_cells(cells({"well": humped}), 10).hazard
    assert (np.diff(hazard[:, :, 1:], axis=2) >= -1e-12).all()
    assert hazard[0, 0, 0] == pytest.approx(0.9, rel=0.01)


def check_cells_by_hand() -> None:
    """A unit of 40 days in January and February 2026, with trouble on the day its filter is 31 days old."""
    small = SmallFleet()
    small.unit("ONE", installed_on=date(2026, 1, 1), water_supply="well")
    small.filter_change("2026-02-10", "OTHER")
    small.call("first", "OTHER", opened="2026-01-01 09:00")
    small.call("1", "ONE", opened="2026-02-01 09:00")
    small.ends("2026-02-10 12:00")
    cursor = small.build().connection.cursor()
    lay_out(cursor)
    queries.run(cursor, "metrics/filter_policy_time", {"groups": 256})
    found = queries.frame(cursor, "metrics/filter_hazards").sort("field", "step")
    wells = found.filter(pl.col("field") == "water_supply")
    assert wells.select("group", "step", "days", "failures").rows() == [
        ("well", 0, 14, 0), ("well", 1, 16, 0), ("well", 2, 10, 1),
    ]  # fmt: skip
    assert found["field"].unique().sort().to_list() == [
        "all",
        "product_family",
        "shutoff_valve",
        "water_supply",
    ]


def test_cells_by_hand() -> None:
    check_cells_by_hand()


def test_steps_a_day_off_are_caught(monkeypatch: pytest.MonkeyPatch) -> None:
    original = queries.statement
    sound, wrong = "floor(month * 30.4375)::integer + 1, 15)", "floor(month * 30.4375)::integer, 15)"
    assert sound in original("metrics/filter_hazards")
    monkeypatch.setattr(queries, "statement", lambda name: original(name).replace(sound, wrong))
    with pytest.raises(AssertionError):
        check_cells_by_hand()
