"""How far can the likely cause be trusted? What the model was made of, and how good it was on the future."""

from collections.abc import Mapping
from typing import Any

from dash import html
from dash.development.base_component import Component

from analytics.fleet_causes import ModelCard
from analytics.questions.trust import LIMITS, USE
from dashboard.components.answer import Words, answer
from dashboard.components.model_card import (
    calibration_exhibit,
    causes_exhibit,
    chosen_exhibit,
    learning_exhibit,
    orders_exhibit,
    scores_exhibit,
    worth_exhibit,
)
from dashboard.components.page import beside, counted_how, evidence, page
from dashboard.components.states import notices, state
from dashboard.pages.view import Content, Page, View
from dashboard.words import counted, number

QUESTION = "How far can the likely cause be trusted?"
NATS = (
    "Log loss is minus the natural logarithm of the chance given to what it turned out to be, on "
    "average: 0 is "
    "certain and right, and what gives every one of 30 causes the same chance has 3.4. Chances below one "
    "in a million count "
    "as that. The Brier score is the squared distance from what it turned out to be, over all causes "
    "(Brier 1950): 0 to 2."
)
HOW = (
    "Learned from are strings of returns whose window has passed and whose last cause is confirmed: a check "
    "that reveals it found it, or one part alone was fitted and held. The model sees what was known when the "
    "first call was rung in, and nothing later.",
    "It was fitted to calls whose cause was known before a day and judged on calls opened from that day on, "
    "which took no part in choosing it. Intervals come from a bootstrap over units.",
    NATS,
    "What each answer is worth: the model is fitted and asked again without it. An answer that says what "
    "another "
    "says already is worth little, however much it says.",
    "Minutes to the fault: each order of checks is followed on paper, with the shares that checks found "
    "until then and the "
    "minutes recorded; a fault that is missed costs a second visit. Technicians' own orders go on as the "
    "best "
    "fixed one where their record ends.",
)


def content(view: View) -> Content:
    """Return the page."""
    found = view.fleet.model_card()
    if found is None:
        return page(
            QUESTION,
            state(
                "No model was fitted yet",
                ["Fit one to the data as loaded: ", html.Code("service-calls fit")],
                "It learns from calls whose cause was confirmed by a check or by the part that held.",
            ),
        )
    judged = found.evaluation
    causes = view.fleet.labels("causes")
    return page(
        QUESTION,
        notices([USE]),
        answer(_in_words(found), _against(found), aside=_since(found)),
        evidence(
            scores_exhibit(judged.scores),
            beside(calibration_exhibit(judged), worth_exhibit(judged.worth), layout=""),
            causes_exhibit(judged.recalls, causes),
            beside(orders_exhibit(judged.orders), learning_exhibit(judged.learning), layout=""),
            chosen_exhibit(judged.tried),
        ),
        counted_how((*HOW, *LIMITS), _facts(found)),
    )


def _ours(found: ModelCard) -> Mapping[str, Any]:
    return next(
        row for row in found.evaluation.scores if row["who"] == "model" and row["among"] == "confirmed"
    )


def _in_words(found: ModelCard) -> Words:
    ours = _ours(found)
    calls = counted(ours["episodes"], "later call")
    first, three = (
        [100 * ours[f"{name}{end}"] for end in ("", "_low", "_high")] for name in ("top1", "top3")
    )
    return [
        f"On {calls}, what it turned out to be was the likeliest cause in ",
        html.Strong(f"{first[0]:.1f}%"),
        f" (95% interval {first[1]:.1f} to {first[2]:.1f}%), and among the three likeliest in ",
        html.Strong(f"{three[0]:.1f}%"),
        f" ({three[1]:.1f} to {three[2]:.1f}%).",
    ]


def _against(found: ModelCard) -> Words:
    judged = found.evaluation
    shares = next(row for row in judged.scores if row["who"] == "shares by kind of complaint")
    if judged.beats_both:
        return [
            "The shares of causes for each kind of complaint, which everybody could look up, name it "
            "first in "
            f"{100 * shares['top1']:.1f}%: the answers tell more, and more than chance."
        ]
    return ["It does not do better than shares of causes that everybody could look up: do not rely on it."]


def _since(found: ModelCard) -> Words:
    drift, about = found.drift, found.about
    fitted = f"Fitted on data that reach to {(about['data_of'] or '')[:10]}. "
    if not drift.calls:
        return [fitted + "Nothing was loaded since."]
    said = f"Since then {counted(drift.calls, 'call')} came in"
    if drift.log_loss is not None and drift.expected is not None:
        how = (
            "worse than it was found to do: fit it again"
            if drift.worse
            else "no worse than it was found to do"
        )
        said += f"; on {counted(drift.episodes, 'one', 'of them')} whose cause is known by now it does {how}"
    elif drift.episodes:
        said += f"; the cause of {number(drift.episodes)} is known, too few to say how it does"
    moved = "; ".join(_moved(row) for row in drift.moved[:3])
    return [fitted + said + (f". Answers differ: {moved}." if moved else ".")]


def _moved(row: Mapping[str, Any]) -> str:
    level = row["level"] or "not asked"
    shares = f"{100 * row['share_then']:.0f}% then, {100 * row['share_now']:.0f}% now"
    return f"{row['answer'].replace('_', ' ')} moved ({level}: {shares})"


def _facts(found: ModelCard) -> list[tuple[str, str | Component | list[str | Component]]]:
    counts = found.about["counts"]
    return [
        ("Strings of returns old enough", number(counts["mature"])),
        ("Learned from: the cause is confirmed", number(counts["learned_from"])),
        ("The cause is only probable", f"{number(counts['probable'])}; judged apart"),
        ("No fault found", f"{number(counts['no_fault_found'])}; left out"),
        ("No cause recognised, or none that is final", f"{number(counts['not_recognised'])}; left out"),
        ("Fitted", found.about["fitted_at"].replace("T", " ")),
        ("Made with", ", ".join(f"{name} {made}" for name, made in found.about["versions"].items())),
    ]


PAGE = Page("/model-card", "Model card", QUESTION, content, filtered=False, in_navigation=False)
"""Reads the evaluation that is kept with the model; computes nothing but what changed since."""
