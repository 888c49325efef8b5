"""Scores of chances against published values. The source stands beside each.

Evidence: [published] read in the publication or a stored copy of it; [secondary] read in somebody's test file
or page that quotes it; [memory] remembered, and recomputed.
"""

from collections.abc import Callable

import numpy as np
import pytest
from numpy.typing import NDArray

from analytics.causes import scores

# scikit-learn 1.9.1, docstring of log_loss [published]: spam, ham, ham, spam; columns ham, spam.
SPAM = np.array([[0.1, 0.9], [0.9, 0.1], [0.8, 0.2], [0.35, 0.65]])
IS_SPAM = np.array([1, 0, 0, 1])
# scikit-learn 1.9.1, docstring of brier_score_loss [published], which prints 0.146.
EGGS = np.array([[0.8, 0.1, 0.1], [0.2, 0.7, 0.1], [0.2, 0.2, 0.6]])
# scikit-learn 1.9.1, docstring of top_k_accuracy_score [published]: scores, not chances.
TOP_K = np.array([[0.5, 0.2, 0.2], [0.3, 0.4, 0.2], [0.2, 0.4, 0.3], [0.7, 0.2, 0.1]])
TOP_K_TRUTH = np.array([0, 1, 2, 2])
# Brier GW (1950), Monthly Weather Review 78:1-3, Table 1: chances of rain [secondary], days of rain [memory].
RAIN = np.array([0.7, 0.9, 0.8, 0.4, 0.2, 0, 0, 0, 0, 0.1])
RAINED = np.array([0, 1, 1, 1, 0, 0, 0, 0, 0, 0])
# Definition: Naeini, Cooper and Hauskrecht (2015), AAAI. Example: documentation of torchmetrics,
# binary_calibration_error with two bins [memory].
TWO_BINS = np.array([0.25, 0.25, 0.55, 0.75, 0.75]), np.array([0.0, 0, 1, 1, 1])
# Murphy AH (1973), Journal of Applied Meteorology 12:595-600: the identity; numbers worked out apart from the
# program.
MURPHY = (
    np.array([0.1, 0.9, 0.8, 0.3, 0.3, 0.8, 0.1, 0.9, 0.3, 0.8]),
    np.array([0.0, 1, 1, 0, 1, 0, 0, 1, 0, 1]),
)


def both(chances: NDArray[np.float64]) -> NDArray[np.float64]:
    """Chances of one thing as chances of two: of its absence, and of it."""
    return np.column_stack([1 - chances, chances])


def log_loss_is_published() -> None:
    assert scores.log_losses(SPAM, IS_SPAM).mean() == pytest.approx(0.21616, abs=5e-6)


def impossible_thing_costs_what_is_stated() -> None:
    # 1e-6 is this program's own convention, not a published one: -ln(1e-6) = 13.8155.
    assert scores.log_losses(np.array([[1.0, 0.0]]), np.array([1]))[0] == pytest.approx(13.8155, abs=5e-5)


def brier_of_three_classes_is_published() -> None:
    assert scores.brier_scores(EGGS, np.arange(3)).mean() == pytest.approx(0.146667, abs=5e-7)


def brier_of_two_classes_counts_both() -> None:
    # The same docstring: 0.0375 for one class, so 0.075 for the sum over both, which is Brier's own form.
    chances, known = np.array([0.1, 0.9, 0.8, 0.3]), np.array([0, 1, 1, 0])
    assert scores.brier_scores(both(chances), known).mean() == pytest.approx(2 * 0.0375)


def brier_of_1950_is_published() -> None:
    assert scores.brier_scores(both(RAIN), RAINED).mean() == pytest.approx(0.19)


def top_k_is_published() -> None:
    assert scores.is_among(TOP_K, TOP_K_TRUTH, 2).mean() == 0.75


def calibration_error_is_published() -> None:
    assert scores.calibration_error(*TWO_BINS, bins=2) == pytest.approx(0.29, abs=5e-5)


def edge_belongs_to_the_bin_below() -> None:
    # Bins are right-closed, as Naeini's are by torchmetrics [memory]: 0.5 is in the lower of two, alone with
    # 0.25 there, so |1 - 0.75| and |0 - 0.75| weigh 2 and 1 of 3.
    given, there = np.array([0.25, 0.5, 0.75]), np.array([0.0, 1, 0])
    assert scores.calibration_error(given, there, bins=2) == pytest.approx((0.25 + 0.75) / 3)


def decomposition_is_murphys() -> None:
    found = scores.decomposition(*MURPHY)
    assert found.reliability == pytest.approx(0.009666667, abs=5e-10)
    assert found.resolution == pytest.approx(0.116666667, abs=5e-10)
    assert found.uncertainty == pytest.approx(0.25)
    brier = ((MURPHY[0] - MURPHY[1]) ** 2).mean()
    assert brier == pytest.approx(0.143)
    assert found.reliability - found.resolution + found.uncertainty == pytest.approx(brier)


