"""The fleet as a whole lies where such fleets lie: callbacks, first-time fix, spread between people."""

from pathlib import Path

import polars as pl
import pytest

from synthetic_data.assumptions import load
from synthetic_data.calls import OUTCOMES
from synthetic_data.wording import field_words
from tests.synthetic_data.tables import read, repairs

WINDOW = pl.duration(days=30)


@pytest.fixture(scope="module")
def completed(large: Path) -> pl.DataFrame:
    """Completed calls old enough to judge, with their visits and whether the trouble came back in 30 days."""
    code_of = {word: code for code, said in field_words("outcome").items() for word in (*said, code)}
    family_of = {
        symptom: family for family, all_of in load()["symptoms"].under("family").items() for symptom in all_of
    }
    outcomes = read(large, "calls").select("call_id", pl.col("outcome").replace_strict(code_of, default=None))
    visits = read(large, "visits").group_by("call_id").agg(visits=pl.len())
    calls = repairs(large).join(outcomes, on="call_id").join(visits, on="call_id", how="left")
    calls = calls.with_columns(family=pl.col("symptom").replace_strict(family_of))
    done = calls.filter(
        pl.col("closed_at") + WINDOW <= pl.col("opened_at").max(),
        pl.col("outcome").is_in(OUTCOMES[:6]) | pl.col("outcome").is_null(),
    )
    later = calls.filter(~pl.col("return_trip")).select(
        "unit_id", "family", again="opened_at", back="call_id"
    )
    pairs = done.join(later, on=("unit_id", "family")).filter(
        pl.col("again") > pl.col("closed_at"), pl.col("again") <= pl.col("closed_at") + WINDOW
    )
    charged = pairs.sort("closed_at").group_by("back", maintain_order=True).last()
    return done.with_columns(
        came_back=pl.col("call_id").is_in(charged["call_id"].to_list()),
        is_callback=pl.col("call_id").is_in(charged["back"].to_list()),
    )


def test_seven_to_thirteen_in_a_hundred_come_back_within_thirty_days(completed: pl.DataFrame):
    assert 0.07 < completed["came_back"].mean() < 0.13


def test_two_thirds_to_four_fifths_are_fixed_the_first_time(completed: pl.DataFrame):
    first = completed.filter(~pl.col("is_callback"), pl.col("visits").is_not_null())
    assert 0.65 < ((first["visits"] == 1) & ~first["came_back"]).mean() < 0.8


def test_failed_repairs_come_back_far_more_often_than_good_ones(completed: pl.DataFrame):
    back = completed.group_by("mended").agg(pl.col("came_back").mean()).sort("mended")["came_back"]
    assert back[0] > 5 * back[1]


def test_some_failures_are_never_heard_of_again(completed: pl.DataFrame):
    failed = completed.filter(~pl.col("mended"))
    assert 0.3 < (~failed["came_back"]).mean() < 0.8


def test_technicians_differ_by_more_than_chance(completed: pl.DataFrame):
    per = (
        completed.drop_nulls("technician_id")
        .group_by("technician_id")
        .agg(n=pl.len(), back=pl.col("came_back").sum())
    )
    per = per.filter(pl.col("n") > 100)
    whole = per["back"].sum() / per["n"].sum()
    excess = ((per["back"] - per["n"] * whole) ** 2 / (per["n"] * whole * (1 - whole))).sum()
    assert excess > 1.3 * (len(per) - 1)  # chi-square over its degrees of freedom; 1 when all are alike


def test_depots_that_close_by_paperwork_close_days_after_the_visit(fleet: Path):
    calls = repairs(fleet).drop_nulls("closed_at")
    left = (
        read(fleet, "visits")
        .group_by("call_id")
        .agg(pl.col("left_at").str.to_datetime("%Y-%m-%d %H:%M").max())
    )
    waits = calls.join(left, on="call_id").with_columns(
        days=(pl.col("closed_at") - pl.col("left_at")).dt.total_minutes() / 1440
    )
    median = dict(waits.group_by("depot").agg(pl.col("days").median()).iter_rows())
    assert median["Ostervale"] < 0.1
    assert median["Tindlebrook"] > 2


def test_one_depot_marks_no_callbacks_and_the_others_miss_some(fleet: Path):
    both = repairs(fleet).join(read(fleet, "calls").select("call_id", "callback_flag"), on="call_id")
    assert (
        both.filter(pl.col("depot") == "Quenford")["callback_flag"].null_count()
        == (both["depot"] == "Quenford").sum()
    )
    returns = both.filter(
        pl.col("failed_visits_before") > 0, ~pl.col("return_trip"), pl.col("depot") != "Quenford"
    )
    assert 0.5 < (returns["callback_flag"] == "yes").mean() < 0.95
