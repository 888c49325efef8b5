"""What happened to a unit, in order of time: one line for each thing recorded."""

from dataclasses import dataclass
from typing import Any

import polars as pl

_TIMELINE: dict[str, pl.DataType] = {
    "at": pl.Datetime("us"),
    "has_time": pl.Boolean(),
    "kind": pl.String(),
    "what": pl.String(),
    "detail": pl.String(),
    "technician": pl.String(),
    "call_id": pl.String(),
}
_ORDER = ("installed", "earlier_call", "opened", "visit", "check", "part", "filter_change", "closed")
"""Of things at one time, those named come in this order and the others after them."""


@dataclass(frozen=True)
class Happenings:
    """Frames that a timeline is made of; visits, checks, parts and follow-ups are of the calls told in full.

    Parameters
    ----------
    calls : pl.DataFrame
        All calls of the unit, with `what`, `outcome_label` and `cause_label` in words.
    told : list of str
        Ids of the calls told in full; of the others only the opening is shown.
    visits, checks, parts, follow_ups, filter_changes : pl.DataFrame
        As read by the statements of sql/stories; `result_label` in words on visits.
    unit : dict
        installed_on and retired_on, where known.
    """

    calls: pl.DataFrame
    told: list[str]
    visits: pl.DataFrame
    checks: pl.DataFrame
    parts: pl.DataFrame
    follow_ups: pl.DataFrame
    filter_changes: pl.DataFrame
    unit: dict[str, Any]


def timeline(happenings: Happenings) -> pl.DataFrame:
    """Return the timeline; columns at, has_time, kind, what, detail, technician, call_id."""
    h = happenings
    told = h.calls.filter(pl.col("call_id").is_in(h.told))
    others = h.calls.filter(~pl.col("call_id").is_in(h.told))
    first = told["opened_at"].min()
    lines = [
        _lines(told, "opened", at="opened_at", has_time="opened_has_time", what="what", call_id="call_id"),
        _lines(
            told.filter(pl.col("closed_at").is_not_null()),
            "closed",
            at="closed_at",
            has_time="closed_has_time",
            what="outcome_label",
            detail="cause_label",
            technician="technician",
            call_id="call_id",
        ),
        _lines(
            others,
            pl.when(pl.col("opened_at") < first).then(pl.lit("earlier_call")).otherwise(pl.lit("return")),
            at="opened_at",
            has_time="opened_has_time",
            what="what",
            detail="cause_label",
            technician="technician",
            call_id="call_id",
        ),
        _lines(
            h.visits,
            "visit",
            at="arrived_at",
            has_time="arrived_has_time",
            what="result_label",
            detail="helpers",
            technician="technician",
            call_id="call_id",
        ),
        _lines(
            _dated(h.checks, told), "check", what="check_label", detail="reading_and_finding", **_OF_VISIT
        ),
        _lines(_dated(h.parts, told), "part", what="part_label", detail="how_many", **_OF_VISIT),
        _days(
            h.follow_ups, "follow_up", "asked_on", what="answer_label", detail="asked_by", call_id="call_id"
        ),
        _days(h.filter_changes, "filter_change", "changed_on"),
        _days(pl.DataFrame({"day": [h.unit.get("installed_on")]}), "installed", "day"),
        _days(pl.DataFrame({"day": [h.unit.get("retired_on")]}), "retired", "day"),
    ]
    rank = pl.col("kind").replace_strict(
        {kind: rank for rank, kind in enumerate(_ORDER)}, default=len(_ORDER), return_dtype=pl.Int32
    )
    return pl.concat(lines).filter(pl.col("at").is_not_null()).sort("at", rank, maintain_order=True)


_OF_VISIT = {"at": "at", "has_time": "has_time", "technician": "technician", "call_id": "call_id"}


def _lines(rows: pl.DataFrame, kind: str | pl.Expr, **columns: str) -> pl.DataFrame:
    """Take the named columns; those of a timeline that have no column here stay empty."""
    chosen = {"kind": pl.lit(kind) if isinstance(kind, str) else kind}
    for name, dtype in _TIMELINE.items():
        if name != "kind":
            chosen[name] = (pl.col(columns[name]) if name in columns else pl.lit(None)).cast(dtype)
    return rows.select(chosen[name].cast(dtype).alias(name) for name, dtype in _TIMELINE.items())


def _days(rows: pl.DataFrame, kind: str, day: str, **columns: str) -> pl.DataFrame:
    dated = rows.with_columns(
        pl.col(day).cast(pl.Datetime("us")).alias("at"), pl.lit(False).alias("has_time")
    )
    return _lines(dated, kind, at="at", has_time="has_time", **columns)


def _dated(rows: pl.DataFrame, calls: pl.DataFrame) -> pl.DataFrame:
    """Give rows without a visit the time of closing of their call, else of opening."""
    when = calls.select(
        "call_id",
        pl.coalesce("closed_at", "opened_at").alias("call_at"),
        pl.coalesce("closed_has_time", "opened_has_time").alias("call_has_time"),
    )
    return rows.join(when, on="call_id", how="left", maintain_order="left").with_columns(
        pl.coalesce("at", "call_at").alias("at"), pl.coalesce("has_time", "call_has_time").alias("has_time")
    )
