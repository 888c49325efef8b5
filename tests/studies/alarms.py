"""How often the list of groups worth a look is wrong, and how soon it is right.

Writes its results into docs/alarms_measured.md.

python -m tests.studies.alarms [--fleets 1000] [--poor 500] [--no-write]
"""

import argparse
import sys
import time
from collections.abc import Callable, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from functools import lru_cache, partial
from multiprocessing import get_context
from pathlib import Path
from typing import NamedTuple

import numpy as np
import polars as pl

from analytics.questions.comparison import beginning
from analytics.questions.expectations import Expectations, expectations
from analytics.questions.expected import Known
from analytics.questions.worth_a_look import SHARES, Counts, stands_out
from tests.benchmarks.machine import machine
from tests.studies.alike import BEGIN, HISTORY_DAYS, Plan, calls_of, ends_of_weeks, known_at

PAGE = Path(__file__).parents[2] / "docs" / "alarms_measured.md"
FALSE_WEEKS = 0.05
"""The one-sided 95% upper limit of the share of weeks with any group listed has to lie below this."""
FOUND = 0.90
WITHIN_CALLS = 200
POOR = Plan(weeks=156, base_rate=0.07, effects=0.2, unit_spread=0.6, poor=3.0, poor_calls_a_year=100)
ALIKE = Plan()

Rule = Callable[[Counts, float], np.ndarray]


class Tested(NamedTuple):
    """Groups of one field in one period: their codes and counts, and their share of the budget."""

    by: str
    codes: tuple[str, ...]
    counts: Counts
    share: float


def counted(known: Known, until: datetime, fields: Sequence[str] = ()) -> list[Tested]:
    """Return what `worth_a_look` tests at the end of a week: of each field and period its groups, counted."""
    found: list[Tested] = []
    fitted: dict[str, Expectations] = {}
    for (by, period), share in SHARES.items():
        if fields and by not in fields:
            continue
        if by not in fitted:
            belongs = known.calls.select(pl.int_range(pl.len()).alias("call"), pl.col(by).alias("code"))
            fitted[by] = expectations(known, belongs, by)
        one = fitted[by]
        recent, within = one.within(beginning(until, period))
        counts = Counts(*one.counts(within), one.dispersion, int(recent.sum()))
        found.append(Tested(by, tuple(one.codes), counts, share))
    return found


def listed(groups: Sequence[Tested], rule: Rule = stands_out) -> dict[str, set[str]]:
    """Return the groups on the list of a week, by field."""
    found: dict[str, set[str]] = {}
    for each in groups:
        out = rule(each.counts, each.share)
        found.setdefault(each.by, set()).update(
            code for code, listed_now in zip(each.codes, out, strict=True) if listed_now
        )
    return found


@lru_cache(maxsize=32)
def tested_each_week(seed: int, plan: Plan) -> tuple[list[Tested], ...]:
    """Return what is tested each week of a fleet; kept, for other rules are held to the same fleets."""
    calls = calls_of(plan, seed)
    return tuple(counted(known_at(calls, until), until) for until in ends_of_weeks(plan))


def weeks_with_alarm(seed: int, plan: Plan = ALIKE, rule: Rule = stands_out) -> list[bool]:
    """Say of each week of a fleet in which nobody differs whether any group was listed."""
    return [any(listed(groups, rule).values()) for groups in tested_each_week(seed, plan)]


@dataclass(frozen=True)
class Finding:
    """When a poor technician was listed.

    Parameters
    ----------
    calls : int or None
        Calls of his that could be judged by then; None: not within `WITHIN_CALLS`.
    days : int or None
        Days from his first call to the list.
    """

    calls: int | None
    days: int | None


def first_listed(seed: int, plan: Plan = POOR, rule: Rule = stands_out) -> Finding:
    """Look week by week until the poor technician, who begins after the year of history, is listed."""
    everything = calls_of(plan, seed)
    joined = BEGIN + timedelta(days=HISTORY_DAYS - 30)
    calls = everything.filter((pl.col("technician") != "T0") | (pl.col("closed_at") > joined))
    for until in ends_of_weeks(plan):
        his = calls.filter(pl.col("technician") == "T0", pl.col("closed_at") <= until).height
        if his > WITHIN_CALLS:
            break
        if "T0" in listed(counted(known_at(calls, until), until, ("technician",)), rule)["technician"]:
            seen = until + timedelta(days=30)  # the week in which those calls can be judged
            return Finding(his, (seen - joined).days)
    return Finding(None, None)


def spread_out(work: Callable[[int], object], seeds: range) -> list:
    """Do the work for every seed on all cores."""
    with ProcessPoolExecutor(mp_context=get_context("spawn")) as pool:
        return list(pool.map(work, seeds, chunksize=5))


def upper_limit(shares: np.ndarray) -> float:
    """One-sided 95% upper limit of a mean over fleets: a fleet counts once, for its weeks hang together."""
    return float(shares.mean() + 1.645 * shares.std(ddof=1) / np.sqrt(len(shares)))


def main() -> int:
    """Run the study; 1 when something did not come out as it should."""
    parser = argparse.ArgumentParser(
        prog="python -m tests.studies.alarms", description=__doc__.splitlines()[0]
    )
    parser.add_argument("--fleets", type=int, default=1000)
    parser.add_argument("--poor", type=int, default=500)
    parser.add_argument("--no-write", action="store_true", help="print the results, write nothing")
    asked = parser.parse_args()
    began = time.monotonic()
    alarms = np.array(spread_out(partial(weeks_with_alarm), range(asked.fleets)))
    shares = alarms.mean(axis=1)
    limit, years = upper_limit(shares), alarms.any(axis=1).mean()
    findings = spread_out(partial(first_listed), range(asked.poor))
    found = [each for each in findings if each.calls is not None]
    share, days = len(found) / len(findings), [each.days for each in found]
    rows = [
        ("weeks with any group listed, nobody differs", f"{shares.mean():.2%}", ""),
        ("its one-sided 95% upper limit", f"{limit:.2%}", f"below {FALSE_WEEKS:.0%}"),
        ("fleet-years with any group listed", f"{years:.1%}", "printed"),
        (
            f"technician at 3 times 7% listed within {WITHIN_CALLS} judged calls",
            f"{share:.1%}",
            "at least 90%",
        ),
        ("calls of his until then, median", f"{np.median([each.calls for each in found]):.0f}", "printed"),
        ("days from his first call until then, median", f"{np.median(days):.0f}", "printed"),
        ("the same, nine of ten", f"{np.quantile(days, 0.9):.0f}", "printed"),
    ]
    table = "".join(f"| {what} | {value} | {wanted} |\n" for what, value, wanted in rows)
    text = (
        f"Measured on {date.today()}: {asked.fleets} fleets of {ALIKE.weeks} weeks, seeds 0 to "
        f"{asked.fleets - 1}, and {asked.poor} with a poor technician, seeds 0 to {asked.poor - 1}, in "
        f"{(time.monotonic() - began) / 60:.0f} minutes. {machine()}.\n\n"
        f"| what | measured | wanted |\n|---|---:|---|\n{table}"
    )
    print(text)
    if not asked.no_write:
        head = PAGE.read_text(encoding="utf-8").partition("## Results\n")
        PAGE.write_text(f"{head[0]}{head[1]}\n{text}", encoding="utf-8")
    return int(limit >= FALSE_WEEKS or share < FOUND)


if __name__ == "__main__":
    sys.exit(main())
