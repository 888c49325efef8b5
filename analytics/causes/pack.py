"""The pack: everything the New call page computes from without a network, as plain values for JSON."""

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
import polars as pl

from analytics.catalogue import Catalogue
from analytics.causes.answers import ANSWERS, COMPLAINT
from analytics.causes.classifier import MISSING, CauseClassifier, spline
from analytics.causes.facts import CheckFacts
from analytics.causes.features import SYMPTOM
from analytics.causes.keeping import KeptModel

POINTS = 12
"""Pieces of a straight line that stand for a curve between two of its knots."""
DIGITS = 4
NEVER_MET = "\x00"
"""Stands for every level that no call had that was fitted to."""
PARTS_OF = ("label", "unit", "low", "high", "stop", "state", "says")


def pack(
    kept: KeptModel,
    catalogue: Catalogue,
    facts: CheckFacts,
    similar: pl.DataFrame,
    by_telephone: Mapping[str, tuple[int, int]],
    made: Mapping[str, int],
    part_costs: Mapping[str, float],
) -> dict[str, Any] | None:
    """Return the pack; None where the model taken has no form that a browser can compute.

    Parameters
    ----------
    kept : KeptModel
    catalogue : Catalogue
    facts : CheckFacts
    similar : DataFrame
        Rows of sql/causes/similar.sql.
    by_telephone : mapping of str to (int, int)
        Cause -> calls settled without a visit, and calls.
    made : mapping of str to int
        Check -> how often it was made.
    part_costs : mapping of str to float
    """
    classifier = kept.model.classifier
    if not isinstance(classifier, CauseClassifier):
        return None
    evaluation = kept.about["evaluation"]
    return {
        "made_of": {
            "data_of": (kept.about["data_of"] or "")[:10],
            "fitted_until": kept.about["fitted_at"][:10],
            "episodes": kept.about["counts"]["learned_from"],
            "note": _note(evaluation),
        },
        "model": model_in_numbers(classifier, kept.model.codes, kept.model.rarer),
        "causes": {
            code: {
                "label": cause.label,
                "whose": list(cause.whose),
                "signs": cause.signs,
                "by_phone": dict(zip(("fixed", "of"), by_telephone.get(code, (0, 0)), strict=True)),
            }
            for code, cause in catalogue.causes.items()
            if code in kept.model.codes
        },
        "checks": _checks(catalogue, facts, made),
        "setups": {
            code: {
                "label": setup.label, "minutes": setup.minutes, "built_in_minutes": setup.built_in_minutes
            }
            for code, setup in catalogue.setups.items()
        },
        "cautions": dict(catalogue.cautions),
        "second_visit_minutes": round(facts.second_visit_minutes, 1),
        "parts": {
            code: {
                "label": part.label,
                "answers": list(part.answers),
                "cost": round(part_costs[code], 2) if code in part_costs else None,
                "van_stock": part.van_stock,
            }
            for code, part in catalogue.parts.items()
        },
        "questions": _questions(catalogue, kept.about["answered"]),
        "similar": _similar(similar),
    }  # fmt: skip


def model_in_numbers(classifier: CauseClassifier, codes: Sequence[str], rarer: np.ndarray) -> dict[str, Any]:
    """Return the classifier as sums of effects: of each level, and of quantities at points."""
    parts = classifier.parts()
    levels: dict[str, dict[str, list[float]]] = {}
    other: dict[str, list[float]] = {}
    for n, name in enumerate(classifier.levels_):
        known = [str(level) for level in classifier.encoder_.categories_[n]]
        words = np.full((len(known) + 2, len(classifier.levels_)), MISSING, dtype=object)
        # a call without a complaint that was recognised was learned as one without each symptom
        words[:, n] = [*known, "0" if name.startswith(SYMPTOM) else MISSING, NEVER_MET]
        terms = classifier.encoder_.transform(words)[:, parts[name]]
        effects = [_rounded(row) for row in terms @ classifier.coef_[:, parts[name]].T]
        named = [("yes" if level == "1" else "no") if name.startswith(SYMPTOM) else level for level in known]
        other[name] = effects.pop()
        levels[name] = dict(zip([*named, MISSING], effects, strict=True))
    # complaints of several symptoms are many: those too rare for an effect of their own are left out
    if complaints := levels.get(COMPLAINT):
        rare = other[COMPLAINT]
        levels[COMPLAINT] = {said: row for said, row in complaints.items() if said == MISSING or row != rare}
    smooth: dict[str, dict[str, Any]] = {}
    for name in classifier.quantities_:
        knots = classifier.knots_[name][:, 0]
        scaled = _between(knots)
        effects = spline(knots[:, None]).transform(scaled[:, None]) @ classifier.coef_[:, parts[name]].T
        smooth[name] = {
            "at": _rounded(np.sign(scaled) * np.expm1(np.abs(scaled))),
            "effects": [_rounded(row) for row in effects],
            "": [0.0] * len(classifier.classes_),
        }
    return {
        "causes": [str(code) for code in classifier.classes_],
        "intercept": _rounded(classifier.intercept_),
        "temperature": classifier.temperature,
        "levels": levels,
        "other": other,
        "smooth": smooth,
        "average": {str(name): _rounded(row) for name, row in classifier.average_effects().items()},
        "rarer": {
            code: round(float(share), 6) for code, share in zip(codes, rarer, strict=True) if share > 0
        },
    }


