"""How good a model of causes is on the future: fitted to earlier episodes, judged on later ones."""

from collections.abc import Callable, Sequence
from dataclasses import asdict, dataclass
from typing import Any, Self

import numpy as np
import polars as pl
from numpy.typing import NDArray

from analytics.causes.answers import ANSWERS, COMPLAINT
from analytics.causes.choosing import Report, silent
from analytics.causes.features import as_features, withheld
from analytics.causes.model import CauseModel, columns_of, fitted, with_rarer
from analytics.causes.scores import (
    brier_scores,
    calibration,
    calibration_error,
    is_among,
    log_losses,
    recalls,
)
from analytics.causes.shares import overall_shares, shares_by_kind
from analytics.causes.training import Split, Training
from analytics.statistics.cluster_bootstrap import Mean, cluster_means

SIZES = (1 / 16, 1 / 8, 1 / 4, 1 / 2, 1.0)
"""Shares of the earlier episodes, the latest of them, of the learning curve."""
MOST_WITHHELD = 50_000
"""Earlier episodes that the worth of each answer is measured with at most."""
MODEL, OVERALL, BY_KIND = "model", "overall shares", "shares by kind of complaint"

Floats = NDArray[np.float64]
Row = dict[str, Any]


@dataclass(frozen=True)
class Evaluation:
    """What was found, as plain values that go into the file of the model.

    Parameters
    ----------
    cut : str
        ISO day: learned before it, judged after it.
    earlier, later : int
        Episodes learned from and judged on.
    scores : list of dict
        who, among (confirmed, units never seen, probable), episodes, and log_loss, brier, top1, top3, each
        with _low and _high.
    gains : list of dict
        Log loss of a baseline minus that of the model: over, gain, low, high, beaten.
    calibration, recalls : list of dict
        As from `analytics.causes.scores`.
    calibration_error : float
    learning : list of dict
        episodes (learned from), log_loss, low, high.
    worth : list of dict
        answer, given (share of calls), lost (log loss more without it), low, high; largest first.
    tried : list of dict
        As in `analytics.causes.choosing.Chosen`.
    orders : dict
        What orders of checks cost, as from `analytics.causes.judging`; empty where there is nothing to judge.
    """

    cut: str
    earlier: int
    later: int
    scores: list[Row]
    gains: list[Row]
    calibration: list[Row]
    calibration_error: float
    recalls: list[Row]
    learning: list[Row]
    worth: list[Row]
    tried: list[Row]
    orders: Row

    def to_dict(self) -> Row:
        """Return the same as a dict for JSON."""
        return asdict(self)

    @classmethod
    def of_dict(cls, values: Row) -> Self:
        """Return what `to_dict` gave."""
        return cls(**values)

    @property
    def beats_both(self) -> bool:
        """Whether the log loss is lower than that of both baselines, by more than chance."""
        return all(row["beaten"] for row in self.gains)


def evaluate(
    training: Training,
    parts: Split,
    estimator: Any,
    codes: Sequence[str],
    symptoms: Sequence[str],
    tried: list[Row],
    orders: Callable[[CauseModel], Row],
    report: Report = silent,
) -> Evaluation:
    """Fit to the earlier episodes and judge on the later ones.

    Parameters
    ----------
    training : Training
        For the probable episodes, judged apart.
    parts : Split
        Of the confirmed episodes.
    estimator : estimator
        The one chosen, without having seen the later episodes.
    codes, symptoms : sequence of str
    tried : list of dict
        How it was chosen.
    orders : callable
        What the model's orders of checks cost.
    report : callable
        Called with what is done and the share done.
    """
    report("judging", 0.0)
    model = fitted(estimator, parts.earlier, codes, symptoms)
    chances, truth = model.chances(parts.later), columns_of(parts.later["final_cause"], codes)
    report("learning curve", 0.2)
    learning = _learning(parts, estimator, codes, symptoms)
    report("worth of each answer", 0.4)
    worth = _worth(parts, estimator, codes, symptoms, report)
    report("orders of checks", 0.9)
    there = np.zeros_like(chances)
    there[np.arange(len(truth)), truth] = 1
    return Evaluation(
        cut=parts.at.date().isoformat(),
        earlier=parts.earlier.height,
        later=parts.later.height,
        scores=_scores(model, training, parts, codes),
        gains=_gains(chances, truth, parts, codes),
        calibration=calibration(chances, truth).to_dicts(),
        calibration_error=calibration_error(chances.ravel(), there.ravel()),
        recalls=recalls(chances, truth, tuple(codes)).to_dicts(),
        learning=learning,
        worth=worth,
        tried=tried,
        orders=orders(model),
    )


