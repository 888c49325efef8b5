"""The bootstrap over units, whose refits are single steps: held to one with fits to convergence."""

import numpy as np
import polars as pl
import pytest

from analytics.questions import replicates
from analytics.questions.comparing import compared
from analytics.questions.expectations import expectations
from analytics.questions.replicates import Replicates
from analytics.statistics.logistic import fit
from tests.studies.alike import Plan, calls_of, ends_of_weeks, known_at

PLAN = Plan(weeks=1, technicians=16, calls_a_year=1600, units=2000)
UNTIL = ends_of_weeks(PLAN)[0]


@pytest.fixture(scope="module")
def fitted():
    known = known_at(calls_of(PLAN, 5), UNTIL)
    belongs = known.calls.select(pl.int_range(pl.len()).alias("call"), pl.col("technician").alias("code"))
    return expectations(known, belongs, "technician")


def errors(fitted):
    made = Replicates.of(
        fitted.known, fitted.answers, fitted.whole, fitted.apart, fitted.member, fitted.group, fitted.expected
    )
    return made.errors(np.ones(len(fitted.member), dtype=bool))


def errors_by_whole_fits(fitted, samples):
    """Draw units, fit anew without each group, and take observed over expected: the long way."""
    known, groups = fitted.known, len(fitted.codes)
    drawn = np.random.default_rng(replicates.SEED).poisson(1.0, (known.unit.max() + 1, samples))
    logs = np.empty((groups, samples))
    for sample in range(samples):
        times = drawn[known.unit, sample].astype(float)
        for group in range(groups):
            inside = fitted.group == group
            weights = np.where(inside, 0.0, times)
            model = fit(fitted.answers, weights * known.came_back, weights, fitted.whole.coefficients)
            expected = times[inside] @ model.expected(fitted.answers.taken(inside))
            logs[group, sample] = np.log(max(times[inside] @ known.came_back[inside], 0.5) / expected)
    return logs.std(axis=1, ddof=1)


def test_errors_are_those_of_fits_to_convergence(fitted, monkeypatch):
    monkeypatch.setattr(replicates, "REPLICATES", 40)
    assert errors(fitted) == pytest.approx(errors_by_whole_fits(fitted, 40), rel=0.08)


def test_interval_that_takes_calls_for_independent_is_narrower_where_units_differ():
    """The broken twin: each call a unit of its own."""
    plan = Plan(weeks=1, technicians=6, depots=2, calls_a_year=2400, units=300, unit_spread=1.6)
    known = known_at(calls_of(plan, 3), ends_of_weeks(plan)[0])
    belongs = known.calls.select(pl.int_range(pl.len()).alias("call"), pl.col("depot").alias("code"))
    together = errors(expectations(known, belongs, "depot"))
    alone = type(known)(known.calls, known.came_back, np.arange(len(known.came_back)))
    apart = errors(expectations(alone, belongs, "depot"))
    assert (together > 1.1 * apart).all()


def test_few_returns_get_the_interval_of_a_poisson_count(fitted):
    found = compared(fitted, "technician", "year", UNTIL, {code: code for code in fitted.codes})
    few = found.groups.filter(pl.col("came_back") < 10)
    assert few.height
    assert few["assumes_independent"].all()
    assert not found.groups.filter(pl.col("came_back") >= 10)["assumes_independent"].any()
    assert (found.groups["low"] <= found.groups["ratio"]).all()
    assert (found.groups["ratio"] <= found.groups["high"]).all()


def test_nobody_with_fewer_than_20_calls_is_ranked(fitted):
    small = Plan(weeks=1, technicians=40, calls_a_year=900, units=500)
    known = known_at(calls_of(small, 5), UNTIL)
    belongs = known.calls.select(pl.int_range(pl.len()).alias("call"), pl.col("technician").alias("code"))
    one = expectations(known, belongs, "technician")
    groups = compared(one, "technician", "year", UNTIL, {code: code for code in one.codes}).groups
    few = groups.filter(pl.col("calls") < 20)
    assert few.height > 3
    assert not few["ranked"].any()
    assert few["shrunk"].is_null().all()
    assert few["p_adjusted"].is_null().all()
    assert groups.filter(pl.col("calls") >= 20)["ranked"].all()
