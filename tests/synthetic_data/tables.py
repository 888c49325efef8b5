"""Reading a fleet back for the tests."""

from functools import cache
from pathlib import Path

import polars as pl

HEADERS = {
    "calls": (
        "call_id unit_id opened_at closed_at complaint root_cause first_diagnosis outcome technician_id "
        "depot job_kind payer household_id callback_flag filter_last_changed filter_kind unit_age "
        "problem_duration mould_state dispenser_flow fill_tube_ice switch_on freezer_temperature supply_type "
        "shutoff_valve what_changed where_it_stands already_tried notes"
    ),
    "visits": "visit_id call_id technician_id helper_id arrived_at left_at result",
    "checks": "visit_id call_id sequence check reading reading_unit state finding minutes",
    "parts": "visit_id call_id part quantity cost",
    "units": (
        "unit_id installed_on product_family ice_maker_kind filter_kind water_supply shutoff_valve location "
        "household_id depot retired_on"
    ),
    "filter_changes": "unit_id changed_on",
    "technicians": "technician_id depot started_on",
    "follow_ups": "call_id asked_on answer source",
}


@cache
def read(folder: Path, table: str) -> pl.DataFrame:
    """A table of a fleet, every column as text."""
    return pl.read_csv(folder / f"{table}.csv", infer_schema_length=0)


def times(column: str) -> pl.Expr:
    """A column of times."""
    return pl.col(column).str.to_datetime("%Y-%m-%d %H:%M")


@cache
def true_calls(folder: Path) -> pl.DataFrame:
    """The truth about calls, typed."""
    return pl.read_csv(folder / "truth" / "calls.csv", infer_schema_length=None, try_parse_dates=True)


@cache
def true_units(folder: Path) -> pl.DataFrame:
    """The truth about units, typed."""
    return pl.read_csv(folder / "truth" / "units.csv", infer_schema_length=None, try_parse_dates=True)


@cache
def repairs(folder: Path) -> pl.DataFrame:
    """The truth about calls that were about a trouble, with the facts of their units."""
    units = true_units(folder).select("unit_id", "shutoff_valve", "water_supply", "proneness", "sediment")
    calls = true_calls(folder).filter(pl.col("true_cause").is_not_null())
    opened = read(folder, "calls").select(
        "call_id", times("opened_at"), times("closed_at"), "depot", "technician_id"
    )
    return calls.join(units, on="unit_id").join(opened, on="call_id")