def _scores(model: CauseModel, training: Training, parts: Split, codes: Sequence[str]) -> list[Row]:
    seen = parts.earlier["unit_hash"].unique()
    among = {
        "confirmed": parts.later,
        "units never seen": parts.later.filter(~pl.col("unit_hash").is_in(seen.implode())),
        "probable": training.probable.filter(pl.col("opened_at") >= parts.at),
    }
    rows = []
    for name, episodes in among.items():
        if episodes.is_empty():
            continue
        truth = columns_of(episodes["final_cause"], codes)
        units = episodes["unit_hash"].to_numpy()
        rows.append({"who": MODEL, "among": name} | _scored(model.chances(episodes), truth, units))
        if name == "confirmed":
            rows += [
                {"who": who, "among": name} | _scored(given, truth, units)
                for who, given in _baselines(parts, codes).items()
            ]
    return rows


def _baselines(parts: Split, codes: Sequence[str]) -> dict[str, Floats]:
    overall = np.tile(overall_shares(parts.earlier, codes), (parts.later.height, 1))
    return {OVERALL: overall, BY_KIND: shares_by_kind(parts.earlier, parts.later, codes)}


def _scored(chances: Floats, truth: NDArray[np.int64], units: NDArray[np.int64]) -> Row:
    measured = {
        "log_loss": log_losses(chances, truth),
        "brier": brier_scores(chances, truth),
        "top1": is_among(chances, truth, 1),
        "top3": is_among(chances, truth, 3),
    }
    found = cluster_means(np.column_stack(list(measured.values())), units)
    row: Row = {"episodes": len(truth)}
    for name, mean in zip(measured, found, strict=True):
        row |= {name: mean.value, f"{name}_low": mean.low, f"{name}_high": mean.high}
    return row


def _gains(chances: Floats, truth: NDArray[np.int64], parts: Split, codes: Sequence[str]) -> list[Row]:
    ours, units = log_losses(chances, truth), parts.later["unit_hash"].to_numpy()
    others = _baselines(parts, codes)
    differences = np.column_stack([log_losses(given, truth) - ours for given in others.values()])
    means = cluster_means(differences, units)
    return [
        {"over": who, "gain": mean.value, "low": mean.low, "high": mean.high, "beaten": mean.above_zero}
        for who, mean in zip(others, means, strict=True)
    ]


def _learning(parts: Split, estimator: Any, codes: Sequence[str], symptoms: Sequence[str]) -> list[Row]:
    truth, units = columns_of(parts.later["final_cause"], codes), parts.later["unit_hash"].to_numpy()
    rows = []
    for size in SIZES:
        episodes = parts.earlier.tail(int(parts.earlier.height * size))
        if episodes["final_cause"].n_unique() < 2:
            continue
        chances = fitted(estimator, episodes, codes, symptoms).chances(parts.later)
        mean = cluster_means(log_losses(chances, truth)[:, None], units)[0]
        rows.append({"episodes": episodes.height, "log_loss": mean.value, "low": mean.low, "high": mean.high})
    return rows


def _worth(
    parts: Split, estimator: Any, codes: Sequence[str], symptoms: Sequence[str], report: Report
) -> list[Row]:
    """Fit without each answer in turn, and see what is lost."""
    earlier = parts.earlier.tail(MOST_WITHHELD)
    truth, units = columns_of(parts.later["final_cause"], codes), parts.later["unit_hash"].to_numpy()
    before, after = as_features(earlier, symptoms), as_features(parts.later, symptoms)

    def losses(answer: str | None) -> Floats:
        learn, judge = (
            (before, after) if answer is None else (withheld(before, answer), withheld(after, answer))
        )
        causes, rarer = with_rarer(earlier["final_cause"], codes)
        classifier = type(estimator)(**estimator.get_params()).fit(learn, causes.to_numpy())
        return log_losses(
            CauseModel(classifier, tuple(symptoms), tuple(codes), rarer).of_features(judge), truth
        )

    whole = losses(None)
    rows = []
    answers = (COMPLAINT, *ANSWERS)
    for n, answer in enumerate(answers):
        report("worth of each answer", 0.4 + 0.5 * n / len(answers))
        lost: Mean = cluster_means((losses(answer) - whole)[:, None], units)[0]
        given = 1 - after[answer].null_count() / max(after.height, 1)
        rows.append(
            {"answer": answer, "given": given, "lost": lost.value, "low": lost.low, "high": lost.high}
        )
    return sorted(rows, key=lambda row: -row["lost"])
