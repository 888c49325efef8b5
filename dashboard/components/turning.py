"""Wrong turns as exhibits: the costliest, causes behind causes, and what each first thought came to."""

from typing import Any

import polars as pl
from dash import html
from dash.development.base_component import Component

from analytics.filters import Filters
from analytics.questions.wrong_turn_subsets import turn
from analytics.questions.wrong_turns import WrongTurns
from dashboard.address import href
from dashboard.components.assumed import options_of
from dashboard.components.exhibit import exhibit, keep_csv, keep_png, left_to_csv, twin
from dashboard.components.money import limits, money
from dashboard.components.table import (
    Cell,
    Table,
    bar_mark,
    column,
    interval_mark,
    interval_text,
    link,
    nice_scale,
    noted,
    share_text,
)
from dashboard.words import capital, counted, number, percent

MOST_TURNS = 12
MOST_OTHERS = 6
MOST_FIRSTS = 15
SUBSET_OF = {
    "different": "thought_different",
    "went_deeper": "thought_deeper",
    "none_found": "thought_none_found",
    "right": "thought_right",
}
SECOND_FAULT = "a second fault looks the same"


def to_turns(filters: Filters, standing: str, first: str = "", final: str = "") -> str:
    """Return the address of the calls behind a wrong turn, or behind all of one standing."""
    only = turn(first, final) if first or final else None
    return href("/calls", filters, subset=SUBSET_OF[standing], only=only)


def in_words(row: dict[str, Any]) -> str:
    """Say a wrong turn: what was thought, and what it was."""
    return f"“{row['first_label']}” was thought, and it was “{row['final_label']}”"


def turns_exhibit(filters: Filters, found: WrongTurns) -> Component:
    """Return the exhibit of the costliest wrong turns."""
    rows = found.turns()
    if rows.is_empty():
        none = html.P("Every first thought was right, or went deeper, as far as is known.", className="prose")
        return exhibit("No wrong turn is known", none, id="turns")
    first = rows.row(0, named=True)
    options = options_of(found.assumptions)
    return exhibit(
        f"The costliest: {in_words(first)}",
        [
            _turn_table(filters, found, rows.head(MOST_TURNS), "different", "Wrong turns, costliest first"),
            *left_to_csv(min(rows.height, MOST_TURNS), rows.height, "wrong turn"),
        ],
        lead="Dot: cost of what followed the first visit; line: 95% interval. Returns, further visits "
        "with their hours on site, and parts fitted before the last call that were not the cause. An "
        f"upper limit on wrong diagnoses: {SECOND_FAULT}.",
        tools=[
            keep_png(
                href("/figure.json", filters, chart="wrong_turns", **options), "wrong-turns", "wrong turns"
            ),
            keep_csv(href("/export.csv", filters, table="wrong_turns", **options), "wrong turns"),
        ],
        id="turns",
    )


def deeper_exhibit(filters: Filters, found: WrongTurns) -> Component | None:
    """Return the exhibit of causes behind which another lay."""
    rows = found.turns("went_deeper")
    if rows.is_empty():
        return None
    first = rows.row(0, named=True)
    return exhibit(
        f"Right, but not to the bottom: {first['first_label']}, behind it {first['final_label']}",
        [
            _turn_table(
                filters, found, rows.head(MOST_OTHERS), "went_deeper", "Causes behind causes, costliest first"
            ),
            *left_to_csv(min(rows.height, MOST_OTHERS), rows.height, "pair"),
        ],
        lead="What was found first was there, and by the catalogue the other can lie behind it: no wrong "
        "diagnosis, but a repair that stopped too early. The CSV of wrong turns has these too.",
        id="deeper",
    )


def none_found_exhibit(filters: Filters, found: WrongTurns) -> Component | None:
    """Return the exhibit of what no fault found turned out to be."""
    rows, unknown = found.turns("none_found"), found.none_found_unknown
    if rows.is_empty() and not unknown:
        return None
    never = href("/calls", filters, subset="thought_unknown", only=turn("no_fault_found"))
    lead: list[Component | str] = []
    if unknown:
        calls = html.A(counted(unknown, "call"), href=never)
        lead = ["What it was never became known on ", calls, " with no fault found first."]
    if rows.is_empty():
        return exhibit("What no fault found was is not known", html.P([*lead], className="prose"), id="none")
    first = rows.row(0, named=True)
    known = counted(found.none_found.numerator, "call")
    return exhibit(
        f"No fault found first, and then a cause: {known}, costliest {first['final_label']}",
        [
            _turn_table(filters, found, rows.head(MOST_OTHERS), "none_found", "What no fault found was"),
            *left_to_csv(min(rows.height, MOST_OTHERS), rows.height, "cause"),
        ],
        lead=lead,
        id="none",
    )


def _turn_table(
    filters: Filters, found: WrongTurns, rows: pl.DataFrame, standing: str, caption: str
) -> Table:
    highest = max([*rows["money_high"].drop_nulls().to_list(), *rows["money"].to_list()])
    scale = nice_scale(max(min(highest, 2 * max(rows["money"].to_list())), 1.0))
    columns = [
        column("Thought first, and what it was"),
        column("Cost, 95% interval", "mark", scale=scale, ends=["0", money(scale)]),
        column("Cost", "rate"),
        column("Calls", "number"),
        column("Returns", "number"),
        column("Further visits", "number"),
        column("Parts not the cause", "number"),
    ]
    price = found.assumptions.part_cost
    cells = [_turn_row(filters, row, standing, price) for row in rows.iter_rows(named=True)]
    return Table(caption, columns, cells, layout="marks")


