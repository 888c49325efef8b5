"""The files: headers, keys, links, and times in a possible order."""

from datetime import datetime
from pathlib import Path

import polars as pl
import pytest

from synthetic_data import generate
from synthetic_data.calls import JOBS, OUTCOMES
from synthetic_data.trade import trade
from synthetic_data.visits import RESULTS
from synthetic_data.wording import field_words
from tests.synthetic_data.tables import HEADERS, read, times, true_calls, true_units


@pytest.mark.parametrize("table", HEADERS)
def test_headers_are_those_of_the_data_contract(fleet: Path, table: str):
    assert (fleet / f"{table}.csv").read_text().split("\n", 1)[0] == HEADERS[table].replace(" ", ",")


@pytest.mark.parametrize(
    ("table", "key"),
    [("calls", "call_id"), ("visits", "visit_id"), ("units", "unit_id"), ("technicians", "technician_id")],
)
def test_keys_are_unique_and_never_blank(fleet: Path, table: str, key: str):
    column = read(fleet, table)[key]
    assert column.null_count() == 0
    assert column.is_unique().all()


def test_filter_changes_are_unique(fleet: Path):
    assert read(fleet, "filter_changes").is_unique().all()


@pytest.mark.parametrize(
    ("table", "link", "target"),
    [
        ("calls", "unit_id", "units"),
        ("calls", "technician_id", "technicians"),
        ("visits", "call_id", "calls"),
        ("visits", "technician_id", "technicians"),
        ("visits", "helper_id", "technicians"),
        ("checks", "visit_id", "visits"),
        ("checks", "call_id", "calls"),
        ("parts", "visit_id", "visits"),
        ("parts", "call_id", "calls"),
        ("filter_changes", "unit_id", "units"),
        ("follow_ups", "call_id", "calls"),
    ],
)
def test_links_point_at_rows_that_exist(fleet: Path, table: str, link: str, target: str):
    links = read(fleet, table)[link].drop_nulls()
    assert len(links) > 0
    assert links.is_in(read(fleet, target)[link.replace("helper", "technician")].to_list()).all()


def test_checks_and_parts_name_the_call_of_their_visit(fleet: Path):
    visits = read(fleet, "visits").select("visit_id", of_visit="call_id")
    for table in ("checks", "parts"):
        both = read(fleet, table).join(visits, on="visit_id").drop_nulls("call_id")
        assert (both["call_id"] == both["of_visit"]).all()


@pytest.mark.parametrize("calls", [1, 50, 333])
def test_the_fleet_has_the_calls_asked_for(tmp_path: Path, calls: int):
    assert len(read(generate(tmp_path, calls=calls, seed=2), "calls")) == calls


def test_calls_are_numbered_in_the_order_rung_in_and_closed_afterwards(fleet: Path):
    calls = read(fleet, "calls").with_columns(times("opened_at"), times("closed_at"))
    assert calls["opened_at"].is_sorted()
    assert calls["call_id"].is_sorted()
    assert (calls["closed_at"] >= calls["opened_at"]).all()
    assert calls["opened_at"].max() < datetime(2026, 11, 1)
    assert calls["opened_at"].min() >= datetime(2021, 10, 31)


def test_visits_come_after_the_call_and_end_before_the_record_does(fleet: Path):
    visits = read(fleet, "visits").with_columns(times("arrived_at"), times("left_at"))
    calls = read(fleet, "calls").select("call_id", times("opened_at"))
    both = visits.join(calls, on="call_id")
    assert (both["arrived_at"] > both["opened_at"]).all()
    assert (both["left_at"] > both["arrived_at"]).all()
    assert (both["arrived_at"].dt.weekday() < 7).all()  # nobody works on Sundays
    assert both["arrived_at"].max() < datetime(2026, 11, 1)


def test_visits_after_closing_are_only_those_of_reopened_calls(fleet: Path):
    calls = read(fleet, "calls").select("call_id", times("closed_at"), "depot")
    late = read(fleet, "visits").with_columns(times("arrived_at")).join(calls, on="call_id")
    late = late.filter(pl.col("arrived_at") > pl.col("closed_at"))
    assert len(late) > 0
    assert set(late["depot"]) == {"Quenford"}


def test_no_trouble_is_older_than_its_call_nor_its_unit_younger(fleet: Path):
    calls = true_calls(fleet).with_columns(pl.col("began_at").cast(pl.Datetime))
    opened = read(fleet, "calls").select("call_id", times("opened_at"))
    both = calls.join(opened, on="call_id").drop_nulls("began_at")
    assert (both["began_at"] <= both["opened_at"]).all()


def test_calls_are_about_units_that_stand_there(fleet: Path):
    units = true_units(fleet).select("unit_id", "installed_on", "retired_on")
    calls = read(fleet, "calls").with_columns(times("opened_at").dt.date()).join(units, on="unit_id")
    assert not (calls["opened_at"] > calls["retired_on"]).any()
    early = calls.filter(pl.col("opened_at") < pl.col("installed_on"))
    assert len(early) > 50
    assert set(early["job_kind"]) <= {"install", *field_words("job_kind")["install"]}


def test_every_kind_of_ending_and_job_occurs(fleet: Path):
    calls = read(fleet, "calls")
    assert set(OUTCOMES) <= set(calls["outcome"])
    assert set(JOBS) <= set(calls["job_kind"])
    assert set(RESULTS) <= set(read(fleet, "visits")["result"])
    assert 0 < calls["closed_at"].null_count() < 0.03 * len(calls)


def test_some_units_ring_often_some_never_and_some_are_replaced(fleet: Path):
    units, per_unit = read(fleet, "units"), read(fleet, "calls").group_by("unit_id").len()
    assert 3 < len(read(fleet, "calls")) / len(units) < 5
    assert (per_unit["len"] > 8).any()
    assert 0.03 < 1 - len(per_unit) / len(units) < 0.3
    assert 0.03 < units["retired_on"].is_not_null().mean() < 0.3
    shared = units.group_by("household_id").len()
    assert (shared["len"] > 1).any()


def test_helpers_sometimes_have_an_overlapping_row_of_their_own(fleet: Path):
    visits = read(fleet, "visits").with_columns(times("arrived_at"), times("left_at"))
    helped = visits.drop_nulls("helper_id")
    own = helped.join(visits, left_on=["call_id", "helper_id"], right_on=["call_id", "technician_id"])
    own = own.filter(
        (pl.col("arrived_at_right") >= pl.col("arrived_at"))
        & (pl.col("arrived_at_right") <= pl.col("left_at"))
    )
    assert len(helped) > len(own) > 0


def test_causes_and_outcomes_are_written_as_codes_and_in_words(fleet: Path):
    calls = read(fleet, "calls")
    for column, codes in (("root_cause", trade().causes), ("outcome", OUTCOMES)):
        as_code = calls[column].drop_nulls().is_in(codes).mean()
        assert 0.25 < as_code < 0.75, column
    assert 0.1 < calls["root_cause"].null_count() / len(calls) < 0.4
