"""What the records show is what the trade expects of the mechanism; each check fails on a shuffled fleet."""

from collections.abc import Callable
from pathlib import Path

import polars as pl
import pytest

from tests.synthetic_data.tables import read, repairs, true_calls, true_units

WATER_SIDE = [
    "shutoff_closed",
    "saddle_valve_clogged",
    "low_supply_pressure",
    "supply_line_fault",
    "filter_restricted",
    "filter_fit_wrong",
    "inlet_screen_plugged",
    "inlet_valve_open_coil",
    "inlet_valve_sticks",
    "inlet_valve_seeping",
    "outlet_tubing_fault",
    "fill_tube_cold",
    "fill_tube_frozen",
    "board_no_fill_signal",
]
"""Causes on the way of the water into the mould, the control's call for water included."""


def _is(*causes: str) -> pl.Expr:
    return pl.col("true_cause").is_in(causes)


def _first(calls: pl.DataFrame) -> pl.DataFrame:
    return calls.filter(pl.col("failed_visits_before") == 0)


def _ratio(calls: pl.DataFrame, counted: pl.Expr, where: pl.Expr) -> float:
    """Share counted where a condition holds, over the share where it does not."""
    here, there = calls.filter(where), calls.filter(~where)
    return here.select(counted.mean()).item() / there.select(counted.mean()).item()


def overdue_filters_restrict(calls: pl.DataFrame) -> float:
    """Clogged filters among troubles that began with a filter past 12 months, over the others."""
    began = pl.col("began_at").cast(pl.Date)
    fitted = _first(calls).filter(
        pl.col("filter_changed_on").is_not_null(), ~pl.col("owner_changed_filter_in_trouble")
    )
    overdue = (began - pl.col("filter_changed_on")).dt.total_days() > 365
    return _ratio(fitted, _is("filter_restricted"), overdue)


def saddle_valves_freeze_tubes(calls: pl.DataFrame) -> float:
    """Frozen tubes among troubles behind a saddle valve, over the others."""
    return _ratio(calls, pl.col("tube_frozen"), pl.col("shutoff_valve") == "saddle")


def wells_plug_screens(calls: pl.DataFrame) -> float:
    """Plugged screens among troubles on a well, over the others."""
    return _ratio(calls, _is("inlet_screen_plugged"), pl.col("water_supply") == "well")


def empty_moulds_point_at_the_water(calls: pl.DataFrame) -> float:
    """Causes on the way of the water where the mould is empty or cubes are small, over the others."""
    return _ratio(calls, _is(*WATER_SIDE), pl.col("fill_ml") < 85)


def screens_layer_cubes(calls: pl.DataFrame) -> float:
    """Small or layered cubes rung in with a plugged screen, over the other causes."""
    return _ratio(
        calls, pl.col("symptom").is_in(["small_cubes", "layered_cubes"]), _is("inlet_screen_plugged")
    )


def proneness_brings_wear(calls: pl.DataFrame) -> float:
    """Worn parts among the troubles of units prone to trouble, over the others."""
    return _ratio(calls, _is("module_failed", "auger_drive_failed", "freezer_warm"), pl.col("proneness") > 1)


CHECKS: list[tuple[Callable[[pl.DataFrame], float], str, float]] = [
    (overdue_filters_restrict, "filter_changed_on", 3.0),
    (saddle_valves_freeze_tubes, "shutoff_valve", 1.4),
    (wells_plug_screens, "water_supply", 1.4),
    (empty_moulds_point_at_the_water, "fill_ml", 4.0),
    (screens_layer_cubes, "symptom", 1.8),
    (proneness_brings_wear, "proneness", 1.4),
]


@pytest.mark.parametrize(("check", "column", "least"), CHECKS)
def test_the_fleet_behaves_as_the_trade_expects(fleet: Path, check: Callable, column: str, least: float):
    assert check(repairs(fleet)) > least


@pytest.mark.parametrize(("check", "column", "least"), CHECKS)
def test_a_fleet_with_that_column_shuffled_does_not(fleet: Path, check: Callable, column: str, least: float):
    calls = repairs(fleet)
    assert check(calls.with_columns(calls[column].shuffle(seed=1))) < least


def test_every_cause_happens_and_no_fault_found_is_never_the_truth(fleet: Path):
    causes = set(repairs(fleet)["true_cause"])
    assert len(causes) == 30
    assert "no_fault_found" not in causes


def test_a_thawed_tube_freezes_again_unless_the_reason_is_mended(fleet: Path):
    calls = repairs(fleet).filter("tube_frozen", ~_is("fill_tube_frozen"))
    thawed = calls.filter(pl.col("named_cause") == "fill_tube_frozen")
    deeper = calls.filter(pl.col("named_cause") == pl.col("true_cause"))
    assert len(thawed) > 30
    assert thawed["mended"].mean() < 0.2
    assert deeper["mended"].mean() > 0.7


def test_more_seeping_where_no_filter_holds_the_grit_back(tmp_path: Path, fleet: Path):
    units = true_units(fleet).select("unit_id")
    kinds = read(fleet, "units").select("unit_id", "filter_kind").drop_nulls()
    calls = true_calls(fleet).filter(pl.col("true_cause") == "inlet_valve_seeping")
    seeping = units.join(kinds, on="unit_id").with_columns(
        seeps=pl.col("unit_id").is_in(calls["unit_id"].to_list())
    )
    bare = seeping.filter(pl.col("filter_kind") == "bypass_or_none")["seeps"].mean()
    assert bare > seeping.filter(pl.col("filter_kind") == "in_unit")["seeps"].mean()
