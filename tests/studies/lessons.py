"""Lessons attended by those who did worst of late: how often is an effect claimed where there is none?

Writes its results into docs/studies.md.

python -m tests.studies.lessons [--fleets 1000] [--no-write]
"""

import argparse
import sys
import time
from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path

import numpy as np
from scipy import stats

from analytics.questions.lesson_effect import Effect, effect
from tests.benchmarks.machine import machine

PAGE = Path(__file__).parents[2] / "docs" / "studies.md"
HEADING = "## Results for lessons\n"
FIRST_SEED = 1000
"""Seeds from 0 on were used before the interval was made a little wider, and are not used again."""
MOST_FALSE, MOST_FALSE_UPPER = 0.05, 0.07
"""Share of fleets without an effect in which one is claimed, either way; its one-sided 95% upper limit."""
LEAST_FALSE_OF_TWINS = 0.15
MOST_BIAS = 0.01
COVERAGE = (0.93, 0.97)
"""Of the effect in the fleets that have one, over those with enough calls to say."""


@dataclass(frozen=True)
class Plan:
    """How fleets are drawn; each draws its own size, rate and spread within these.

    Parameters
    ----------
    technicians : int
    before, chosen, after : int
        Months: those compared with, those by which people are chosen, those after the lesson.
    calls_a_month : (float, float)
        Strings of the cause a technician and month: geometric between; of one technician, gamma of shape 4.
    rate : (float, float)
        Share that goes wrong, of the usual technician.
    spread : (float, float)
        Standard deviation of the skills, in logits.
    wobble : float
        That of a technician from period to period, and of all from before to after.
    drift : bool
        Skills wander: what a technician is now is half gone in six months.
    attending : (int, int)
        How many of those who did worst attend.
    effect : float
        Share of the wrong ones that the lesson takes away, of those who attended.
    """

    technicians: int = 20
    before: int = 12
    chosen: int = 3
    after: int = 12
    calls_a_month: tuple[float, float] = (1.0, 6.0)
    rate: tuple[float, float] = (0.08, 0.40)
    spread: tuple[float, float] = (0.0, 0.8)
    wobble: float = 0.2
    drift: bool = False
    attending: tuple[int, int] = (4, 8)
    effect: float = 0.0


@dataclass(frozen=True)
class Lesson:
    """What happened in one fleet; rows of `wrong` and `calls` are before, chosen and after."""

    wrong: np.ndarray
    calls: np.ndarray
    attended: np.ndarray
    truth: float


NULL = Plan()
HALVED = Plan(effect=0.5)


def lesson(plan: Plan, seed: int) -> Lesson:
    """Draw one fleet; those who did worst in the months of choosing attend, ties by chance."""
    draw = np.random.default_rng(seed)
    n, months = plan.technicians, np.array([plan.before, plan.chosen, plan.after])
    mean = np.exp(draw.uniform(*np.log(plan.calls_a_month))) * draw.gamma(4, 1 / 4, n)
    calls = draw.poisson(months[:, None] * mean)
    usual = stats.logistic.ppf(draw.uniform(*plan.rate))
    spread = draw.uniform(*plan.spread)
    skill = _drifting(draw, spread, n, months) if plan.drift else spread * draw.standard_normal(n)
    own = plan.wobble * draw.standard_normal((3, n))
    common = np.array([0, 0, plan.wobble * draw.standard_normal()])
    chance = stats.logistic.cdf(usual + skill + own + common[:, None])
    before = draw.binomial(calls[:2], chance[:2])
    badness = np.where(calls[1] > 0, before[1] / np.maximum(calls[1], 1), -1) + 1e-9 * draw.random(n)
    attended = np.zeros(n, dtype=bool)
    attended[np.argsort(-badness)[: draw.integers(*plan.attending, endpoint=True)]] = True
    after = np.where(attended, chance[2] * (1 - plan.effect), chance[2])
    wrong = np.vstack([before, draw.binomial(calls[2], after)])
    weights = 1 / (1 / np.maximum(calls[0], 1e-9) + 1 / np.maximum(calls[2], 1e-9)) * attended
    truth = float(np.average(after - chance[2], weights=weights)) if weights.sum() > 1e-6 else 0.0
    return Lesson(wrong, calls, attended, truth)


