"""One real case as a talk of ten minutes: what was said, what was done step by step, and how it came out."""

from collections.abc import Mapping
from dataclasses import asdict, dataclass
from datetime import datetime
from typing import Any

import duckdb
import polars as pl

from analytics import queries
from analytics.catalogue import Catalogue
from analytics.intake.masking import mask
from analytics.questions.labelling import labels
from analytics.questions.lesson_picks import Pick, Sign
from analytics.questions.stories import ANSWER_WORDS, happenings_of, said_on
from analytics.questions.timeline import Happenings, timeline

AS_WRITTEN = ("complaint", "filter_last_changed", "problem_duration", "unit_age", "freezer_temperature")
"""Answers whose words say more than their code: a time, a temperature, the complaint itself."""
TOLD = ("visit", "check", "part", "closed")
BAND = "filter_age_band"


@dataclass(frozen=True)
class Step:
    """One thing done: kind (visit, check, part, closed), the day counted from the first, words of it."""

    kind: str
    day: int
    what: str
    detail: str


@dataclass(frozen=True)
class Trip:
    """One call of the string.

    Parameters
    ----------
    day : int
        Day of ringing; the first call's is 1.
    complaint : str
        Words of the complaint, coded.
    steps : list of Step
    thought : str
        The cause as recorded on this call, in words; "" where none was.
    """

    day: int
    complaint: str
    steps: list[Step]
    thought: str


@dataclass(frozen=True)
class Shown:
    """The check that showed the fault: its words, its reading, and what is healthy, with unit."""

    check: str
    reading: str
    limits: list[str]


@dataclass(frozen=True)
class Apart:
    """The check that tells the case's cause from another: share of findings, 0..1, under either; minutes."""

    other: str
    check: str
    minutes: float
    finds: float
    finds_other: float


@dataclass(frozen=True)
class Case:
    """A case to teach with. No technician and no customer is in it.

    Parameters
    ----------
    kind : str
        typical, missed or look_alike.
    episode_id : str
        The first call.
    product_family : str or None
    complaint : str
        As written, masked.
    said : list of (str, str)
        Question and answer.
    trips : list of Trip
    thought : str
        What was thought first, in words.
    cause : str
        What it turned out to be, in words.
    days : int
        From ringing to the last closing.
    held : bool
    sign : dict or None
        The answer that points most to the cause of the lesson: label, words, and the counts of `Sign`.
    shown, apart : Shown, Apart or None
    cautions : list of str
        Classes of the checks made.
    """

    kind: str
    episode_id: str
    product_family: str | None
    complaint: str
    said: list[tuple[str, str]]
    trips: list[Trip]
    thought: str
    cause: str
    days: int
    held: bool
    sign: dict[str, Any] | None
    shown: Shown | None
    apart: Apart | None
    cautions: list[str]

    def to_dict(self) -> dict[str, Any]:
        """Return plain values for JSON."""
        return asdict(self)


def case(cursor: duckdb.DuckDBPyConnection, pick: Pick, apart: Apart | None, catalogue: Catalogue) -> Case:
    """Tell one case.

    Parameters
    ----------
    cursor : duckdb.DuckDBPyConnection
    pick : Pick
    apart : Apart or None
        What tells its cause from the one it was, or could be, taken for.
    catalogue : Catalogue
        For the limits of readings.
    """
    calls = queries.frame(
        cursor, "lessons/calls_of_string", {"episode_id": pick.episode_id, "unit_hash": pick.unit_hash}
    )
    _, unit_id, unit_hash = calls.row(0)
    happened = happenings_of(cursor, unit_id, unit_hash, calls["call_id"].to_list())
    causes = labels(cursor, "causes")
    reveals = queries.frame(cursor, "metrics/reveals").filter(cause=pick.final_cause)
    said = said_on(cursor, pick.episode_id)
    told = happened.calls.filter(pl.col("call_id").is_in(happened.told)).sort("opened_at", "call_id")
    first = told["opened_at"][0]
    last = max((at for at in told["closed_at"] if at is not None), default=first)
    return Case(
        pick.kind,
        pick.episode_id,
        told["product_family"][0],
        _complaint(said),
        _answers(said),
        _trips(happened, told, first),
        causes.get(pick.first_thought, pick.first_thought),
        causes.get(pick.final_cause, pick.final_cause),
        _day(last, first),
        pick.held,
        sign_in_words(cursor, pick.sign),
        _shown(happened.checks, reveals, catalogue),
        apart,
        sorted({each for each in happened.checks["caution"].to_list() if each}),
    )


