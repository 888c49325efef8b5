"""What to teach next: causes by whether a lesson can help, and the lessons by hours saved per hour taught."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from typing import Any

import numpy as np
import polars as pl

from analytics.questions.skill import Each, Skill, Trouble
from analytics.questions.teaching_people import LIKELY, Standing, hours_each
from analytics.statistics.intervals import wilson
from analytics.statistics.many import false_discovery
from analytics.teaching_assumptions import TeachingAssumptions, TeachingRules

VERDICTS = {
    "teach": "teach",
    "look": "not a teaching matter: look at the part or the information",
    "little": "little to gain from a lesson",
    "few": "too few calls to tell",
}
WORDS = {"thought": "taken for something else at first", "held": "repair came back"}
_SHARES = ("rate", "low", "high", "spread", "spread_low", "spread_high", "p", "p_adjusted")
_GAINS = (
    "usual",
    "best",
    "share",
    "share_low",
    "share_high",
    "avoided",
    "avoided_low",
    "avoided_high",
    "hours",
    "hours_low",
    "hours_high",
)
CAUSES_SCHEMA = {
    "what": pl.String,
    "cause": pl.String,
    "label": pl.String,
    "calls": pl.Int64,
    "happened": pl.Int64,
    "deeper": pl.Int64,
    "technicians": pl.Int64,
    **dict.fromkeys((*_SHARES, *_GAINS, "hours_lost"), pl.Float64),
    "verdict": pl.String,
}
PLAN_SCHEMA = {
    "what": pl.String,
    "cause": pl.String,
    "label": pl.String,
    **dict.fromkeys(
        ("saved", "saved_low", "saved_high", "per_hour", "low", "high", "per_hour_of_all"), pl.Float64
    ),
    "technicians": pl.Int64,
    "below": pl.Int64,
    "above": pl.Int64,
    "share_of_below": pl.Float64,
}


@dataclass(frozen=True)
class Teaching:
    """What to teach next.

    Parameters
    ----------
    since, until : datetime or None
        First and last closing of the strings of returns looked at.
    years : float
    causes : DataFrame
        One row a cause and what went wrong with it (`thought`: taken for something else at first; `held`: the
        repair came back), most hours to be gained first. happened of calls (rate, its interval low, high);
        deeper: found behind what was first thought of, not counted as wrong; technicians with such a call;
        spread between them (a logit) with its limits, p and p_adjusted of none; usual and best: share over
        the fitted distribution of skill and in its best quarter; avoided and hours: cases and hours a year if
        everybody did as well as that quarter, and
        share of the trouble, with their limits; hours_lost: what the trouble costs a year;
        verdict: a key of `VERDICTS`. Null where calls are too few.
    plan : DataFrame
        The lessons, most hours saved per hour taught first: saved (hours a year) and per_hour, with their
        limits, and per_hour_of_all, which counts the hours of those who attend too; technicians at work who
        had such a call, of them those likely below and above average, and share_of_below: of what these
        technicians have to gain, the share that lies with those below.
    each : Each or None
        Returns that a wrong diagnosis brings.
    strings, not_known, nobody : int
        As in `Skill`.
    at_work : int
        Technicians with a diagnosis or repair in the last year.
    assumed, rules
    """

    since: datetime | None
    until: datetime | None
    years: float
    causes: pl.DataFrame
    plan: pl.DataFrame
    each: Each | None
    strings: int
    not_known: int
    nobody: int
    at_work: int
    assumed: TeachingAssumptions
    rules: TeachingRules

    @property
    def attend(self) -> float:
        """Technicians who attend a lesson."""
        return min(self.assumed.class_size, self.at_work)

    @property
    def reached(self) -> float:
        """Share of the technicians at work who attend a lesson."""
        return self.attend / self.at_work if self.at_work else 0.0

    def to_dict(self) -> dict[str, Any]:
        """Return plain values for JSON."""
        return vars(self) | {
            "causes": self.causes.to_dicts(),
            "plan": self.plan.to_dicts(),
            "each": vars(self.each) if self.each else None,
            "attend": self.attend,
            "reached": self.reached,
            "assumed": self.assumed.values(),
            "rules": self.rules.values(),
        }


def teaching(
    found: Skill,
    stands: Callable[[Trouble], Standing],
    labels: dict[str, str],
    assumed: TeachingAssumptions,
    rules: TeachingRules,
) -> Teaching:
    """Sort the causes, and rank the lessons.

    Parameters
    ----------
    found : Skill
    stands : callable
        `standing`, or a way to it that keeps answers.
    labels : dict of str to str
        Words for causes.
    assumed, rules
    """
    tested = [one for one in found.troubles if one.spread]
    adjusted = false_discovery([one.spread.p for one in tested if one.spread])
    at = {(one.what, one.cause): float(p) for one, p in zip(tested, adjusted, strict=True)}
    rows = [
        _cause(one, at.get((one.what, one.cause)), found, labels, assumed, rules) for one in found.troubles
    ]
    causes = pl.DataFrame(rows, schema=CAUSES_SCHEMA).sort(
        [pl.col("hours").fill_null(-1.0), "calls", "what", "cause"], descending=[True, True, False, False]
    )
    lessons = causes.filter(pl.col("verdict") == "teach")
    by_key = {(one.what, one.cause): one for one in found.troubles}
    answer = Teaching(
        found.since, found.until, found.years, causes, pl.DataFrame(schema=PLAN_SCHEMA), found.each,
        found.strings, found.not_known, found.nobody, len(found.at_work), assumed, rules,
    )  # fmt: skip
    plan = [
        _lesson(row, by_key[row["what"], row["cause"]], stands, answer, found.at_work)
        for row in lessons.iter_rows(named=True)
    ]
    ranked = pl.DataFrame(plan, schema=PLAN_SCHEMA).sort(
        ["per_hour", "what", "cause"], descending=[True, False, False]
    )
    return Teaching(**(vars(answer) | {"plan": ranked}))


def _cause(
    one: Trouble,
    adjusted: float | None,
    found: Skill,
    labels: dict[str, str],
    assumed: TeachingAssumptions,
    rules: TeachingRules,
) -> dict[str, Any]:
    low, high = wilson([one.happened], [one.calls])
    hours = hours_each(one.what, found.each, assumed)
    row: dict[str, Any] = dict.fromkeys(CAUSES_SCHEMA)
    row |= {
        "what": one.what, "cause": one.cause, "label": labels.get(one.cause, one.cause), "calls": one.calls,
        "happened": one.happened, "deeper": one.deeper, "technicians": len(one.technicians),
        "rate": one.happened / one.calls, "low": float(low[0]), "high": float(high[0]),
        "hours_lost": one.happened / found.years * hours, "verdict": "few",
    }  # fmt: skip
    if one.spread is None or adjusted is None:
        return row
    a_year = one.calls / found.years
    gains = [max(usual - best, 0.0) * a_year for usual, best in one.shares]
    shares = [max(1 - best / usual, 0.0) for usual, best in one.shares]
    row |= {
        "spread": one.spread.estimate, "spread_low": one.spread.low, "spread_high": one.spread.high,
        "p": one.spread.p, "p_adjusted": adjusted, "usual": one.shares[1][0], "best": one.shares[1][1],
        "share": shares[1], "share_low": shares[0], "share_high": shares[2],
        "avoided": gains[1], "avoided_low": gains[0], "avoided_high": gains[2],
        "hours": gains[1] * hours, "hours_low": gains[0] * hours, "hours_high": gains[2] * hours,
    }  # fmt: skip
    return row | {"verdict": verdict(row, rules)}


def verdict(row: dict[str, Any], rules: TeachingRules) -> str:
    """Say whether a lesson can help, by the rules; a key of `VERDICTS`."""
    there = row["p_adjusted"] < rules.false_share / 100 and row["spread_low"] > 0
    if there and row["hours"] >= rules.least_hours:
        return "teach"
    if row["spread_high"] < rules.small_spread and row["hours_lost"] >= rules.common_hours:
        return "look"
    return "little" if row["hours_high"] < rules.least_hours else "few"


def _lesson(
    row: dict[str, Any],
    one: Trouble,
    stands: Callable[[Trouble], Standing],
    answer: Teaching,
    at_work: frozenset[str],
) -> dict[str, Any]:
    assumed = answer.assumed
    brings = answer.reached * assumed.gap_closed / 100
    taught = assumed.lesson_minutes / 60
    stand = stands(one)
    working = np.isin(one.technicians, list(at_work))
    below = working & (stand.chance_below >= LIKELY)
    to_gain = stand.to_gain * one.counts.of_groups * working
    saved = {f"saved{end}": row[f"hours{end}"] * brings for end in ("", "_low", "_high")}
    return {
        "what": one.what,
        "cause": one.cause,
        "label": row["label"],
        **saved,
        "per_hour": saved["saved"] / taught,
        "low": saved["saved_low"] / taught,
        "high": saved["saved_high"] / taught,
        "per_hour_of_all": saved["saved"] / (taught * (1 + answer.attend)),
        "technicians": int(working.sum()),
        "below": int(below.sum()),
        "above": int((working & (stand.chance_below <= 1 - LIKELY)).sum()),
        "share_of_below": float(to_gain[below].sum() / to_gain.sum()) if to_gain.sum() else None,
    }
