"""Other rules of changing filters: by hand, and how sure the intervals are, on cells made for it."""

import numpy as np
import polars as pl
import pytest

from analytics.cost_assumptions import FilterCosts
from analytics.questions import filter_policy_draws
from analytics.questions.filter_policies import FilterPolicies, filter_policies
from analytics.questions.filter_policy_draws import BANDS, RULES, Draws, from_cells

COSTS = FilterCosts(failure_cost=100, filter_cost=20, planned_cost=5, at_visit_cost=10)
_WHOLE = dict.fromkeys(("months", "unit_group", "kind", "band", "number"), pl.Int64)
COLUMNS = {"measure": pl.String} | _WHOLE
PLANNED = {3: (14, 77), 6: (14, 77, 91), 9: (14, 77, 91, 91), 12: (14, 77, 91, 91, 92)}


def cells(
    days: np.ndarray, failures: np.ndarray, group_of_failures: np.ndarray | None = None
) -> pl.DataFrame:
    """Rows of metrics/filter_policies of units of one kind, a group each; (units, bands)."""
    rows: list[tuple] = [("units_now", None, None, None, None, 1000)]
    for unit, (own, failed) in enumerate(zip(days, failures, strict=True)):
        rows += [("at_risk", None, unit, 1, band, int(own[band])) for band in range(BANDS) if own[band]]
        if group_of_failures is None:
            rows += [
                ("failures", None, unit, 1, band, int(failed[band])) for band in range(BANDS) if failed[band]
            ]
        for months, shares in PLANNED.items():
            parts = np.array(shares) / sum(shares) * own.sum()
            rows += [("planned", months, unit, 1, band, int(part)) for band, part in enumerate(parts)]
            rows.append(("planned_changes", months, unit, None, None, int(own.sum() // sum(shares))))
        rows.append(("own_changes", None, unit, None, None, 1))
    if group_of_failures is not None:
        units, bands = np.nonzero(failures)
        loose = np.repeat(bands, failures[units, bands].astype(int))
        pairs, counts = np.unique(
            np.stack([group_of_failures[: len(loose)], loose]), axis=1, return_counts=True
        )
        rows += [
            ("failures", None, int(group), 1, int(band), int(n))
            for (group, band), n in zip(pairs.T, counts, strict=True)
        ]
    return pl.DataFrame(rows, schema=COLUMNS, orient="row")


def answered(days: np.ndarray, failures: np.ndarray) -> FilterPolicies:
    return filter_policies(from_cells(cells(days, failures), 200), COSTS)


def alike(rates: list[float], units: int = 100) -> tuple[np.ndarray, np.ndarray]:
    """Units of the same time, 1,400 days in each band, and the failures of these rates per 1,000 days."""
    return np.full((units, BANDS), 1400.0), np.round(np.tile(np.array(rates) * 1.4, (units, 1)))


def row(found: FilterPolicies, rule: str, months: int) -> dict:
    return found.rules.row(by_predicate=(pl.col("rule") == rule) & (pl.col("months") == months), named=True)


def test_by_hand() -> None:
    """Twice the failures past six months: of 1,400 days a band, four of seven at the double rate.

    Per 1,000 days 5 and 10 failures: the 9,800 days of a unit have 7 x 3 + 14 x 4 = 77, under the rule 49,
    and 28 are avoided: 28 / 9,800 x 365.25 x 1,000 = 1,043.57 per 1,000 units and year. At 182 days a filter
    the rule makes 53 changes and replaces the one made; each of the 53 costs 5.
    """
    found = row(answered(*alike([5, 5, 5, 10, 10, 10, 10])), "planned", 6)
    assert found["failures_avoided"] == pytest.approx(1043.57, rel=2e-3)  # days are whole numbers
    a_year = 1000 * 365.25 / 9800
    assert found["extra_filters"] == pytest.approx(52 * a_year)
    assert found["saving"] == pytest.approx(found["failures_avoided"] * 100 - (52 * 20 + 53 * 5) * a_year)
    assert found["failures_avoided_fleet"] == pytest.approx(
        found["failures_avoided"]
    )  # 1,000 units in service
    assert found["failures_avoided_low"] == pytest.approx(found["failures_avoided"])  # units all the same


def check_first_weeks_count() -> None:
    """Only the first two weeks are worse: who changes often has more of them, and more failures."""
    days, failures = alike([40, 5, 5, 5, 5, 5, 5])
    days[:, 0], failures[:, 0] = 350, 14
    found = answered(days, failures)
    assert row(found, "planned", 3)["failures_avoided"] < row(found, "planned", 6)["failures_avoided"] < 0


def test_first_two_weeks_count_against_frequent_changes() -> None:
    check_first_weeks_count()


def test_leaving_the_first_two_weeks_out_is_caught(monkeypatch: pytest.MonkeyPatch) -> None:
    fit = filter_policy_draws.multiplicative_rates

    def blind(*arguments: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        levels, ratios = fit(*arguments)
        return levels, np.concatenate([ratios[..., 1:2], ratios[..., 1:]], axis=-1)

    monkeypatch.setattr(filter_policy_draws, "multiplicative_rates", blind)
    with pytest.raises(AssertionError):
        check_first_weeks_count()


def test_six_months_are_spoken_of_and_else_what_avoids_most() -> None:
    found = answered(*alike([5, 5, 6, 10, 10, 10, 10]))
    assert row(found, "planned", 3)["failures_avoided"] > row(found, "planned", 6)["failures_avoided"]
    assert (found.telling() or {})["months"] == 6
    humped = answered(*alike([5, 5, 30, 10, 10, 10, 10])).telling()
    assert (humped or {})["months"] == 3


def test_ratio_and_e_value_by_hand() -> None:
    found = answered(*alike([5, 5, 5, 10, 10, 10, 10])).ratio_of(6)
    assert found["ratio"] == pytest.approx(2.0)
    assert found["e_value"] == pytest.approx(2 + 2**0.5)


def test_too_few_failures_are_no_answer() -> None:
    days, failures = alike([5, 5, 5, 10, 10, 10, 10])
    failures[:, 2] = 0
    found = answered(days, failures)
    assert row(found, "planned", 3)["failures_avoided"] is not None
    assert row(found, "planned", 6)["failures_avoided"] is None
    assert answered(days[:10], failures[:10]).is_known is False
    empty = filter_policies(from_cells(cells(days[:0], failures[:0]), 50), COSTS)
    assert (empty.is_known, empty.failures, empty.best()) == (False, None, None)


FLEETS, UNITS = 150, 80
TRUE = np.array([9.0, 5, 6, 8, 9, 9, 9]) / 1000


def drawn_fleets() -> list[tuple[np.ndarray, np.ndarray]]:
    """Fleets in which some units fail again and again: time and failures, (units, bands)."""
    rng = np.random.default_rng(8)
    made = []
    for _ in range(FLEETS):
        days = np.round(rng.gamma(1.0, 200, (UNITS, BANDS))) + 1
        prone = rng.gamma(0.5, 2.0, (UNITS, 1))
        made.append((days, rng.poisson(prone * days * TRUE).astype(float)))
    return made


def covered(fleets: list[tuple[np.ndarray, np.ndarray]], by_call: bool) -> float:
    """Share of fleets whose interval of the failures avoided by six months holds the truth."""
    rng, inside = np.random.default_rng(9), 0
    at = RULES.index(("planned", 6))
    for days, failures in fleets:
        loose = rng.integers(0, UNITS, int(failures.sum())) if by_call else None
        found: Draws = from_cells(cells(days, failures, loose), 200)
        share = np.array(PLANNED[6]) / 182 @ TRUE[:3]
        truth = (days.sum(axis=0) @ TRUE / days.sum() - share) * 1000
        values = found.failures_avoided[1:, at] / found.months[1:] / filter_policy_draws.DAYS_A_MONTH * 1000
        low, high = np.percentile(values, [2.5, 97.5])
        inside += low <= truth <= high
    return inside / FLEETS


@pytest.fixture(scope="module")
def fleets() -> list[tuple[np.ndarray, np.ndarray]]:
    return drawn_fleets()


def check_coverage(fleets: list[tuple[np.ndarray, np.ndarray]], by_call: bool) -> None:
    assert covered(fleets, by_call) >= 0.89  # 95% less three standard errors of 150, and small fleets


def test_drawing_units_covers_the_truth(fleets: list[tuple[np.ndarray, np.ndarray]]) -> None:
    check_coverage(fleets, by_call=False)


def test_drawing_calls_does_not(fleets: list[tuple[np.ndarray, np.ndarray]]) -> None:
    """The broken twin: failures drawn one by one, wherever they belong."""
    with pytest.raises(AssertionError):
        check_coverage(fleets, by_call=True)


def check_untold_durations_do_not_count_as_new() -> None:
    """Nothing depends on the age, but half of the failures have no duration and seem to be of new filters."""
    days, failures = alike([5, 5, 5, 5, 5, 5, 5])
    seen = failures.copy()
    seen[:, 0] += failures.sum(axis=1)
    told = cells(days, failures).filter(pl.col("measure") == "failures")
    rows = cells(days, seen)
    found = filter_policies(
        from_cells(pl.concat([rows, told.with_columns(measure=pl.lit("told_failures"))]), 50), COSTS
    )
    assert row(found, "planned", 3)["failures_avoided"] == pytest.approx(0, abs=5)
    assert found.failures == pytest.approx(2 * 5 * 365.25, rel=1e-3)


def test_untold_durations_do_not_count_as_new() -> None:
    check_untold_durations_do_not_count_as_new()


def test_counting_them_by_the_day_of_the_call_is_caught(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(filter_policy_draws, "LEAST_TOLD", 2.0)
    with pytest.raises(AssertionError):
        check_untold_durations_do_not_count_as_new()


def test_drawing_groups_of_units_is_as_good_as_drawing_units() -> None:
    """2,000 units singly, and in 256 groups by their number: the same intervals but for chance."""
    rng = np.random.default_rng(4)
    days = np.round(rng.gamma(1.0, 200, (2000, BANDS))) + 1
    failures = rng.poisson(rng.gamma(0.5, 2.0, (2000, 1)) * days * TRUE).astype(float)
    single = cells(days, failures)
    grouped = (
        single.with_columns(pl.col("unit_group") % 256)
        .group_by(*list(COLUMNS)[:-1])
        .agg(pl.col("number").sum())
    )
    widths = []
    for rows in (single, grouped):
        values = from_cells(rows, 500).failures_avoided[1:, RULES.index(("planned", 6))]
        widths.append(np.diff(np.percentile(values, [2.5, 97.5]))[0])
    assert widths[1] / widths[0] == pytest.approx(1, abs=0.15)