def _between(knots: np.ndarray) -> np.ndarray:
    """Return the knots of a spline and points between them, which lie close together where the knots do."""
    inner = np.interp(np.arange(POINTS * (len(knots) - 1) + 1) / POINTS, np.arange(len(knots)), knots)
    return np.asarray(np.unique(inner))


def _rounded(values: np.ndarray) -> list[float]:
    return [round(float(value), DIGITS) for value in values]


def _note(evaluation: Mapping[str, Any]) -> str:
    ours = next(row for row in evaluation["scores"] if row["who"] == "model" and row["among"] == "confirmed")
    return (
        f"On {ours['episodes']:,} later calls the cause was the likeliest one in {100 * ours['top1']:.0f}%, "
        f"and among the three likeliest in {100 * ours['top3']:.0f}%."
    )


def _checks(catalogue: Catalogue, facts: CheckFacts, made: Mapping[str, int]) -> list[dict[str, Any]]:
    limits: dict[str, list[dict[str, Any]]] = {}
    for code, limit in catalogue.limits.items():
        if limit.check:
            plain = {name: getattr(limit, name) for name in PARTS_OF}
            also = dict(limit.also) if limit.also else None
            limits.setdefault(limit.check, []).append({"code": code, **plain, "also": also})
    checks = []
    for n, code in enumerate(facts.codes):
        check = catalogue.checks[code]
        shown = {
            cause: round(float(share), DIGITS)
            for cause, share in zip(facts.causes, facts.reveals[n], strict=True)
            if share > 0
        }
        checks.append(
            {
                "code": code,
                "label": check.label,
                "tells": check.tells,
                "minutes": round(float(facts.minutes[n]), 2),
                "beside_minutes": check.beside_minutes,
                "setups": list(facts.setups[n]),
                "caution": check.caution,
                "cautions": list(check.cautions),
                "reveals": shown,
                "false_finding": round(float(facts.false_findings[n]), DIGITS),
                "made": made.get(code, 0),
                "limits": limits.get(code, []),
            }
        )
    return checks


def _questions(catalogue: Catalogue, answered: Mapping[str, Any]) -> list[dict[str, Any]]:
    symptoms = [{"code": each.code, "label": each.label} for each in catalogue.symptoms.values()]
    asked = [{"field": COMPLAINT, "label": "complaint", "levels": symptoms, "chances": {}}]
    for name in ANSWERS:
        levels = [{"code": code, "label": label} for code, label in catalogue.labels(name).items()]
        asked.append(
            {
                "field": name,
                "label": catalogue.fields[name].label,
                "levels": levels,
                "chances": answered.get(name, {}),
            }
        )
    return asked


def _similar(rows: pl.DataFrame) -> list[dict[str, Any]]:
    """Return finished calls with the answers that they had."""
    found = []
    for row in rows.iter_rows(named=True):
        answers = {name: row[name] for name in ANSWERS if row[name] is not None}
        answers |= {SYMPTOM + code: "yes" for code in row["symptoms"]}
        found.append(
            {
                "call_id": row["call_id"],
                "closed_on": row["closed_on"].isoformat(),
                "cause": row["final_cause"],
                "parts": row["parts"],
                "answers": answers,
            }
        )
    return found