def sign_in_words(cursor: duckdb.DuckDBPyConnection, sign: Sign | None) -> dict[str, Any] | None:
    """Return a sign with its question and answer in words, as label and words."""
    if sign is None:
        return None
    label = "Filter age" if sign.answer == BAND else ANSWER_WORDS[sign.answer]
    known: Mapping[str, str] = (
        {sign.code: f"{sign.code} months"}
        if sign.answer == BAND and sign.code[:1].isdigit()
        else labels(cursor, "symptoms" if sign.answer == "complaint" else sign.answer)
    )
    words = known.get(sign.code, sign.code.replace("_", " "))
    return asdict(sign) | {"label": label, "words": words}


def _complaint(said: pl.DataFrame) -> str:
    written = said.filter(answer="complaint")["written"]
    return mask(written[0]) if len(written) else ""


def _answers(said: pl.DataFrame) -> list[tuple[str, str]]:
    rows = said.filter(pl.col("answer") != "complaint").iter_rows(named=True)
    return [
        (
            row["label"],
            row["code_label"]
            if row["code_label"] and row["answer"] not in AS_WRITTEN
            else mask(row["written"]),
        )
        for row in rows
    ]


def _trips(happened: Happenings, told: pl.DataFrame, first: datetime) -> list[Trip]:
    lines = timeline(happened).filter(pl.col("kind").is_in(TOLD))
    return [
        Trip(
            _day(row["opened_at"], first),
            row["what"],
            _steps(lines.filter(call_id=row["call_id"]), first),
            row["cause_label"] or "",
        )
        for row in told.iter_rows(named=True)
    ]


def _steps(lines: pl.DataFrame, first: datetime) -> list[Step]:
    """Return the steps of a call. How a visit ended is said only where nothing was done on its day."""
    done = set(lines.filter(pl.col("kind").is_in(["check", "part"]))["at"].dt.date())
    quiet = pl.when((pl.col("kind") == "visit") & pl.col("at").dt.date().is_in(list(done))).then(pl.lit(""))
    shown = lines.with_columns(quiet.otherwise(pl.col("what")).alias("what"))
    return [_step(line, first) for line in shown.iter_rows(named=True)]


def _step(line: dict[str, Any], first: datetime) -> Step:
    # of a visit the detail names helpers, of a closing the cause, which the class is still to find
    detail = "" if line["kind"] in ("visit", "closed") else mask(line["detail"] or "")
    return Step(line["kind"], _day(line["at"], first), line["what"] or "", detail)


def _day(at: datetime, first: datetime) -> int:
    return (at.date() - first.date()).days + 1


def _shown(checks: pl.DataFrame, reveals: pl.DataFrame, catalogue: Catalogue) -> Shown | None:
    """Return, of the checks that found a fault, the one that reveals the cause most often."""
    found = checks.filter(finding="fault").join(reveals, left_on="check", right_on="check_code")
    found = found.sort("share", descending=True, maintain_order=True)
    if found.is_empty():
        return None
    row = found.row(0, named=True)
    limits = [
        f"{each.label}: {healthy(each.low, each.high)} {each.unit}"
        for each in catalogue.limits.values()
        if each.check == row["check"] and each.state in (None, row["state"])
    ]
    return Shown(row["check_label"], mask(row["reading_and_finding"] or ""), limits)


def healthy(low: float | None, high: float | None) -> str:
    """Say between which values a reading is healthy.

    Examples
    --------
    >>> healthy(200, 500), healthy(None, -18), healthy(2, None)
    ('200 to 500', 'at most -18', 'at least 2')
    """
    if low is not None and high is not None:
        return f"{low:g} to {high:g}"
    return f"at most {high:g}" if high is not None else f"at least {low:g}" if low is not None else ""
