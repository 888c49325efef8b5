"""Which model is taken: each is fitted to earlier episodes and judged on later ones."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import polars as pl
from numpy.typing import NDArray

from analytics.causes.candidates import at_temperature, candidates
from analytics.causes.model import columns_of, fitted
from analytics.causes.scores import log_losses
from analytics.causes.training import split
from analytics.statistics.cluster_bootstrap import cluster_means

TIE_NATS = 0.02
"""A gain in log loss that may be smaller is a tie: the simpler model is taken (our convention)."""

Report = Callable[[str, float], None]
"""Is told what is done, and the share done."""


def silent(stage: str, share: float) -> None:
    """Report nothing."""


@dataclass(frozen=True)
class Chosen:
    """The estimator taken, and what each was worth on later episodes.

    Parameters
    ----------
    name : str
    estimator : estimator
        With its temperature; not fitted.
    tried : list of dict
        One a model, the simplest first: name, penalty (text), temperature, log_loss, gain, gain_low,
        gain_high (over the simplest, nats; None for itself), episodes (judged on), taken.
    """

    name: str
    estimator: Any
    tried: list[dict[str, Any]]


def choose(
    episodes: pl.DataFrame,
    codes: Sequence[str],
    symptoms: Sequence[str],
    report: Report = silent,
) -> Chosen:
    """Choose a model.

    Parameters
    ----------
    episodes : DataFrame
        Rows of sql/causes/training.sql; none of those that the chosen model will be judged on.
    codes, symptoms : sequence of str
        Causes that can be final, and symptoms.
    report : callable
        Called with what is done and the share done.
    """
    parts = split(episodes)
    truth = columns_of(parts.later["final_cause"], codes)
    units = parts.later["unit_hash"].to_numpy()
    families = candidates()
    steps, done = sum(len(family) for family in families.values()), 0
    best: list[tuple[str, Any, NDArray[np.float64]]] = []
    for name, family in families.items():
        tried = []
        for estimator in family:
            report(f"trying {name}", done / steps)
            chances = fitted(estimator, parts.earlier, codes, symptoms).chances(parts.later)
            done += 1
            scores = np.log(np.maximum(chances, 1e-12))
            warm = at_temperature(estimator, scores, truth)
            heated = np.exp(scores / warm.temperature)
            losses = log_losses(heated / heated.sum(axis=1, keepdims=True), truth)
            tried.append((name, warm, losses))
        best.append(min(tried, key=lambda one: float(one[2].mean())))
    return _taken(best, units)


def _taken(best: list[tuple[str, Any, NDArray[np.float64]]], units: NDArray[np.int64]) -> Chosen:
    """Take the first, the simplest, unless another is better by more than a tie."""
    simplest = best[0][2]
    at, rows = 0, []
    for n, (name, estimator, losses) in enumerate(best):
        gain = cluster_means((simplest - losses)[:, None], units)[0] if n else None
        if gain is not None and gain.low > TIE_NATS and losses.mean() < best[at][2].mean():
            at = n
        rows.append(
            {
                "name": name,
                "penalty": str(getattr(estimator, "C", "")),
                "temperature": float(estimator.temperature),
                "log_loss": float(losses.mean()),
                "gain": gain.value if gain else None,
                "gain_low": gain.low if gain else None,
                "gain_high": gain.high if gain else None,
                "episodes": len(losses),
            }
        )
    tried = [row | {"taken": n == at} for n, row in enumerate(rows)]
    return Chosen(best[at][0], best[at][1], tried)
