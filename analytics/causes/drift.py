"""Whether calls are still like those that a model was fitted to, and whether it still does as well."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import polars as pl

from analytics.causes.answers import ANSWERS, COMPLAINT, UNIT_FACTS
from analytics.causes.features import as_features
from analytics.causes.model import CauseModel, columns_of
from analytics.causes.scores import log_losses
from analytics.statistics.cluster_bootstrap import Mean, cluster_means

WATCHED = (COMPLAINT, *ANSWERS, *UNIT_FACTS)
LEAST_CALLS = 100
"""Later calls, and later episodes, without which nothing is said (our convention)."""
MOVED = 0.1
"""Total variation distance from which an answer is said to have moved (our convention)."""
NOT_GIVEN = ""

Profile = dict[str, dict[str, float]]


@dataclass(frozen=True)
class Drift:
    """What changed since a fit.

    Parameters
    ----------
    calls : int
        Repair calls opened since the last that was learned from.
    moved : list of dict
        answer, distance (total variation, 0..1: the share of calls that would have to answer otherwise),
        level and share_then, share_now of the level that moved most; answers beyond `MOVED`, largest first.
    episodes : int
        Confirmed episodes that matured since, opened after the data of the fit.
    log_loss : Mean or None
        On them; None of too few.
    expected : float or None
        Log loss that the evaluation found.
    """

    calls: int
    moved: list[dict[str, Any]]
    episodes: int
    log_loss: Mean | None
    expected: float | None

    @property
    def worse(self) -> bool:
        """Whether the model does worse than it was found to do, by more than chance."""
        return self.log_loss is not None and self.expected is not None and self.log_loss.low > self.expected


def profile(intake: pl.DataFrame, symptoms: Sequence[str]) -> Profile:
    """Return the share of each level of each answer; the level of an answer not given is ''."""
    features = as_features(intake, symptoms)
    found: Profile = {}
    for name in WATCHED:
        counts = features.get_column(name).cast(pl.String).fill_null(NOT_GIVEN).value_counts(normalize=True)
        found[name] = {level: round(share, 6) for level, share in counts.iter_rows()}
    return found


def drift(
    model: CauseModel, then: Profile, expected: float | None, calls: pl.DataFrame, episodes: pl.DataFrame
) -> Drift:
    """Compare later calls with those of the fit.

    Parameters
    ----------
    model : CauseModel
    then : dict
        Profile of the training calls.
    expected : float or None
        Log loss that the evaluation found.
    calls : DataFrame
        Rows of marts.intake opened since.
    episodes : DataFrame
        Confirmed rows of marts.training opened since, mature.
    """
    moved = _moved(then, profile(calls, model.symptoms)) if calls.height >= LEAST_CALLS else []
    loss = None
    if episodes.height >= LEAST_CALLS:
        truth = columns_of(episodes["final_cause"], model.codes)
        units = episodes["unit_hash"].to_numpy()
        loss = cluster_means(log_losses(model.chances(episodes), truth)[:, None], units)[0]
    return Drift(calls.height, moved, episodes.height, loss, expected)


def _moved(then: Profile, now: Profile) -> list[dict[str, Any]]:
    rows = []
    for answer, shares in now.items():
        before = then.get(answer, {})
        levels = sorted({*shares, *before})
        differences = {level: shares.get(level, 0.0) - before.get(level, 0.0) for level in levels}
        distance = sum(map(abs, differences.values())) / 2
        if distance >= MOVED:
            most = max(levels, key=lambda level: abs(differences[level]))
            rows.append(
                {
                    "answer": answer,
                    "distance": distance,
                    "level": most,
                    "share_then": before.get(most, 0.0),
                    "share_now": shares.get(most, 0.0),
                }
            )
    return sorted(rows, key=lambda row: -row["distance"])
