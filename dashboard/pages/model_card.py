"""How far can the likely cause be trusted? What the model was made of, and how good it was on the future."""

from collections.abc import Mapping
from typing import Any

from dash import html
from dash.development.base_component import Component

from analytics.causes.card import LIMITS, USE
from analytics.fleet_causes import ModelCard
from dashboard.address import href
from dashboard.components.answer import Words, answer
from dashboard.components.exhibit import chart, exhibit, keep_csv, keep_png
from dashboard.components.page import beside, counted_how, evidence, page
from dashboard.components.states import notices, state
from dashboard.components.table import Cell, Table, column, interval_mark, noted
from dashboard.figures.calibration import calibration
from dashboard.pages.view import Content, Page, View
from dashboard.words import capital, counted, number

QUESTION = "How far can the likely cause be trusted?"
AMONG = {
    "confirmed": "calls with a confirmed cause",
    "units never seen": "of them, on units never seen before",
    "probable": "calls whose cause is only probable",
}
WHO = {
    "model": "This model",
    "overall shares": "Shares of causes",
    "shares by kind of complaint": "Shares by complaint",
}
ORDERS = {
    "model": "By this model",
    "technicians": "As technicians went",
    "fixed": "Best fixed order",
    "clairvoyant": "At least, knowing the cause",
}
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
            _scores(judged.scores),
            beside(_calibration(found), _worth(judged.worth), layout=""),
            _causes(judged.recalls, causes),
            beside(_orders(judged.orders), _learning(judged.learning), layout=""),
            _chosen(judged.tried),
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


def _between(row: Mapping[str, Any], name: str, percent: bool = False) -> Cell:
    value, low, high = row[name], row[f"{name}_low"], row[f"{name}_high"]
    if percent:
        return noted(f"{100 * value:.1f}%", f"{100 * low:.1f} to {100 * high:.1f}")
    return noted(f"{value:.3f}", f"{low:.3f} to {high:.3f}")


def _scores(rows: list[dict[str, Any]]) -> Component:
    columns = [
        column("Who"), column("Calls", "number"), column("Named first", "rate"), column("Among three",
        "number"),
        column("Log loss", "number"), column("Brier score", "number"),
    ]  # fmt: skip
    cells: list[list[Cell]] = [
        [
            noted(WHO[row["who"]], AMONG[row["among"]]),
            number(row["episodes"]),
            _between(row, "top1", percent=True),
            _between(row, "top3", percent=True),
            _between(row, "log_loss"),
            _between(row, "brier"),
        ]
        for row in rows
    ]
    ours = rows[0]
    return exhibit(
        f"The cause was among the three likeliest in {100 * ours['top3']:.0f} of 100 later calls",
        Table("How good the chances were, with 95% intervals", columns, cells, layout="stack"),
        lead="Beside what everybody could look up: the shares of causes, overall and by kind of complaint.",
        tools=[keep_csv(href("/export.csv", None, table="model_scores"), "scores")],
    )


def _calibration(found: ModelCard) -> Component:
    rows = found.evaluation.calibration
    columns = [
        column("Chance given"),
        column("Was there", "rate"),
        column("Counts", "number"),
        column("95% interval", "number"),
    ]
    cells: list[list[Cell]] = [
        [
            f"{100 * row['mean_chance']:.0f}%",
            f"{100 * row['share']:.0f}%" if row["given"] >= 5 else "too few",
            f"{number(row['there'])} of {number(row['given'])}",
            f"{100 * row['share_low']:.0f} to {100 * row['share_high']:.0f}%",
        ]
        for row in rows
    ]
    off = 100 * found.evaluation.calibration_error
    return exhibit(
        f"Chances are off by {off:.1f} points on average",
        [
            chart(
                "calibration", calibration(rows), "How often causes were there, by the chance given to them."
            ),
            Table("How often causes were there, by the chance given", columns, cells),
        ],
        lead="A chance of 30% that is right comes true in 30 of 100.",
        tools=[
            keep_png(
                href("/figure.json", None, chart="calibration"), "chances-and-what-came-true", "chances"
            ),
            keep_csv(href("/export.csv", None, table="model_calibration"), "chances"),
        ],
    )


def _worth(rows: list[dict[str, Any]]) -> Component:
    columns = [
        column("Answer"),
        column("Given", "number"),
        column("Lost without it", "rate"),
        column("95% interval", "number"),
    ]
    cells: list[list[Cell]] = [
        [
            capital(row["answer"].replace("_", " ")),
            f"{100 * row['given']:.0f}%",
            f"{row['lost']:.3f}",
            f"{row['low']:.3f} to {row['high']:.3f}",
        ]
        for row in rows
    ]
    best = [row["answer"].replace("_", " ") for row in rows if row["low"] > 0][:2]
    return exhibit(
        f"Worth most: {' and '.join(best)}" if best else "No answer is worth more than chance",
        Table("Log loss more without each answer, nats", columns, cells),
        lead="How much less is known where an answer is never asked.",
        tools=[keep_csv(href("/export.csv", None, table="model_answers"), "answers")],
    )


