"""What other rules of changing filters would do, as the product says and as the generator makes it come true.

python -m tests.studies.what_if [--calls 30000] [--seeds 8] [--no-write]

A fleet is simulated under no rule and under each rule, with the same seed. What the product says of the fleet
under no rule is held against the failures that really fell away under the rule, over all seeds together.
"""

import argparse
import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import date
from pathlib import Path

import numpy as np

from analytics.fleet import Fleet
from analytics.intake.loading import load_files
from analytics.store import Store
from synthetic_data import calendar
from synthetic_data.assumptions import load
from synthetic_data.filters import FilterRule
from synthetic_data.generate import UNTIL
from synthetic_data.places import OSMOSIS
from synthetic_data.record import record_of
from synthetic_data.simulation import History, place_count, simulate
from synthetic_data.write import write_canonical
from tests.benchmarks.machine import machine

PAGE = Path(__file__).parents[2] / "docs" / "studies.md"
HEADING = "# What other rules of changing filters would do, against the truth\n"
MEASURED = "\nMeasured on "
DAYS = {3: 91, 6: 182, 9: 273, 12: 365}
RULES = {("planned", months): FilterRule(planned_days=days) for months, days in DAYS.items()} | {
    ("at_visit", months): FilterRule(at_visit_days=days) for months, days in DAYS.items()
}
CALLS, SEEDS = 30_000, 8
JUDGED = ("planned", 6)
"""The rule that tolerances are about: common practice."""
WITH_EVERY_CHANGE = (0.7, 1.3)
"""Wanted of what the product says over the truth, where the office knows of every change."""
AS_RECORDED = (0.33, 1.1)
"""The same as recorded: too little may be said, since unrecorded changes blur the ages, but not too much."""


@dataclass(frozen=True)
class Truth:
    """First calls of repairs rung in during the record, and years of units with a filter."""

    failures: int
    years: float

    @property
    def rate(self) -> float:
        """Failures per 1,000 units and year."""
        return 1000 * self.failures / self.years


@dataclass(frozen=True)
class Said:
    """What the product says of one fleet: failures avoided per 1,000 units and year, by rule."""

    avoided: dict[tuple[str, int], float]
    low: dict[tuple[str, int], float]
    high: dict[tuple[str, int], float]


def history_of(seed: int, calls: int, rule: FilterRule) -> History:
    """Simulate the same places under a rule; the empty one is how the fleet does now."""
    end = calendar.day_number(UNTIL) + 1.0
    return simulate(calls, seed, end, place_count(calls), rule)


def truth_of(history: History) -> Truth:
    """Count the failures of places with a filter, and the years that their units stood there."""
    ledger, places = history.ledger, history.places
    fitted = np.isfinite(places.filter_day) & (places.supply != OSMOSIS)
    call = {name: ledger.peek("calls", name) for name in ("job", "tries", "trip", "opened", "place")}
    first = (call["job"] == 0) & (call["tries"] == 0) & ~call["trip"].astype(bool) & fitted[call["place"]]
    first &= (call["opened"] >= history.first_day) & (call["opened"] < history.end_day)
    place, installed = ledger.peek("units", "place"), ledger.peek("units", "installed")
    retired = np.full(len(place), np.inf)
    retired[ledger.peek("retirements", "unit").astype(int)] = ledger.peek("retirements", "day")
    days = np.minimum(retired, history.end_day) - np.maximum(installed, history.first_day)
    return Truth(int(first.sum()), float(np.maximum(days, 0)[fitted[place]].sum() / calendar.YEAR_DAYS))


@contextmanager
def every_change_recorded() -> Iterator[None]:
    """Let the office know of every change, for a while; nothing else is drawn otherwise."""
    assumed = [load()["filters"].entries["owner_change_recorded"], load()["parts"].entries["change_recorded"]]
    before = [entry["value"] for entry in assumed]
    try:
        for entry in assumed:
            entry["value"] = 1.0
        yield
    finally:
        for entry, value in zip(assumed, before, strict=True):
            entry["value"] = value


def said_of(history: History, seed: int, calls: int) -> Said:
    """Write the record of a history, load it, and ask what the rules would do."""
    with tempfile.TemporaryDirectory() as folder:
        files = Path(folder) / "files"
        files.mkdir()
        write_canonical(record_of(history, calls, seed), seed, files)
        store = Store(Path(folder) / "store")
        load_files(store, sorted(files.glob("*.csv")))
        rows = list(Fleet(store).filter_policies().rules.iter_rows(named=True))
        store.reader().close()

    def figures(end: str) -> dict[tuple[str, int], float]:
        return {(row["rule"], row["months"]): row[f"failures_avoided{end}"] for row in rows}

    return Said(figures(""), figures("_low"), figures("_high"))