def calibration_curve_agrees_with_the_error() -> None:
    # Weighed by size, the distance of the points of the curve from the diagonal is the calibration error.
    chances = both(MURPHY[0])
    curve = scores.calibration(chances, MURPHY[1].astype(int))
    assert curve["given"].sum() == chances.size
    gaps = (curve["share"] - curve["mean_chance"]).abs() * curve["given"]
    flat = chances.ravel(), np.column_stack([1 - MURPHY[1], MURPHY[1]]).ravel()
    assert gaps.sum() / chances.size == pytest.approx(scores.calibration_error(*flat))


def recalls_are_counted() -> None:
    # Of the scores above: 0 and 1 are named first, 2 never; with three columns all are among three.
    found = scores.recalls(TOP_K, TOP_K_TRUTH, ("a", "b", "c")).sort("cause")
    assert found["episodes"].to_list() == [1, 1, 2]
    assert found["first"].to_list() == [1.0, 1.0, 0.0]
    assert found["among_three"].to_list() == [1.0, 1.0, 1.0]
    assert found["mean_chance"].to_list() == pytest.approx([0.5, 0.4, 0.2])


CHECKS = [
    log_loss_is_published, impossible_thing_costs_what_is_stated, brier_of_three_classes_is_published,
    brier_of_two_classes_counts_both, brier_of_1950_is_published, top_k_is_published,
    calibration_error_is_published, edge_belongs_to_the_bin_below, decomposition_is_murphys,
    calibration_curve_agrees_with_the_error, recalls_are_counted,
]  # fmt: skip


@pytest.mark.parametrize("check", CHECKS, ids=lambda check: check.__name__)
def test_score(check: Callable[[], None]) -> None:
    check()


Score = Callable[..., object]


def in_bits(sound: Score) -> Score:
    return lambda *given: sound(*given) / np.log(2)


def of_one_class(sound: Score) -> Score:
    return lambda *given: sound(*given) / 2


def of_the_likeliest_alone(sound: Score) -> Score:
    return lambda chances, truth, first: sound(chances, truth, 1)


def of_the_least_likely(sound: Score) -> Score:
    return lambda chances, truth, first: sound(-chances, truth, first)


def left_closed(sound: Score) -> Score:
    return lambda given, there, bins=10: sound(np.nextafter(given, 1), there, bins)


def bins_not_weighed(sound: Score) -> Score:
    def error(given, there, bins=10):
        which = np.minimum((given * bins).astype(int), bins - 1)
        gaps = [abs(given[which == n].mean() - there[which == n].mean()) for n in np.unique(which)]
        return float(np.mean(gaps))

    return error


def in_two_groups(sound: Score) -> Score:
    return lambda given, there: sound(np.floor(given * 2) / 2, there)


def of_the_chances_given_to_all(sound: Score) -> Score:
    return lambda chances, truth, codes: sound(chances, np.sort(truth)[::-1], codes)


TWINS = [
    (log_loss_is_published, "log_losses", in_bits),
    (brier_of_three_classes_is_published, "brier_scores", of_one_class),
    (brier_of_two_classes_counts_both, "brier_scores", of_one_class),
    (brier_of_1950_is_published, "brier_scores", of_one_class),
    (top_k_is_published, "is_among", of_the_likeliest_alone),
    (top_k_is_published, "is_among", of_the_least_likely),
    (calibration_error_is_published, "calibration_error", bins_not_weighed),
    (edge_belongs_to_the_bin_below, "calibration_error", left_closed),
    (decomposition_is_murphys, "decomposition", in_two_groups),
    (calibration_curve_agrees_with_the_error, "calibration_error", bins_not_weighed),
    (recalls_are_counted, "recalls", of_the_chances_given_to_all),
]


@pytest.mark.parametrize(
    ("check", "name", "broken"), TWINS, ids=[f"{each[0].__name__}-{each[2].__name__}" for each in TWINS]
)
def test_broken_twin_is_caught(
    check: Callable[[], None], name: str, broken: Callable[[Score], Score], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(scores, name, broken(getattr(scores, name)))
    with pytest.raises(AssertionError):
        check()


def test_zero_that_is_not_clipped_is_caught(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(scores, "LEAST_CHANCE", 1e-15)
    with pytest.raises(AssertionError):
        impossible_thing_costs_what_is_stated()


def test_1950_does_not_prove_which_days_it_rained() -> None:
    # Rain on days 1, 2, 3 and 5 has the same score: the check stands on the chances and the sum.
    other = np.isin(np.arange(1, 11), [1, 2, 3, 5]).astype(int)
    assert scores.brier_scores(both(RAIN), other).mean() == pytest.approx(0.19)
