"""Habits as exhibits: steps not recorded before a diagnosis, and how calls fared with and without them."""

from typing import Any

from dash import html
from dash.development.base_component import Component

from analytics.filters import Filters
from analytics.questions.habits import OUTCOMES, Habits
from dashboard.address import href
from dashboard.components.answer import Words
from dashboard.components.exhibit import exhibit, keep_csv
from dashboard.components.table import (
    Cell,
    Table,
    column,
    interval_mark,
    interval_text,
    link,
    nice_scale,
    noted,
    share_text,
)
from dashboard.words import capital, counted, interval, number, percent

NOT_DONE = "Not recorded is not the same as not done."
NO_PROOF = (
    "Steps are taken because something is suspected, and hard calls get more of them: an association is "
    "no proof that the step would have helped."
)
OUTCOME_WORDS = {
    "different": "Taken for something else",
    "came_back": "Came back",
    "minutes": "Minutes on returns, a call",
}


def to_habit(filters: Filters, subset: str, habit: str) -> str:
    """Return the address of the calls behind a number about a habit."""
    return href("/calls", filters, subset=subset, only=habit)


def habits_in_words(filters: Filters, found: Habits) -> Words:
    """Return the sentence on the step that is most often not recorded, and on what followed."""
    rows = found.habits.filter(found.habits["calls"] > 0)
    if rows.is_empty():
        return []
    row = rows.row(0, named=True)
    over = html.A(number(row["not_recorded"]), href=to_habit(filters, "habit_missing", row["habit"]))
    of = html.A(number(row["calls"]), href=to_habit(filters, "habit_calls", row["habit"]))
    share = percent(row["rate"], row["calls"])
    limits = interval(row["low"], row["high"], row["calls"])
    said = html.Strong(row["label"])
    words: Words = [f"Most often not recorded {row['before']}: ", said, ", on ", over]
    words += [" of ", of, f" calls ({share}; 95% interval {limits}). " if share else " calls. "]
    worse = [each for each in found.fared.filter("differs").iter_rows(named=True) if each["difference"] > 0]
    if not worse:
        return [*words, "No step that is missing goes with worse calls by more than chance."]
    return [*words, capital(_said(found, worse[0])) + "."]


def _said(found: Habits, row: dict[str, Any]) -> str:
    label = dict(found.habits.select("habit", "label").rows())[row["habit"]]
    what = {"different": "were first taken for something else", "came_back": "came back"}.get(row["outcome"])
    amount = (
        f"more often by {_points(row)}" if what else f"{number(row['difference'], 1)} minutes more on returns"
    )
    did = f"{what} {amount}" if what else f"took {amount}"
    chance = "more than chance, which is no proof that the step would have helped"
    return f"without “{label}” calls {did} (95% interval {_limits(row)}), {chance}"


def _points(row: dict[str, Any]) -> str:
    return f"{100 * abs(row['difference']):.1f} points"


def _limits(row: dict[str, Any]) -> str:
    if row["low"] is None:
        return ""
    factor, unit = (1, "") if row["outcome"] == "minutes" else (100, " points")
    low, high = (round(factor * row[name], 1) + 0.0 for name in ("low", "high"))  # no minus before none
    return f"{low:.1f} to {high:.1f}{unit}"


def habits_exhibit(filters: Filters, found: Habits) -> Component | None:
    """Return the exhibit of how often each step is not recorded."""
    rows = found.habits.filter(found.habits["calls"] > 0)
    if rows.is_empty():
        return None
    sure = [row["high"] for row in rows.iter_rows(named=True) if percent(0.0, row["calls"])]
    scale = min(1.0, nice_scale(max(sure, default=1.0)))
    columns = [
        column("Step"),
        column("Not recorded, 95% interval", "mark", scale=scale, ends=["0%", f"{100 * scale:g}%"]),
        column("Not recorded", "rate"),
        column("Calls", "number"),
        column("95% interval", "number"),
        column("Middle half of technicians", "number"),
        column("Mostly missing", "number"),
    ]
    first = rows.row(0, named=True)
    return exhibit(
        f"Most often not recorded: {first['label']}",
        Table(
            "Steps not recorded",
            columns,
            [_habit_row(filters, row) for row in rows.iter_rows(named=True)],
            layout="marks",
        ),
        lead=[
            f"On the first visit, or told by the customer; the proof on any visit. {NOT_DONE} Middle half "
            "of technicians: between which shares it lies, of those with at least 20 such calls; mostly "
            "missing: how many of them do not record it on more than half. ",
            *_left_out(found),
        ],
        tools=[keep_csv(href("/export.csv", filters, table="habits"), "steps not recorded")],
        id="habits",
    )