@dataclass
class Seed:
    """All of one seed."""

    base: Truth
    under: dict[tuple[str, int], Truth]
    as_recorded: Said
    with_every_change: Said


def of_seed(seed: int, calls: int, rules: dict[tuple[str, int], FilterRule] = RULES) -> Seed:
    """Simulate a seed under no rule and under each, and ask the product."""
    base = history_of(seed, calls, FilterRule())
    truth = truth_of(base)
    said = said_of(base, seed, calls)
    with every_change_recorded():
        known = said_of(history_of(seed, calls, FilterRule()), seed, calls)
    under = {name: truth_of(history_of(seed, calls, rule)) for name, rule in rules.items()}
    return Seed(truth, under, said, known)


def really_avoided(found: list[Seed], rule: tuple[str, int]) -> tuple[float, float]:
    """Failures avoided per 1,000 units and year in truth, over all seeds, and its standard error."""
    each = np.array([one.base.rate - one.under[rule].rate for one in found])
    error = each.std(ddof=1) / len(each) ** 0.5 if len(each) > 1 else float("nan")
    return float(each.mean()), float(error)


def mean_said(said: list[Said], rule: tuple[str, int]) -> float:
    """What the product says of a rule, over all seeds."""
    return float(np.mean([one.avoided[rule] for one in said]))


def inside(share: float, wanted: tuple[float, float]) -> bool:
    """Whether what was said over the truth is as wanted."""
    return wanted[0] <= share <= wanted[1]


def main() -> int:
    """Run the study; 1 when it did not come out as wanted."""
    parser = argparse.ArgumentParser(
        prog="python -m tests.studies.what_if", description=__doc__.splitlines()[0]
    )
    parser.add_argument("--calls", type=int, default=CALLS)
    parser.add_argument("--seeds", type=int, default=SEEDS)
    parser.add_argument(
        "--no-write", action="store_true", help="print the results and leave docs/studies.md alone"
    )
    asked = parser.parse_args()
    found = []
    for seed in range(asked.seeds):
        found.append(of_seed(seed, asked.calls))
        print(f"seed {seed}: {found[-1].base}", flush=True)
    results, as_wanted = written(found, asked.calls)
    print(results)
    if not asked.no_write:
        PAGE.write_text(put(PAGE.read_text(encoding="utf-8"), results), encoding="utf-8")
    return int(not as_wanted)


def put(page: str, results: str) -> str:
    """Return the page with the results of this study in place of the earlier ones, all else as it is."""
    before, _, after = page.partition(HEADING)
    section, mark, following = after.partition("\n# ")
    return f"{before}{HEADING}{section.partition(MEASURED)[0]}{results}{mark}{following}"


def written(found: list[Seed], calls: int) -> tuple[str, bool]:
    """The results as a table, and whether they are as wanted."""
    lines = [
        f"{MEASURED}{date.today()}, {calls:,} calls, seeds 0 to {len(found) - 1}. {machine()}.\n",
        "| rule | truth (standard error) | said as recorded | said, every change recorded |",
        "|---|---:|---:|---:|",
    ]
    for rule in RULES:
        truth, error = really_avoided(found, rule)
        recorded = mean_said([one.as_recorded for one in found], rule)
        known = mean_said([one.with_every_change for one in found], rule)
        lines.append(
            f"| {rule[0]}, {rule[1]} months | {truth:.1f} ({error:.1f}) | {recorded:.1f} | {known:.1f} |"
        )
    truth, _ = really_avoided(found, JUDGED)
    verdicts, as_wanted = [], True
    for name, said, wanted in (
        ("as recorded", [one.as_recorded for one in found], AS_RECORDED),
        ("with every change recorded", [one.with_every_change for one in found], WITH_EVERY_CHANGE),
    ):
        share = mean_said(said, JUDGED) / truth
        holds = inside(share, wanted)
        as_wanted &= holds
        verdicts.append(
            f"Planned, 6 months, {name}: {share:.2f} of the truth, wanted {wanted[0]} to {wanted[1]}: "
            f"{'holds' if holds else '**does not hold**'}."
        )
    base = np.mean([one.base.rate for one in found])
    lines += [
        "",
        f"Units with a filter fail {base:.0f} times per 1,000 units and year under no rule. "
        + " ".join(verdicts),
    ]
    return "\n".join(lines) + "\n", as_wanted


if __name__ == "__main__":
    sys.exit(main())
