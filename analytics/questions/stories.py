"""The story of one call and of one unit."""

from typing import Any

import duckdb
import polars as pl

from analytics import queries
from analytics.errors import UnknownRecord
from analytics.filters import WINDOWS_DAYS
from analytics.questions.answers import CallStory, UnitStory
from analytics.questions.labelling import labels
from analytics.questions.timeline import Happenings, timeline

ANSWER_WORDS = {
    "complaint": "Complaint",
    "problem_duration": "How long it has been going on",
    "what_changed": "What changed before it began",
    "already_tried": "Already tried",
    "mould_state": "What is in the mould",
    "dispenser_flow": "Flow at the dispenser",
    "fill_tube_ice": "Ice in the fill tube",
    "switch_on": "Switch",
    "freezer_temperature": "Freezer temperature",
    "filter_last_changed": "Filter last changed",
    "filter_kind": "Kind of filter",
    "unit_age": "Age of the unit",
    "supply_type": "Water supply",
    "shutoff_valve": "Shutoff valve",
    "where_it_stands": "Where it stands",
}


def call(cursor: duckdb.DuckDBPyConnection, call_id: str) -> CallStory:
    """Answer `Fleet.call`."""
    found = queries.frame(cursor, "stories/unit_of_call", {"call_id": call_id})
    if found.is_empty():
        raise UnknownRecord(f"There is no call '{call_id}' in the data as loaded.")
    unit_id, unit_hash = found.row(0)
    happenings = happenings_of(cursor, unit_id, unit_hash, [call_id])
    calls = happenings.calls.drop("what", "cause_label", "outcome_label")
    this = calls.filter(pl.col("call_id") == call_id)
    facts = this.row(0, named=True)
    opened = (pl.col("opened_at") < facts["opened_at"]) | (
        (pl.col("opened_at") == facts["opened_at"]) & (pl.col("call_id") < call_id)
    )
    others = calls.filter(pl.col("call_id") != call_id)
    pairs = queries.frame(cursor, "stories/returns_of_call", {"call_id": call_id}).with_columns(
        windows_days=_windows("window_bits")
    )
    episodes = queries.frame(cursor, "stories/episodes_of_unit", {"call_ids": calls["call_id"].to_list()})
    own = episodes.filter(pl.col("episode_id").eq_missing(facts["episode_id"]))
    return CallStory(
        call_id=call_id,
        unit_id=unit_id,
        facts=facts,
        said=said_on(cursor, call_id),
        timeline=timeline(happenings),
        visits=happenings.visits,
        checks=happenings.checks,
        parts=happenings.parts,
        follow_ups=happenings.follow_ups,
        earlier=others.filter(opened),
        later=others.filter(~opened),
        came_back_as=pairs.filter(pl.col("charged_call_id") == call_id).drop(
            "charged_call_id", "window_bits"
        ),
        returns_for=pairs.filter(pl.col("return_call_id") == call_id).drop("return_call_id", "window_bits"),
        episode=own.row(0, named=True) if own.height else None,
    )


def unit(cursor: duckdb.DuckDBPyConnection, unit_id: str) -> UnitStory:
    """Answer `Fleet.unit`."""
    found = queries.frame(cursor, "stories/hash_of_unit", {"unit_id": unit_id})
    happenings = happenings_of(cursor, unit_id, found.item() if found.height else None, None)
    if happenings.calls.is_empty() and not happenings.unit:
        raise UnknownRecord(f"There is no unit '{unit_id}' in the data as loaded.")
    changes = pl.concat(
        [
            happenings.filter_changes.select("changed_on", pl.lit("filter change").alias("from")),
            happenings.parts.filter("is_filter").select(
                pl.col("at").cast(pl.Date).alias("changed_on"), pl.lit("part fitted").alias("from")
            ),
        ]
    )
    return UnitStory(
        unit_id=unit_id,
        facts=happenings.unit or {"unit_id": unit_id},
        timeline=timeline(happenings),
        calls=happenings.calls.drop("what", "cause_label", "outcome_label"),
        filter_changes=changes.drop_nulls("changed_on").sort("changed_on"),
        episodes=queries.frame(
            cursor, "stories/episodes_of_unit", {"call_ids": happenings.calls["call_id"].to_list()}
        ),
    )


def happenings_of(
    cursor: duckdb.DuckDBPyConnection, unit_id: str, unit_hash: int | None, told: list[str] | None
) -> Happenings:
    """Read all that happened on the calls in `told` (None: on all), and when the others were opened."""
    calls = queries.frame(cursor, "stories/calls_of_unit", {"unit_id": unit_id, "unit_hash": unit_hash})
    told = calls["call_id"].to_list() if told is None else told
    ids = {"call_ids": told}
    units = queries.frame(cursor, "stories/unit", {"unit_id": unit_id})
    symptoms, causes, outcomes, results = (
        labels(cursor, field) for field in ("symptoms", "causes", "outcomes", "visit_results")
    )
    return Happenings(
        calls=calls.with_columns(
            pl.col("symptoms")
            .list.eval(pl.element().replace(symptoms))
            .list.join(", ")
            .replace("", "complaint not recognised")
            .alias("what"),
            pl.col("cause").replace(causes).alias("cause_label"),
            pl.col("outcome").replace(outcomes).fill_null("outcome not recorded").alias("outcome_label"),
        ),
        told=told,
        visits=queries.frame(cursor, "stories/visits", ids).with_columns(
            pl.col("result").replace(results).fill_null("result not recorded").alias("result_label")
        ),
        checks=_with_reading(queries.frame(cursor, "stories/checks", ids)),
        parts=queries.frame(cursor, "stories/parts", ids).with_columns(
            pl.when(pl.col("quantity") != 1).then(pl.format("{} fitted", "quantity")).alias("how_many")
        ),
        follow_ups=queries.frame(cursor, "stories/follow_ups", ids),
        filter_changes=queries.frame(cursor, "stories/filter_changes", {"unit_id": unit_id}),
        unit=units.row(0, named=True) if units.height else {},
    )


def _with_reading(checks: pl.DataFrame) -> pl.DataFrame:
    """Add the reading with its unit, and the finding, as one text."""
    written = pl.coalesce("reading_text", pl.col("reading").cast(pl.String))
    unit = pl.when(~written.str.contains("[A-Za-z°]")).then(pl.col("reading_unit"))
    reading = pl.concat_str([written, unit], separator=" ", ignore_nulls=True).replace("", None)
    both = pl.concat_str(
        [reading, pl.col("state"), pl.col("finding_label")], separator=", ", ignore_nulls=True
    )
    return checks.with_columns(both.replace("", None).alias("reading_and_finding"))


def said_on(cursor: duckdb.DuckDBPyConnection, call_id: str) -> pl.DataFrame:
    """Return what the customer told us on one call: answer, label, written, code, code_label."""
    said = queries.frame(cursor, "stories/said", {"call_id": call_id})
    order: dict[str, Any] = {answer: rank for rank, answer in enumerate(ANSWER_WORDS)}
    return said.sort(pl.col("answer").replace_strict(order, return_dtype=pl.Int32)).select(
        "answer",
        pl.col("answer").replace_strict(ANSWER_WORDS, return_dtype=pl.String).alias("label"),
        "written",
        "code",
        "code_label",
    )


def _windows(bits: str) -> pl.Expr:
    """List the windows in which a return is counted against the call."""
    each = [
        pl.when(pl.col(bits).cast(pl.Int32) & (1 << place) != 0).then(pl.lit(days))
        for place, days in enumerate(WINDOWS_DAYS)
    ]
    return pl.concat_list(each).list.drop_nulls()
