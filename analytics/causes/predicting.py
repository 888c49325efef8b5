"""From a call to its likely causes, the order of checks, the next question and the parts to bring."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import polars as pl

from analytics.causes.answers import ANSWERS, COMPLAINT
from analytics.causes.classifier import CauseClassifier
from analytics.causes.explaining import Moved, moved
from analytics.causes.facts import CheckFacts
from analytics.causes.features import as_features
from analytics.causes.model import CauseModel, Floats
from analytics.causes.next_question import Question, rank_questions
from analytics.causes.order import Order, order_of_checks
from analytics.causes.telling_apart import Apart, tells_apart
from analytics.causes.van_parts import PartFacts, Parts, parts_for_the_day, parts_to_bring

ENOUGH = 0.6
"""Share that the three likeliest causes must have together; of less there is not enough to tell."""
LEAST_ANSWERED = 2
"""Answers without which there is not enough to tell, the complaint among them."""
COVERED = 0.8
"""Share of the probability that the parts to bring cover unless another is asked for."""

Answered = Mapping[str, Mapping[str, Mapping[str, float]]]


@dataclass(frozen=True)
class Prediction:
    """What is likely, and what to do about it.

    Parameters
    ----------
    call_id : str
    causes : list of (code, chance)
        Likeliest first, all of them.
    enough : bool
        Whether there is enough to tell.
    moved : list of Moved
        Answers that moved the likeliest cause; empty where the model gives no such reasons.
    order : Order
    apart : Apart or None
        What tells the two likeliest apart.
    questions : list of Question
        Unanswered ones, the most useful first.
    parts : Parts
    """

    call_id: str
    causes: list[tuple[str, float]]
    enough: bool
    moved: list[Moved]
    order: Order
    apart: Apart | None
    questions: list[Question]
    parts: Parts


def predict(
    model: CauseModel,
    intake: pl.DataFrame,
    facts: CheckFacts,
    parts: PartFacts,
    answered: Answered,
    share: float = COVERED,
) -> list[Prediction]:
    """Predict for rows of marts.intake.

    Parameters
    ----------
    model : CauseModel
    intake : DataFrame
    facts : CheckFacts
    parts : PartFacts
    answered : mapping
        Question -> cause -> level -> share of that level among calls of that cause that were asked.
    share : float
        Share of the probability that the parts are to cover.
    """
    features = as_features(intake, model.symptoms)
    chances = model.of_features(features)
    found = []
    for n, call_id in enumerate(intake["call_id"]):
        row, one = features[n], chances[n]
        order = np.argsort(-one, kind="stable")
        likeliest = model.codes[order[0]]
        found.append(
            Prediction(
                call_id=call_id,
                causes=[(model.codes[at], float(one[at])) for at in order],
                enough=_enough(row, one),
                moved=_moved(model, row, likeliest),
                order=order_of_checks(facts, one),
                apart=tells_apart(facts, one),
                questions=rank_questions(facts, one, _open_questions(model, row, one, answered)),
                parts=parts_to_bring(parts, one, share),
            )
        )
    return found


def for_the_day(found: Sequence[Prediction], parts: PartFacts, share: float = COVERED) -> dict[str, int]:
    """Return one list of parts for several calls: how many of each, enough with that chance."""
    if not found:
        return {}
    chances = np.array([[dict(each.causes)[code] for code in parts.causes] for each in found])
    return parts_for_the_day(parts, chances, share)


def _enough(row: pl.DataFrame, chances: Floats) -> bool:
    given = sum(row[name].null_count() == 0 for name in (COMPLAINT, *ANSWERS))
    return given >= LEAST_ANSWERED and float(np.sort(chances)[-3:].sum()) >= ENOUGH


def _moved(model: CauseModel, row: pl.DataFrame, cause: str) -> list[Moved]:
    if not isinstance(model.classifier, CauseClassifier):
        return []
    return moved(model.classifier, row, cause)[0]


def _open_questions(
    model: CauseModel, row: pl.DataFrame, chances: Floats, answered: Answered
) -> dict[str, tuple[Floats, Floats]]:
    """Return, for each question not answered, how likely each level is and what the chances would then be."""
    questions = {}
    for name, by_cause in answered.items():
        if row[name].null_count() == 0:
            continue
        levels = sorted({level for shares in by_cause.values() for level in shares})
        if not levels:
            continue
        told = np.array(
            [[by_cause.get(code, {}).get(level, 0.0) for code in model.codes] for level in levels]
        )
        likely = told @ chances
        if likely.sum() <= 0:
            continue
        asked = pl.concat([row] * len(levels)).with_columns(
            pl.Series(name, levels, dtype=pl.String).cast(row.schema[name])
        )
        questions[name] = (likely / likely.sum(), model.of_features(asked))
    return questions


def answered_by_cause(episodes: pl.DataFrame, codes: Sequence[str]) -> dict[str, dict[str, dict[str, float]]]:
    """Return the share of each level among calls of each cause that were asked, pulled towards all calls.

    Parameters
    ----------
    episodes : DataFrame
        Confirmed rows of marts.training.
    codes : sequence of str

    Returns
    -------
    dict
        Question -> cause -> level -> share; levels that say "don't know" are among them.
    """
    found: dict[str, dict[str, dict[str, float]]] = {}
    for name in ANSWERS:
        asked = episodes.select("final_cause", pl.col(name).alias("level")).drop_nulls()
        counts: dict[str, Any] = {
            row[0]: row[1] for row in asked.group_by("level").len().sort("level").iter_rows()
        }
        total = sum(counts.values())
        if not total:
            continue
        usual = {level: count / total for level, count in counts.items()}
        of_cause = dict(asked.group_by("final_cause").len().iter_rows())
        both = {row[:2]: row[2] for row in asked.group_by("final_cause", "level").len().iter_rows()}
        found[name] = {
            code: {
                level: round((both.get((code, level), 0) + PULL * share) / (of_cause.get(code, 0) + PULL), 5)
                for level, share in usual.items()
            }
            for code in codes
        }
    return found


PULL = 5
"""Calls of all causes that the answers of each cause are pulled by (our convention)."""