def _drifting(draw: np.random.Generator, spread: float, n: int, months: np.ndarray) -> np.ndarray:
    """Return the mean skill of each period of skills that are half gone in six months."""
    keeps = 0.5 ** (1 / 6)
    each = [draw.standard_normal(n)]
    for _ in range(months.sum() - 1):
        each.append(keeps * each[-1] + np.sqrt(1 - keeps**2) * draw.standard_normal(n))
    ends = np.cumsum(months)[:-1]
    return spread * np.vstack([part.mean(axis=0) for part in np.split(np.array(each), ends)])


Judge = Callable[[Lesson], Effect]


def as_shown(found: Lesson) -> Effect:
    """Judge as the product does: against the months before those of choosing."""
    return effect(found.wrong[0], found.calls[0], found.wrong[2], found.calls[2], found.attended)


def against_chosen_months(found: Lesson) -> Effect:
    """A broken twin: the months by which people were chosen serve as the time before."""
    return effect(found.wrong[1], found.calls[1], found.wrong[2], found.calls[2], found.attended)


def attended_alone(found: Lesson) -> Effect:
    """A broken twin: those who attended, before and after, compared with nobody (t test of the changes)."""
    judged = against_chosen_months(found)
    if judged.verdict == "too_few":
        return judged
    kept = found.attended & (found.calls[1] > 0) & (found.calls[2] > 0)
    rates = found.wrong[1:, kept] / found.calls[1:, kept]
    change = rates[1] - rates[0]
    half = stats.t.ppf(0.975, len(change) - 1) * change.std(ddof=1) / np.sqrt(len(change))
    low, high = change.mean() - half, change.mean() + half
    verdict = "better" if high < 0 else "worse" if low > 0 else "not_sure"
    return replace(judged, verdict=verdict, change=change.mean(), low=low, high=high)


@dataclass(frozen=True)
class Tally:
    """What was claimed over many fleets.

    Parameters
    ----------
    fleets, too_few, better, worse : int
    bias : float
        Mean of estimate minus truth, over fleets with enough to say.
    covered : float
        Share of intervals that hold the truth, over the same.
    """

    fleets: int
    too_few: int
    better: int
    worse: int
    bias: float
    covered: float

    @property
    def claimed(self) -> float:
        """Share of all fleets in which an effect was claimed, either way."""
        return (self.better + self.worse) / self.fleets

    @property
    def upper(self) -> float:
        """Its one-sided 95% upper limit (Clopper and Pearson)."""
        count = self.better + self.worse
        return float(stats.beta.ppf(0.95, count + 1, self.fleets - count))


def tally(plan: Plan, seeds: range, judge: Judge = as_shown) -> Tally:
    """Judge a lesson in each fleet."""
    lessons = [lesson(plan, seed) for seed in seeds]
    found = [judge(each) for each in lessons]
    said = [(e, each.truth) for e, each in zip(found, lessons, strict=True) if e.change is not None]
    verdicts = [each.verdict for each in found]
    return Tally(
        len(found),
        verdicts.count("too_few"),
        verdicts.count("better"),
        verdicts.count("worse"),
        float(np.mean([e.change - truth for e, truth in said])),
        float(np.mean([e.low <= truth <= e.high for e, truth in said])),
    )