def _causes(rows: list[dict[str, Any]], labels: Mapping[str, str]) -> Component:
    columns = [
        column("Cause"),
        column("Calls", "number"),
        column("Named first", "rate"),
        column("", "mark", scale=1.0, ends=["0%", "100%"]),
        column("Among three", "number"),
        column("Mean chance", "number"),
    ]
    cells: list[list[Cell]] = [
        [
            capital(labels.get(row["cause"], row["cause"])),
            number(row["episodes"]),
            f"{100 * row['first']:.0f}%" if row["episodes"] >= 5 else "too few",
            interval_mark(row["first"], row["first_low"], row["first_high"]),
            noted(
                f"{100 * row['among_three']:.0f}%" if row["episodes"] >= 5 else "too few",
                f"{100 * row['three_low']:.0f} to {100 * row['three_high']:.0f}",
            ),
            f"{100 * row['mean_chance']:.0f}%",
        ]
        for row in rows
    ]
    known = [row for row in rows if row["episodes"] >= 20]
    hard = min(known, key=lambda row: row["among_three"]) if known else None
    return exhibit(
        f"Hardest to tell: {labels.get(hard['cause'], hard['cause'])}" if hard else "Cause by cause",
        Table("How often each cause was found, where it was there", columns, cells, layout="marks"),
        lead="Of later calls with that cause: how often it was named first, and among three.",
        tools=[keep_csv(href("/export.csv", None, table="model_causes"), "causes")],
    )


def _orders(orders: Mapping[str, Any]) -> Component:
    if not orders:
        return exhibit(
            "No checks to judge orders by",
            html.P("Load the checks file, and the order of checks is judged here.", className="prose"),
        )
    columns = [column("Order"), column("Minutes", "rate"), column("95% interval", "number")]
    cells: list[list[Cell]] = [
        [ORDERS[name], f"{mean['minutes']:.1f}", f"{mean['low']:.1f} to {mean['high']:.1f}"]
        for name, mean in orders["means"].items()
    ]
    saved = orders["saved"]["technicians"]
    more = f"{saved['minutes']:.0f} minutes a call ({saved['low']:.0f} to {saved['high']:.0f})"
    finding = (
        f"Its order of checks would save {more}"
        if saved["low"] > 0
        else "Its order of checks saves nothing for certain"
    )
    return exhibit(
        finding,
        Table("Expected minutes to the fault, by order of checks", columns, cells),
        lead=f"On {counted(orders['calls'], 'held-out call')}; a fault that is missed costs "
        f"{orders['second_visit_minutes']:.0f} minutes.",
    )


def _learning(rows: list[dict[str, Any]]) -> Component:
    columns = [column("Learned from", "number"), column("Log loss", "rate"), column("95% interval", "number")]
    cells: list[list[Cell]] = [
        [number(row["episodes"]), f"{row['log_loss']:.3f}", f"{row['low']:.3f} to {row['high']:.3f}"]
        for row in rows
    ]
    helps = len(rows) > 1 and rows[-2]["log_loss"] - rows[-1]["log_loss"] > 0.02
    return exhibit(
        "More calls would still help" if helps else "More calls would hardly help",
        Table("Log loss by how many calls it learns from", columns, cells),
        lead="The latest calls of the time it learned from, doubled again and again.",
    )


def _chosen(rows: list[dict[str, Any]]) -> Component:
    names = {"logistic": "Multinomial logistic regression", "boosted": "Gradient boosted trees"}
    columns = [
        column("Model"),
        column("Log loss", "rate"),
        column("Gain over the simplest", "number"),
        column("Taken"),
    ]
    cells: list[list[Cell]] = [
        [
            names[row["name"]],
            f"{row['log_loss']:.3f}",
            ""
            if row["gain"] is None
            else noted(f"{row['gain']:.3f}", f"{row['gain_low']:.3f} to {row['gain_high']:.3f}"),
            "yes" if row["taken"] else "no",
        ]
        for row in rows
    ]
    taken = next(row for row in rows if row["taken"])
    return exhibit(
        f"{names[taken['name']]} was taken",
        Table("Models tried, on later calls that were not judged on above", columns, cells),
        lead="A gain that may be below 0.02 nats is a tie, and the simpler model is taken.",
    )


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
