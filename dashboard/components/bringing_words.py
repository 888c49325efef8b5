"""The words of a file that are not understood, most frequent first, each beside what it can mean."""

from collections.abc import Callable, Mapping, Sequence
from typing import Any

from dash import html
from dash.development.base_component import Component

from analytics.intake.bringing import Stage
from analytics.intake.bringing_answers import Answers
from dashboard.components.choice import Choice, Option
from dashboard.components.exhibit import exhibit
from dashboard.words import counted, listed

Labels = Callable[[str], Mapping[str, str]]


def words_asked(stage: Stage, answers: Answers, labels: Labels) -> list[Component]:
    """Return the words of coded columns, those not understood first."""
    blocks: list[Component] = []
    for name, asked in stage.suggested["words"].items():
        places = [answers.columns[each] for each in asked["columns"] if each in answers.columns]
        if not places or not (asked["unknown"] or asked["known"]):
            continue
        header = listed([stage.look["header"][place] for place in places])
        meant = labels(asked["field"])
        said = answers.words.get(asked["field"], {})
        parts: list[Component] = [html.H3(header)]
        parts += [_word(name, "unknown", nth, each, meant, said) for nth, each in enumerate(asked["unknown"])]
        if asked["more"]:
            parts.append(
                html.P(f"{counted(asked['more'], 'word')} more are kept as written, and listed on Data.")
            )
        known = [_word(name, "known", nth, each, meant, said) for nth, each in enumerate(asked["known"])]
        if known:
            summary = html.Summary(f"{counted(len(known), 'word')} understood")
            parts.append(html.Details([summary, *known], className="twin"))
        blocks.append(html.Div(parts, className="map-words"))
    if not blocks:
        return []
    unknown = any(each["unknown"] for each in stage.suggested["words"].values())
    finding = "What do these words mean?" if unknown else "Its words are understood"
    lead = "Most frequent first. What you leave open is kept as written, and counted as not recognised."
    return [exhibit(finding, blocks, lead=lead if unknown else "", id="words")]


def _word(
    name: str,
    kind: str,
    nth: int,
    entry: Sequence[Any],
    meant: Mapping[str, str],
    said: Mapping[str, list[str]],
) -> Component:
    text, rows, taken_for = entry
    options: list[Option] = [("", "leave it open"), *((code, label) for code, label in meant.items())]
    chosen = said[text][0] if said.get(text) else taken_for
    before = f"“{text}”, in {counted(rows, 'row')}"
    return Choice(
        f"word-{name}-{kind}-{nth}",
        f"word.{name}.{kind}.{nth}",
        options,
        chosen,
        before=before,
        layout="block",
    )
