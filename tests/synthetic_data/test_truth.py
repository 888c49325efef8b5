"""The truth files agree with the record and with themselves."""

from datetime import datetime
from pathlib import Path

import polars as pl

from synthetic_data.assumptions import load
from synthetic_data.trade import trade
from tests.synthetic_data.tables import read, repairs, times, true_calls, true_units


def test_truth_has_a_row_for_every_call_and_unit(fleet: Path):
    assert true_calls(fleet)["call_id"].equals(read(fleet, "calls")["call_id"])
    assert true_calls(fleet)["unit_id"].equals(read(fleet, "calls")["unit_id"])
    assert true_units(fleet)["unit_id"].equals(read(fleet, "units")["unit_id"])


def test_causes_written_as_codes_are_the_causes_named(fleet: Path):
    both = read(fleet, "calls").select("call_id", "root_cause").join(true_calls(fleet), on="call_id")
    coded = both.filter(pl.col("root_cause").is_in(trade().causes))
    assert len(coded) > 500
    assert (coded["root_cause"] == coded["named_cause"]).all()


def test_only_repairs_have_a_true_cause(fleet: Path):
    both = read(fleet, "calls").select("call_id", "job_kind").join(true_calls(fleet), on="call_id")
    assert (
        both.filter(pl.col("job_kind") == "install")["true_cause"].null_count()
        == (both["job_kind"] == "install").sum()
    )
    assert both.filter(pl.col("job_kind") == "repair")["true_cause"].null_count() == 0


def test_a_call_follows_an_earlier_one_of_its_unit(fleet: Path):
    calls = true_calls(fleet)
    both = calls.drop_nulls("follows_call_id").join(calls, left_on="follows_call_id", right_on="call_id")
    assert len(both) > 300
    assert (both["unit_id"] == both["unit_id_right"]).all()
    assert (both["call_id"] > both["follows_call_id"]).all()


def test_what_was_mended_is_not_rung_in_again_as_a_failed_repair(fleet: Path):
    calls = true_calls(fleet)
    again = calls.filter(pl.col("failed_visits_before") > 0, ~pl.col("return_trip"), ~pl.col("duplicate"))
    both = again.join(calls, left_on="follows_call_id", right_on="call_id")
    assert len(both) > 200
    assert not both["mended_right"].any()
    assert (both["true_cause"] == both["true_cause_right"]).all()


def test_known_filter_changes_are_the_file_of_the_office(fleet: Path):
    true = pl.read_csv(fleet / "truth" / "filter_changes.csv", infer_schema_length=0)
    known = true.filter(pl.col("known_to_office") == "true").select("unit_id", "changed_on").unique()
    assert known.sort("unit_id", "changed_on").equals(read(fleet, "filter_changes"))
    assert set(true["changed_by"]) == {"owner", "technician", "owner_in_trouble", "somebody_else"}
    assert 0.2 < len(known) / len(true) < 0.8


def test_the_filter_in_at_the_call_is_the_latest_change_before_it(fleet: Path):
    true = pl.read_csv(fleet / "truth" / "filter_changes.csv", try_parse_dates=True).select(
        "unit_id", "changed_on"
    )
    calls = repairs(fleet).drop_nulls("filter_changed_on").sort("opened_at")
    day = calls.with_columns(day=pl.col("opened_at").dt.date())
    last = day.join_asof(
        true.sort("changed_on"), left_on="day", right_on="changed_on", by="unit_id", check_sortedness=False
    ).drop_nulls("changed_on")
    assert len(last) > 1000
    last = last.filter(pl.col("changed_on") < pl.col("day"))  # on the day itself the order is not known
    assert (last["changed_on"] == last["filter_changed_on"]).mean() > 0.995


def test_the_bad_delivery_of_valves_shows_in_its_months_only(large: Path):
    bad = load()["parts"]["bad_batch"]
    visits = read(large, "visits").select("visit_id", "call_id", times("arrived_at"))
    valves = (
        read(large, "parts")
        .filter(pl.col("part") == bad["part"])
        .select("visit_id")
        .join(visits, on="visit_id")
    )
    age = (pl.lit(datetime(2026, 11, 1)) - pl.col("arrived_at")).dt.total_days()
    inside = age.is_between(bad["last_days_before_end"] + 1, bad["first_days_before_end"] - 1)
    mended = (
        valves.join(true_calls(large), on="call_id")
        .group_by(inside.alias("inside"))
        .agg(pl.col("mended").mean())
    )
    share = dict(mended.iter_rows())
    assert share[True] < share[False] - 0.5 * bad["share"]


def test_skill_goes_with_naming_the_right_cause(fleet: Path):
    skill = (
        pl.read_csv(fleet / "truth" / "technicians.csv")
        .group_by("technician_id")
        .agg(pl.col("skill_logit").mean())
    )
    calls = repairs(fleet).drop_nulls("technician_id").join(skill, on="technician_id")
    right = calls.with_columns(right=(pl.col("named_cause") == pl.col("true_cause")).cast(float)).drop_nulls(
        "right"
    )
    assert right.select(pl.corr("right", "skill_logit")).item() > 0.03


def test_answers_afterwards_mostly_tell_the_truth(fleet: Path):
    asked = read(fleet, "follow_ups").join(true_calls(fleet), on="call_id")
    told = asked.filter(pl.col("answer").is_in(["works", "partly", "no"]))
    assert len(told) > 50
    assert ((told["answer"] == "works") == told["mended"]).mean() > 0.9


def test_follow_ups_are_asked_of_calls_that_were_silent_until_then(fleet: Path):
    calls = read(fleet, "calls").select("call_id", "unit_id", times("opened_at"), times("closed_at"))
    asked = read(fleet, "follow_ups").with_columns(pl.col("asked_on").str.to_date()).join(calls, on="call_id")
    later = asked.join(calls.select("unit_id", again="opened_at"), on="unit_id")
    assert len(asked) > 80
    assert later.filter(
        (pl.col("again") > pl.col("opened_at")) & (pl.col("again") < pl.col("asked_on"))
    ).is_empty()
