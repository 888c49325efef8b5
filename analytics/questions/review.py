"""What to look at this week: returns, third trips, open calls, repairs without proof, groups."""

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from datetime import date, datetime, time, timedelta
from typing import Any

import duckdb
import polars as pl

from analytics import queries
from analytics.hand_sorting import hand_sorting
from analytics.questions.selecting import Selection

MOST_LISTED = 100_000
"""Rows of a list at most: a guard for memory, beyond what any fleet has open."""

WAITS_FOR = ("part_on_order", "no_access", "estimate", "referred_on", "not_visited", "not_said")
AGE_BANDS_DAYS = (3, 8, 15, 31)
"""First day of each band of ages of open calls after the youngest (our convention): 0-2, 3-7, 8-14, ..."""


@dataclass(frozen=True)
class Review:
    """What to look at, as of one moment.

    Parameters
    ----------
    until : datetime or None
        Until when the records reach, or the end of the day looked at; None where there are none.
    last_day : date or None
        The last weekday with records.
    since : datetime or None
        The morning of the weekday with records before that: "the last working day" of whoever looks on the
        morning after.
    proof_from, proof_to : date or None
        First and last day of closing of the repairs that are looked through for a proof.
    repairs : int
        How many repairs were closed on those days.
    has_checks : bool
        Whether any check was loaded.
    lists : dict of str to pl.DataFrame
        By kind: return, third_trip, open_call, no_proof, group; each with a column key, and after
        `Fleet.this_week` with reviewed_at (UTC, null while open), note and reviewed_by; returns also with
        sorted (code), remark and remark_by.
    problem : str
        Why the decisions could not be read; "" where they could.
    """

    until: datetime | None
    last_day: date | None
    since: datetime | None
    proof_from: date | None
    proof_to: date | None
    repairs: int = 0
    has_checks: bool = False
    lists: dict[str, pl.DataFrame] = field(default_factory=dict)
    problem: str = ""

    def to_dict(self) -> dict[str, Any]:
        """Return plain values for JSON."""
        return {
            "since": self.since,
            "until": self.until,
            "proof_from": self.proof_from,
            "proof_to": self.proof_to,
            "repairs": self.repairs,
            "problem": self.problem,
            **{PLURALS[kind]: rows.to_dicts() for kind, rows in self.lists.items()},
        }


PLURALS = {
    "return": "returns",
    "third_trip": "third_trips",
    "open_call": "open_calls",
    "no_proof": "no_proof",
    "group": "groups",
}


def review(cursor: duckdb.DuckDBPyConnection, chosen: Selection) -> Review:
    """Make the lists that do not depend on window and match, of all depots; see `narrowed`.

    Returns
    -------
    Review
        With the lists third_trip, open_call and no_proof, and in their midst repairs: columns depot, repairs.
    """
    reach = queries.frame(cursor, "review/until", chosen.values).row(0, named=True)
    until = reach["until"]
    if until is None:
        return Review(None, None, None, None, None)
    last_day, since = working_days(reach["weekdays"] or [], until.date())
    proof_from, proof_to = proof_days(since, until.date())
    bound = chosen.values | {
        "since": datetime.combine(since, time.min),
        "until": until,
        "most": MOST_LISTED,
        "proof_checks": list(hand_sorting().proof_checks),
        "closed_from": datetime.combine(proof_from, time.min),
        "closed_before": datetime.combine(proof_to + timedelta(days=1), time.min),
    }
    lists = {
        "third_trip": queries.frame(cursor, "review/third_trips", bound),
        "open_call": queries.frame(cursor, "review/open_calls", bound),
        "no_proof": queries.frame(cursor, "review/no_proof", bound),
        "repairs": queries.frame(cursor, "review/repairs_since", bound),
    }
    has_checks = bool(queries.frame(cursor, "review/has_checks").item())
    return Review(until, last_day, bound["since"], proof_from, proof_to, 0, has_checks, lists)


def returns_since(cursor: duckdb.DuckDBPyConnection, chosen: Selection, found: Review) -> pl.DataFrame:
    """Make the list of returns, which depends on window and match, of all depots."""
    values = chosen.values | {"since": found.since, "until": found.until, "most": MOST_LISTED}
    returns = queries.frame(cursor, "review/returns", values)
    values |= {"call_ids": returns["call_id"].unique().to_list()}
    taken = queries.frame(cursor, "review/readings", values)
    return returns.join(taken, on="call_id", how="left", maintain_order="left")