def _turn_row(filters: Filters, row: dict[str, Any], standing: str, price: float) -> list[Cell]:
    calls = number(row["calls"])
    share = percent(row["rate"], row["of"])
    of = f"{share} of {number(row['of'])}" if share else f"of {number(row['of'])}"
    was = "behind it" if standing == "went_deeper" else "was"
    name = f"{row['first_label']}, {was} {row['final_label']}"
    hours = f"{number(row['minutes'] / 60, 1)} hours"
    untimed = f", {number(row['untimed'])} not timed" if row["untimed"] else ""
    known = row["money_low"] is not None
    return [
        noted(capital(row["first_label"]), f"{was}: {row['final_label']}"),
        interval_mark(row["money"], row["money_low"], row["money_high"]) if known else bar_mark(row["money"]),
        noted(money(row["money"]), limits(row["money_low"], row["money_high"]) or "too few"),
        link(
            calls,
            to_turns(filters, standing, row["first_thought"], row["final_cause"]),
            f"{calls} calls: {name}",
            note=of,
        ),
        number(row["returns"]),
        noted(number(row["visits"]), hours + untimed),
        noted(number(row["parts"]), f"for {money(row['part_money'] + price * row['unpriced'])}")
        if row["parts"]
        else "",
    ]


def firsts_exhibit(filters: Filters, found: WrongTurns) -> Component | None:
    """Return the exhibit of first thoughts by how they ended, with the whole matrix as a table."""
    rows = found.firsts.filter(pl.col("names_cause") & (pl.col("calls") > 0))
    if rows.is_empty():
        return None
    shown = rows.head(MOST_FIRSTS)
    sure = [row["different_high"] for row in shown.iter_rows(named=True) if percent(0.0, row["calls"])]
    scale = min(1.0, nice_scale(max(sure, default=1.0)))
    columns = [
        column("Thought first"),
        column("Was something else, 95% interval", "mark", scale=scale, ends=["0%", f"{100 * scale:g}%"],
               reference=found.different.rate),
        column("Something else", "rate"),
        column("Calls", "number"),
        column("Went deeper", "number"),
        column("Right", "number"),
        column("Never known", "number"),
    ]  # fmt: skip
    cells = [_first_row(filters, row) for row in shown.iter_rows(named=True)]
    first = shown.row(0, named=True)
    return exhibit(
        f"Most calls taken for something else: {first['first_label']}, {number(first['different'])} of "
        f"{number(first['calls'])}",
        [
            Table("First thoughts by how they ended", columns, cells, layout="marks"),
            *left_to_csv(shown.height, rows.height, "first thought"),
            twin(
                _matrix(found),
                "The whole matrix: first thoughts down, what it was across, by the same numbers",
            ),
        ],
        lead="Dot: share of the calls first thought so that were something else; line: 95% interval; thin "
        "rule: all calls. What it was never became known on those of the last column, which are in no share.",
        tools=[
            keep_csv(href("/export.csv", filters, table="first_thoughts"), "first thoughts"),
        ],
        id="firsts",
    )


def _first_row(filters: Filters, row: dict[str, Any]) -> list[Cell]:
    code, name, calls = row["first_thought"], row["first_label"], row["calls"]
    enough = percent(row["different_rate"], calls)

    def opening(standing: str) -> Cell:
        count = number(row[standing])
        share = percent(row[f"{standing}_rate"], calls)
        limits_of = interval_text(row[f"{standing}_low"], row[f"{standing}_high"], calls)
        note = f"{share}; {limits_of}" if share else ""
        return link(count, to_turns(filters, standing, code), f"{count} {standing}, {name}", note=note)

    known = href("/calls", filters, subset="thought_known", only=turn(code))
    never = number(row["unknown"])
    return [
        link(capital(name), known, f"Calls first thought so: {name}"),
        interval_mark(row["different_rate"], row["different_low"], row["different_high"]) if enough else "",
        share_text(row["different_rate"], calls),
        link(
            f"{number(row['different'])} of {number(calls)}",
            to_turns(filters, "different", code),
            f"{number(row['different'])} something else, {name}",
            note=interval_text(row["different_low"], row["different_high"], calls) or None,
        ),
        opening("went_deeper") if row["went_deeper"] else "0",
        opening("right"),
        link(
            never, href("/calls", filters, subset="thought_unknown", only=turn(code)), f"{never} never known"
        )
        if row["unknown"]
        else "0",
    ]


def _matrix(found: WrongTurns) -> Table:
    """Return counts of first thoughts by final causes; columns go by the numbers of the rows."""
    counts = {
        (row["first_label"], row["final_label"]): row["calls"] for row in found.matrix.iter_rows(named=True)
    }
    labels = dict.fromkeys([*found.firsts["first_label"], *sorted(found.matrix["final_label"].unique())])
    numbered = {label: f"{at}" for at, label in enumerate(labels, start=1)}
    columns = [column("Thought first"), *[column(at, "number") for at in numbered.values()]]
    cells = [
        [
            f"{at} {capital(first)}",
            *[number(n) if (n := counts.get((first, final))) else "" for final in labels],
        ]
        for first, at in numbered.items()
    ]
    return Table(
        "Calls by what was thought first and what it was, by the numbers of the rows", columns, cells
    )