def rows(seeds: range) -> list[tuple[str, str, str, bool]]:
    """Return what was measured, what was wanted, and whether it came out so."""
    null, halved = tally(NULL, seeds), tally(HALVED, seeds)
    drift = tally(replace(NULL, drift=True), seeds)
    many = tally(replace(HALVED, calls_a_month=(6.0, 6.0), rate=(0.3, 0.3)), seeds)
    few = tally(replace(HALVED, calls_a_month=(1.0, 1.0), rate=(0.1, 0.1)), seeds)
    chosen, alone = tally(NULL, seeds, against_chosen_months), tally(NULL, seeds, attended_alone)
    twins = f"at least {LEAST_FALSE_OF_TWINS:.0%}, as it must"
    return [
        (
            "no effect: an effect claimed, either way",
            f"{null.claimed:.1%}",
            f"at most {MOST_FALSE:.0%}",
            null.claimed <= MOST_FALSE,
        ),
        (
            "its one-sided 95% upper limit",
            f"{null.upper:.1%}",
            f"below {MOST_FALSE_UPPER:.0%}",
            null.upper < MOST_FALSE_UPPER,
        ),
        ("of these, said to be better, and worse", f"{null.better}, {null.worse}", "printed", True),
        ("no effect: too few to say", f"{null.too_few / null.fleets:.1%}", "printed", True),
        (
            "no effect, skills that wander: said to be better",
            f"{drift.better / drift.fleets:.1%}",
            f"at most {MOST_FALSE:.0%}",
            drift.better / drift.fleets <= MOST_FALSE,
        ),
        ("the same: said to be worse", f"{drift.worse / drift.fleets:.1%}", "printed", True),
        (
            "wrong ones halved: mean error of the estimate, points",
            f"{100 * halved.bias:+.2f}",
            f"within {100 * MOST_BIAS:.0f}",
            abs(halved.bias) <= MOST_BIAS,
        ),
        (
            "the same: intervals that hold the truth",
            f"{halved.covered:.1%}",
            f"{COVERAGE[0]:.0%} to {COVERAGE[1]:.0%}",
            COVERAGE[0] <= halved.covered <= COVERAGE[1],
        ),
        ("the same: said to be better", f"{halved.better / halved.fleets:.1%}", "printed", True),
        (
            "wrong ones halved, 30% wrong, 6 calls a technician and month: said to be better",
            f"{many.better / many.fleets:.1%}",
            "printed",
            True,
        ),
        (
            "wrong ones halved, 10% wrong, 1 call a technician and month: said to be better",
            f"{few.better / few.fleets:.1%}",
            "printed",
            True,
        ),
        (
            "broken on purpose: months of choosing as the time before",
            f"{chosen.claimed:.1%}",
            twins,
            chosen.claimed >= LEAST_FALSE_OF_TWINS,
        ),
        (
            "broken on purpose: those who attended alone, before and after",
            f"{alone.claimed:.1%}",
            twins,
            alone.claimed >= LEAST_FALSE_OF_TWINS,
        ),
    ]


def main() -> int:
    """Run the study; 1 when something did not come out as it should."""
    parser = argparse.ArgumentParser(
        prog="python -m tests.studies.lessons", description=__doc__.splitlines()[0]
    )
    parser.add_argument("--fleets", type=int, default=1000)
    parser.add_argument("--no-write", action="store_true", help="print the results, write nothing")
    asked = parser.parse_args()
    began = time.monotonic()
    seeds = range(FIRST_SEED, FIRST_SEED + asked.fleets)
    measured = rows(seeds)
    lines = "".join(
        f"| {what} | {value} | {wanted} | {'' if held else '**no**'} |\n"
        for what, value, wanted, held in measured
    )
    text = (
        f"Measured on {date.today()}: {asked.fleets} fleets a line, seeds {seeds[0]} to {seeds[-1]}, in "
        f"{time.monotonic() - began:.0f} seconds. {machine()}.\n\n"
        f"| what | measured | wanted | |\n|---|---:|---|---|\n{lines}"
    )
    print(text)
    if not asked.no_write:
        before, _, after = PAGE.read_text(encoding="utf-8").partition(HEADING)
        _, line, rest = after.partition("\n# ")
        PAGE.write_text(f"{before}{HEADING}\n{text}{line}{rest}", encoding="utf-8")
    return int(not all(held for *_, held in measured))


if __name__ == "__main__":
    sys.exit(main())
