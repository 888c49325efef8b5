"""Which real cases teach a cause: picked by stated rules, spread over units and technicians."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

import polars as pl

from analytics.lesson_case_rules import CaseRules

ANSWERS = (
    "complaint",
    "problem_duration",
    "what_changed",
    "already_tried",
    "mould_state",
    "dispenser_flow",
    "fill_tube_ice",
    "switch_on",
    "freezer_temperature",
    "filter_age_band",
    "supply_type",
    "shutoff_valve",
    "where_it_stands",
)
NOT_KNOWN = ("dont_know", "unknown")
LEAST_FAMILY_SHARE = 0.1
"""Kinds of complaint that fewer strings of the cause have are not taken for its own."""


@dataclass(frozen=True)
class Sign:
    """An answer that points to the cause.

    Parameters
    ----------
    answer, code : str
        The question, and what was answered.
    strings, of : int
        Strings of the cause with this answer, of those with any.
    others, of_others : int
        The same of other causes with the same kind of complaint.
    ratio : float
        How many times as often it is given; half a string added to each count.
    """

    answer: str
    code: str
    strings: int
    of: int
    others: int
    of_others: int
    ratio: float


@dataclass(frozen=True)
class Pick:
    """One case.

    Parameters
    ----------
    kind : str
        typical, missed or look_alike.
    episode_id, unit_hash : str, int
        The string of returns, and the hash of its unit.
    first_thought, final_cause : str
        Codes of causes.
    held : bool
        Nothing came back after its last call.
    sign : Sign or None
        Of its answers the one that points most to the cause of the lesson.
    """

    kind: str
    episode_id: str
    unit_hash: int
    first_thought: str
    final_cause: str
    held: bool
    sign: Sign | None


@dataclass(frozen=True)
class Picks:
    """The cases of a lesson.

    Parameters
    ----------
    picks : list of Pick
        In the order of teaching.
    strings : int
        Strings of the cause that were looked through.
    signs : list of Sign
        Answers that point to the cause, strongest first.
    """

    picks: list[Pick]
    strings: int
    signs: list[Sign]


def picks(strings: pl.DataFrame, cause: str, rules: CaseRules) -> Picks:
    """Pick the cases.

    Parameters
    ----------
    strings : pl.DataFrame
        As from lessons/strings.
    cause : str
    rules : CaseRules
    """
    own = strings.filter(final_cause=cause)
    if own.is_empty():
        return Picks([], 0, [])
    shares = _shares(own, strings.filter(pl.col("final_cause") != cause, _of_families(own)))
    given = _given(strings.filter(_of_families(own))).join(shares, on=("answer", "code"))
    is_sign = (
        (pl.col("ratio") >= rules.sign_ratio)
        & (pl.col("strings") >= rules.sign_strings)
        & (pl.col("strings") >= rules.sign_share * pl.col("of"))
    )
    scored = given.group_by("episode_id").agg(
        pl.len().alias("answers"),
        (pl.col("strings") / pl.col("of")).mean().alias("usual"),
        pl.col("ratio").log().sum().alias("alike"),
        pl.col("ratio").filter(is_sign).max().alias("sign"),
    )
    table = strings.join(scored, on="episode_id").filter(pl.col("answers") >= rules.answers)
    signs = _signs(shares.filter(is_sign))
    marks = {(each.answer, each.code): each for each in signs}
    taken: list[dict[str, Any]] = []
    for kind, chosen in _of_kinds(table, cause).items():
        taken += _spread(chosen, kind, taken, rules)
    return Picks([_pick(row, marks) for row in taken], own.height, signs)


def _of_kinds(table: pl.DataFrame, cause: str) -> dict[str, pl.DataFrame]:
    """Return the strings that a kind of case can be taken from, the best first."""
    shown = pl.col("found_by_check")
    order: dict[str, Any] = {"descending": [True, True, False], "maintain_order": True}
    missed = pl.col("standing").is_in(["different", "none_found"]) & pl.col("sign").is_not_null()
    other = (pl.col("final_cause") != cause) & pl.col("standing").is_in(["right", "different"])
    taken_for_it = pl.col("first_thought") == cause
    return {
        "typical": table.filter(pl.col("final_cause") == cause, shown, "held", standing="right").sort(
            "usual", "answers", "episode_id", **order
        ),
        "missed": table.filter(pl.col("final_cause") == cause, missed).sort(
            shown, "sign", "episode_id", **order
        ),
        "look_alike": table.filter(other, shown, "held").sort(taken_for_it, "alike", "episode_id", **order),
    }


def _spread(
    rows: pl.DataFrame, kind: str, before: list[dict[str, Any]], rules: CaseRules
) -> list[dict[str, Any]]:
    """Take the best, one a unit; of one technician no more than the rules say while others are left."""
    wanted, taken = rules.kinds[kind].cases, [*before]
    for most in (rules.of_one_technician, rows.height):
        for row in rows.iter_rows(named=True):
            if len(taken) - len(before) == wanted:
                break
            if row["unit_hash"] in {each["unit_hash"] for each in taken}:
                continue
            if sum(each["technician"] == row["technician"] for each in taken) < most:
                taken.append(row | {"kind": kind})
    return taken[len(before) :]


def _pick(row: dict[str, Any], signs: dict[tuple[str, str], Sign]) -> Pick:
    own = [signs[answer, row[answer]] for answer in ANSWERS if (answer, row[answer]) in signs]
    strongest = max(own, key=lambda each: (each.ratio, each.answer), default=None)
    return Pick(
        row["kind"],
        row["episode_id"],
        row["unit_hash"],
        row["first_thought"],
        row["final_cause"],
        row["held"],
        strongest,
    )


def _of_families(own: pl.DataFrame) -> pl.Expr:
    """Say of strings whether their kind of complaint is one that the cause usually has."""
    counts = own.select(pl.col("families").explode().alias("family")).drop_nulls()
    usual = counts.group_by("family").len().filter(pl.col("len") >= LEAST_FAMILY_SHARE * own.height)
    return pl.col("families").list.set_intersection(usual["family"].to_list()).list.len() > 0


def _given(strings: pl.DataFrame) -> pl.DataFrame:
    """Return one row an answer that was given: episode_id, answer, code."""
    return strings.unpivot(on=ANSWERS, index="episode_id", variable_name="answer", value_name="code").filter(
        pl.col("code").is_not_null(), ~pl.col("code").is_in(NOT_KNOWN)
    )


def _shares(own: pl.DataFrame, others: pl.DataFrame) -> pl.DataFrame:
    """Return how often each answer is given: answer, code, strings, of, others, of_others, ratio."""
    counted = _counted(own, "strings", "of")
    beside = _counted(others, "others", "of_others")
    totals = beside.group_by("answer").agg(pl.col("of_others").first())
    joined = (
        counted.join(beside.drop("of_others"), on=("answer", "code"), how="full", coalesce=True)
        .join(counted.group_by("answer").agg(pl.col("of").first().alias("total")), on="answer", how="left")
        .join(totals, on="answer", how="left")
        .with_columns(pl.col("strings", "others", "of_others", "total").fill_null(0))
        .with_columns(of=pl.col("total"))
        .filter(pl.col("of") > 0)
    )
    share = (pl.col("strings") + 0.5) / (pl.col("of") + 1)
    beside_share = (pl.col("others") + 0.5) / (pl.col("of_others") + 1)
    return joined.select("answer", "code", "strings", "of", "others", "of_others", ratio=share / beside_share)


def _counted(strings: pl.DataFrame, count: str, of: str) -> pl.DataFrame:
    return (
        _given(strings)
        .group_by("answer", "code")
        .agg(pl.len().cast(pl.Int64).alias(count))
        .with_columns(pl.col(count).sum().over("answer").alias(of))
    )


def _signs(rows: pl.DataFrame) -> list[Sign]:
    ordered: Iterable[dict[str, Any]] = rows.sort(
        ["ratio", "answer", "code"], descending=[True, False, False]
    ).iter_rows(named=True)
    return [Sign(**row) for row in ordered]
