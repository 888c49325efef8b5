"""Agreement beyond chance against published tables, and its edges."""

import numpy as np
import pytest
from sklearn.metrics import cohen_kappa_score

from analytics.statistics.agreement import kappa


def test_two_pathologists() -> None:
    """Two readings of 18 sections, BMC Cancer 2009, 9:1 (doi 10.1186/1471-2407-9-1), table 2.

    There: 0.906, standard error 0.092. [published; read in a stored copy of the table]
    """
    found = kappa([[7, 1, 0], [0, 8, 0], [0, 0, 2]])
    assert found is not None
    assert round(found.kappa, 3) == 0.906
    assert round((found.kappa - found.low) / 1.959964, 3) == 0.092
    assert found.high == 1.0, "cut: it can be no larger"


def test_cohens_own_example() -> None:
    """Cohen J (1960), Educational and Psychological Measurement 20:37-46, table 2b: 0.492.

    [the table from a public program that quotes it; the value from memory]
    """
    found = kappa([[88, 14, 18], [10, 40, 10], [2, 6, 12]])
    assert found is not None
    assert round(found.kappa, 3) == 0.492
    assert found.things == 200


def test_another_library_and_the_design_effect() -> None:
    rng = np.random.default_rng(3)
    first = rng.integers(0, 4, 500)
    second = np.where(rng.random(500) < 0.6, first, rng.integers(0, 4, 500))
    table = np.zeros((4, 4))
    np.add.at(table, (first, second), 1)
    alone, together = kappa(table), kappa(table, design_effect=4.0)
    assert alone is not None
    assert together is not None
    assert alone.kappa == pytest.approx(cohen_kappa_score(first, second))
    assert together.high - together.low == pytest.approx(2 * (alone.high - alone.low))
    assert kappa(table, design_effect=0.5) == alone, "never narrower than for independent things"


def test_interval_covers() -> None:
    """Of 800 draws of 300 things 93 to 97% hold the value of the whole; with the error halved fewer do."""
    chances = np.array([[0.3, 0.05, 0.02], [0.04, 0.25, 0.04], [0.03, 0.07, 0.2]])
    agreed, by_chance = np.trace(chances), chances.sum(0) @ chances.sum(1)
    truth = (agreed - by_chance) / (1 - by_chance)
    rng = np.random.default_rng(11)
    held = halved = 0
    for _ in range(800):
        found = kappa(rng.multinomial(300, chances.ravel()).reshape(3, 3))
        assert found is not None
        held += found.low <= truth <= found.high
        halved += abs(found.kappa - truth) <= (found.high - found.low) / 4
    assert 0.93 <= held / 800 <= 0.97
    assert halved / 800 < 0.93


def test_nothing_to_compare() -> None:
    assert kappa(np.zeros((0, 0))) is None
    assert kappa([[0, 0], [0, 0]]) is None
    assert kappa([[9, 0], [0, 0]]) is None, "both name one thing alone"