def narrowed(found: Review, returns: pl.DataFrame, groups: pl.DataFrame, depots: Sequence[str]) -> Review:
    """Put the lists together, for some depots or, where none is named, all.

    Parameters
    ----------
    found : Review
        As from `review`.
    returns : pl.DataFrame
        As from `returns_since`.
    groups : pl.DataFrame
        As from `Fleet.worth_a_look`; depots do not narrow it.
    depots : sequence of str
        "" stands for a blank.
    """
    of_depots = pl.col("depot").fill_null("").is_in(list(depots)) if depots else pl.lit(True)
    lists = {kind: rows.filter(of_depots) for kind, rows in ({"return": returns} | dict(found.lists)).items()}
    repairs = int(lists.pop("repairs")["repairs"].sum())
    lists["group"] = groups
    return replace(found, repairs=repairs, lists={kind: _keyed(kind, rows) for kind, rows in lists.items()})


def working_days(weekdays: Sequence[date], until: date) -> tuple[date, date]:
    """Return the last weekday with records, and the one before it.

    Examples
    --------
    Records that end on Friday evening are looked at on Monday: from Thursday on. On Monday morning, with
    the first calls of the day in: from Friday on.

    >>> working_days([date(2026, 6, 26), date(2026, 6, 25)], date(2026, 6, 26))[1].isoformat()
    '2026-06-25'
    >>> working_days([date(2026, 6, 29), date(2026, 6, 26)], date(2026, 6, 29))[1].isoformat()
    '2026-06-26'
    """
    last = weekdays[0] if weekdays else until
    return last, weekdays[1] if len(weekdays) > 1 else last - timedelta(days=1)


def proof_days(since: date, until: date) -> tuple[date, date]:
    """Return the first and last day of closing of repairs one or two days old; over a weekend, since `since`.

    Examples
    --------
    >>> [day.isoformat() for day in proof_days(date(2026, 6, 24), date(2026, 6, 25))]
    ['2026-06-23', '2026-06-24']
    >>> [day.isoformat() for day in proof_days(date(2026, 6, 26), date(2026, 6, 29))]
    ['2026-06-26', '2026-06-28']
    """
    return min(since, until - timedelta(days=2)), until - timedelta(days=1)


def _keyed(kind: str, rows: pl.DataFrame) -> pl.DataFrame:
    """Add what a decision on a row is kept under; a mark on a group is of the week in which its calls end."""
    if kind == "group":
        week = pl.col("until").dt.strftime("%G-W%V")
        return rows.with_columns(key=pl.concat_str("by", pl.col("group").fill_null(""), week, separator=":"))
    return rows.with_columns(key=pl.col("return_call_id" if kind == "return" else "call_id"))


def open_by_age(calls: pl.DataFrame) -> pl.DataFrame:
    """Count open calls by what they wait for and by age.

    Parameters
    ----------
    calls : pl.DataFrame
        Columns waits_for and age_days.

    Returns
    -------
    pl.DataFrame
        Columns waits_for (in the order of `WAITS_FOR`), calls, and one column of counts a band of days:
        "0", "3", "8", "15", "31", named after its first day.
    """
    counts = calls.group_by("waits_for").agg(
        pl.len().alias("calls"), *(inside.sum().alias(band) for band, inside in _bands().items())
    )
    order = pl.DataFrame({"waits_for": WAITS_FOR, "at": range(len(WAITS_FOR))})
    return counts.join(order, on="waits_for").sort("at").drop("at")


def open_of(calls: pl.DataFrame, waits_for: str, band: str) -> pl.DataFrame:
    """Return the open calls behind a number of `open_by_age`; an unknown or empty name leaves none out."""
    if waits_for in WAITS_FOR:
        calls = calls.filter(waits_for=waits_for)
    return calls.filter(_bands()[band]) if band in _bands() else calls


def _bands() -> dict[str, pl.Expr]:
    """Return what lies in each band of days, named after its first day."""
    firsts = (0, *AGE_BANDS_DAYS)
    lasts = (*(first - 1 for first in AGE_BANDS_DAYS), 1_000_000)
    bands = zip(firsts, lasts, strict=True)
    return {str(first): pl.col("age_days").is_between(first, last) for first, last in bands}