def _left_out(found: Habits) -> list[Component | str]:
    if not found.calls_left_out:
        return []
    return [
        f"Left out: {counted(found.calls_left_out, 'call')} of "
        f"{counted(found.technicians_left_out, 'technician')} who record checks on fewer than half of their "
        "visits."
    ]


def _habit_row(filters: Filters, row: dict[str, Any]) -> list[Cell]:
    enough = percent(row["rate"], row["calls"])
    counts = f"{number(row['not_recorded'])} of {number(row['calls'])}"
    spread = "too few"
    if row["technicians"] >= 4:
        spread = f"{100 * row['lower_quarter']:.0f} to {100 * row['upper_quarter']:.0f}%"
    several = f"{number(row['more_than_half'])} of {number(row['technicians'])}"
    return [
        noted(capital(row["label"]), row["before"]),
        interval_mark(row["rate"], row["low"], row["high"]) if enough else "",
        share_text(row["rate"], row["calls"]),
        link(
            counts, to_habit(filters, "habit_missing", row["habit"]), f"{counts} not recorded, {row['label']}"
        ),
        interval_text(row["low"], row["high"], row["calls"]),
        spread,
        several if row["technicians"] else "",
    ]


def fared_exhibit(filters: Filters, found: Habits) -> Component | None:
    """Return the exhibit of how calls fared without and with each step."""
    rows = found.fared.filter((found.fared["without_calls"] > 0) & (found.fared["with_calls"] > 0))
    if rows.is_empty():
        return None
    labels = dict(found.habits.select("habit", "label").rows())
    order = {code: at for at, code in enumerate(labels)}
    shown = sorted(
        rows.iter_rows(named=True), key=lambda row: (order[row["habit"]], OUTCOMES.index(row["outcome"]))
    )
    columns = [
        column("Step, and what became of the calls"),
        column("Without it", "number"),
        column("With it", "number"),
        column("Difference, held equal", "rate"),
        column("95% interval", "number"),
        column("More than chance", "number"),
    ]
    beyond = int(rows["differs"].sum())
    finding = (
        f"{number(beyond)} of {number(rows.height)} differences are more than chance"
        if beyond
        else "How calls fared without a step can not be told from chance"
    )
    return exhibit(
        finding,
        Table(
            "How calls fared without and with each step",
            columns,
            [_fared_row(filters, row, labels[row["habit"]]) for row in shown],
            layout="stack",
        ),
        lead="Difference: without less with, among calls of the same kind of complaint, product family "
        "and age of the filter; the interval knows that calls of one technician and of one unit hang "
        f"together. More than chance: corrected for all the looks of this table. {NO_PROOF}",
        tools=[keep_csv(href("/export.csv", filters, table="habits_fared"), "how calls fared")],
        id="fared",
    )


def _fared_row(filters: Filters, row: dict[str, Any], label: str) -> list[Cell]:
    minutes = row["outcome"] == "minutes"
    told = row["difference"] is not None and row["low"] is not None
    difference = f"{row['difference']:+.1f}" if minutes and told else ""
    if told and not minutes:
        difference = f"{100 * row['difference']:+.1f} points"
    return [
        noted(capital(label), OUTCOME_WORDS[row["outcome"]]),
        *[_side(filters, row, name, label) for name in ("without", "with")],
        difference or "too few",
        _limits(row),
        ("yes" if row["differs"] else "no") if told else "",
    ]


def _side(filters: Filters, row: dict[str, Any], name: str, label: str) -> Cell:
    calls = row[f"{name}_calls"]
    if row["outcome"] == "minutes":
        return noted(number(row[name], 1), counted(calls, "call"))
    counts = f"{number(row[f'{name}_sum'])} of {number(calls)}"
    stem = "missing" if name == "without" else "recorded"
    words = f"{counts}, {OUTCOME_WORDS[row['outcome']].lower()}, {name} {label}"
    address = to_habit(filters, f"habit_{stem}_{row['outcome']}", row["habit"])
    return link(share_text(row[name], calls), address, words, note=counts)
