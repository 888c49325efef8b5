"""The evidence of the model card, exhibit by exhibit."""

from collections.abc import Mapping
from typing import Any, Protocol

from dash import html
from dash.development.base_component import Component

from dashboard.address import href
from dashboard.components.exhibit import chart, exhibit, keep_csv, keep_png
from dashboard.components.table import Cell, Table, column, interval_mark, noted
from dashboard.figures.calibration import calibration
from dashboard.words import capital, counted, number

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


class Evaluated(Protocol):
    """An evaluation, as far as its chances are drawn."""

    @property
    def calibration(self) -> list[dict[str, Any]]:
        """Bins of chances."""

    @property
    def calibration_error(self) -> float:
        """Mean distance of chances from what came true."""


def _between(row: Mapping[str, Any], name: str, percent: bool = False) -> Cell:
    value, low, high = row[name], row[f"{name}_low"], row[f"{name}_high"]
    if percent:
        return noted(f"{100 * value:.1f}%", f"{100 * low:.1f} to {100 * high:.1f}")
    return noted(f"{value:.3f}", f"{low:.3f} to {high:.3f}")


def scores_exhibit(rows: list[dict[str, Any]]) -> Component:
    """Return how good the chances were, beside what everybody could look up."""
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


def calibration_exhibit(judged: Evaluated) -> Component:
    """Return how often causes were there that were given a chance."""
    rows = judged.calibration
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
    off = 100 * judged.calibration_error
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


def worth_exhibit(rows: list[dict[str, Any]]) -> Component:
    """Return what is lost without each answer."""
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


def causes_exhibit(rows: list[dict[str, Any]], labels: Mapping[str, str]) -> Component:
    """Return how often each cause was found."""
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


def orders_exhibit(orders: Mapping[str, Any]) -> Component:
    """Return what orders of checks cost on held-out calls."""
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


def learning_exhibit(rows: list[dict[str, Any]]) -> Component:
    """Return how much more calls help."""
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


def chosen_exhibit(rows: list[dict[str, Any]]) -> Component:
    """Return the models tried."""
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
