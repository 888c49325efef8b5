"""A difference within strata: a published one, another library, coverage with clusters, and a wrong twin."""

import numpy as np
import pytest
import statsmodels.api as sm

from analytics.statistics.within_strata import difference_within

# Doll R, Hill AB (1950), smoking and lung cancer, men and women: rows smokers and others, columns cases and
# controls; risk difference of Mantel and Haenszel 0.3294, Fagerland, Lydersen and Laake (2017), chapter 10.
# [secondary]
DOLL_AND_HILL = [[[647, 622], [2, 27]], [[41, 28], [19, 32]]]


def test_smoking_and_lung_cancer() -> None:
    happened, first, stratum = [], [], []
    for at, table in enumerate(DOLL_AND_HILL):
        for smoker, (cases, controls) in zip((True, False), table, strict=True):
            happened += [1] * cases + [0] * controls
            first += [smoker] * (cases + controls)
            stratum += [at] * (cases + controls)
    found = difference_within(happened, first, stratum)
    assert found is not None
    assert round(found.value, 4) == 0.3294
    assert found.rows == 1418


def drawn(seed: int, technicians: int, effect: float, spread: float) -> tuple[np.ndarray, ...]:
    """Calls of technicians who differ in how they fare and in how often they leave the step out."""
    rng = np.random.default_rng(seed)
    who = np.repeat(np.arange(technicians), rng.integers(40, 120, technicians))
    stratum = rng.integers(0, 6, len(who))
    missing = rng.random(len(who)) < np.clip(rng.normal(0.45, 0.35, technicians), 0.02, 0.98)[who]
    own = rng.normal(0, spread, technicians)[who]
    chance = np.clip(0.3 + 0.03 * stratum + effect * missing + own, 0.001, 0.999)
    return (rng.random(len(who)) < chance).astype(float), missing, stratum, who


def test_another_library() -> None:
    happened, missing, stratum, who = drawn(5, 30, 0.05, 0.03)
    found = difference_within(happened, missing, stratum, [who])
    design = np.column_stack([missing.astype(float), *[stratum == each for each in range(6)]]).astype(float)
    fitted = sm.OLS(happened, design).fit(
        cov_type="cluster", cov_kwds={"groups": who, "use_correction": False}, use_t=True
    )
    assert found is not None
    assert found.value == pytest.approx(fitted.params[0])
    error = float(fitted.bse[0]) * np.sqrt(30 / 29)
    assert found.high == pytest.approx(found.value + 2.04523 * error, rel=1e-4)
    assert found.clusters == 30


def covered(clustered: bool, replicates: int = 600) -> float:
    """Share of fleets of 25 technicians whose interval holds the effect that was put in."""
    held = 0
    for seed in range(replicates):
        happened, missing, stratum, who = drawn(seed, 25, 0.04, 0.1)
        found = difference_within(happened, missing, stratum, [who] if clustered else [])
        assert found is not None
        assert found.low is not None
        assert found.high is not None
        held += found.low <= 0.04 <= found.high
    return held / replicates


def test_interval_covers_with_clusters_and_does_not_without() -> None:
    assert 0.92 <= covered(clustered=True) <= 0.98
    assert covered(clustered=False) < 0.85, "a twin that ignores clusters is caught"


def test_the_widest_of_several_clusterings_is_taken() -> None:
    happened, missing, stratum, who = drawn(7, 25, 0.04, 0.06)
    alone = np.arange(len(who))
    by_technician = difference_within(happened, missing, stratum, [who])
    assert difference_within(happened, missing, stratum, [alone, who]) == by_technician
    assert difference_within(happened, missing, stratum, [who, alone]) == by_technician


def test_strata_with_one_group_say_nothing_and_few_clusters_give_no_interval() -> None:
    found = difference_within([1, 0, 1, 1, 1], [1, 0, 1, 1, 1], [0, 0, 1, 1, 2], [[0, 1, 0, 1, 1]])
    assert found is not None
    assert (found.value, found.low, found.p, found.rows, found.clusters) == (1.0, None, None, 2, 2)
    assert difference_within([1, 0], [1, 1], [0, 0]) is None
    assert difference_within([], [], []) is None


def test_mix_does_not_pass_for_a_difference() -> None:
    """Within strata none, in all a great one: a twin that pools the strata says 0.4."""
    happened = [1] * 9 + [0] * 1 + [1] * 18 + [0] * 2 + [1] * 2 + [0] * 18 + [1] * 1 + [0] * 9
    first = [True] * 10 + [False] * 20 + [True] * 20 + [False] * 10
    stratum = [0] * 30 + [1] * 30
    within, pooled = difference_within(happened, first, stratum), difference_within(happened, first, [0] * 60)
    assert within is not None
    assert pooled is not None
    assert within.value == pytest.approx(0)
    assert abs(pooled.value) > 0.2
