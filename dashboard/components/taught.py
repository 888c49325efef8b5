"""Tables of the page on teaching: lessons, causes by whether a lesson can help, people, newcomers."""

from typing import Any

import polars as pl

from analytics.filters import Filters
from analytics.questions.new_technicians import NewTechnicians
from analytics.questions.teaching import Teaching
from dashboard.address import href, to_calls
from dashboard.components.table import Cell, Table, column, interval_mark, link, nice_scale, noted
from dashboard.words import capital, number, percent

LESSON = {"thought": "Tell it apart", "held": "Make the repair last"}
WENT_WRONG = {"thought": "taken for something else at first", "held": "repair came back"}
VERDICT_WORDS = {
    "teach": "teach",
    "look": "not a teaching matter: look at the part or the information",
    "few": "too few calls to tell",
    "little": "little to gain from a lesson",
}
"""In the order of the table."""
CURVE_WORDS = {"fixed": "Fixed on the first visit", "came_back": "Came back"}


def lesson_name(what: str, label: str) -> str:
    """Return the name of a lesson: "Tell it apart: filter clogged"."""
    return f"{LESSON[what]}: {label}"


def hours(value: float | None) -> str:
    """Write hours: one decimal below 100."""
    if value is None:
        return "no data"
    return number(value, 0 if value >= 100 else 1)


def between(low: float | None, high: float | None) -> str:
    """Write the limits of hours."""
    return "" if low is None or high is None else f"{hours(low)} to {hours(high)}"


def lesson_table(found: Teaching) -> Table:
    """Return the lessons, most hours saved per hour taught first."""
    plan = found.plan
    scale = nice_scale(max(plan["high"].to_list()))
    columns = [
        column("Lesson"),
        column("Hours saved for an hour taught, 95% interval", "mark", scale=scale, ends=["0", hours(scale)]),
        column("Saved for an hour taught", "rate"),
        column("Saved a year", "number"),
        column("Technicians likely below average", "number"),
    ]
    rows: list[list[Cell]] = [
        [
            link(
                lesson_name(row["what"], row["label"]),
                href("/lesson", None, cause=row["cause"]),
                f"{lesson_name(row['what'], row['label'])}: cases to teach it with",
            ),
            interval_mark(row["per_hour"], row["low"], row["high"]),
            noted(f"{hours(row['per_hour'])} h", between(row["low"], row["high"])),
            noted(f"{hours(row['saved'])} h", between(row["saved_low"], row["saved_high"])),
            _group(row),
        ]
        for row in plan.iter_rows(named=True)
    ]
    return Table("Lessons by hours saved for an hour taught", columns, rows, layout="marks")


def _group(row: dict[str, Any]) -> Cell:
    counts = f"{number(row['below'])} of {number(row['technicians'])}"
    share = row["share_of_below"]
    return noted(counts, f"{percent(share, 5)} of what is to gain") if share is not None else counts


def cause_table(filters: Filters, causes: pl.DataFrame) -> Table:
    """Return causes with how far technicians differ, and what follows."""
    columns = [
        column("Cause, what went wrong, and what follows"),
        column("Best quarter avoids, 95% interval", "mark", scale=1.0, ends=["0%", "100%"]),
        column("Best quarter avoids", "rate"),
        column("Went wrong", "number"),
        column("Spread (logit)", "number"),
        column("Hours a year to gain", "number"),
    ]
    rows = [_cause(filters, row) for row in causes.iter_rows(named=True)]
    return Table("How far technicians differ, by cause", columns, rows, layout="marks")


def _cause(filters: Filters, row: dict[str, Any]) -> list[Cell]:
    narrowed = filters.but(causes=(row["cause"],))
    follows = f"{WENT_WRONG[row['what']]}: {VERDICT_WORDS[row['verdict']]}"
    name = link(capital(row["label"]), to_calls(narrowed, "judged"), note=follows)
    counts = f"{number(row['happened'])} of {number(row['calls'])}"
    share = percent(row["rate"], row["calls"])
    wrong = noted(counts, share) if share else counts
    if row["spread"] is None:
        return [name, "", "too few", wrong, "", ""]
    return [
        name,
        interval_mark(row["share"], row["share_low"], row["share_high"], flagged=row["verdict"] == "teach"),
        noted(
            f"{100 * row['share']:.0f}%", f"{100 * row['share_low']:.0f} to {100 * row['share_high']:.0f}%"
        ),
        wrong,
        noted(f"{row['spread']:.2f}", f"{row['spread_low']:.2f} to {row['spread_high']:.2f}"),
        noted(hours(row["hours"]), between(row["hours_low"], row["hours_high"])),
    ]


def people_table(people: pl.DataFrame, caption: str) -> Table:
    """Return technicians with one trouble, each pulled towards the average."""
    scale = nice_scale(min(max([2.0, *people["high"].to_list()]), 6.0))
    columns = [
        column("Technician"),
        column("Went wrong against expected", "mark", scale=scale, reference=1.0, ends=["0", f"{scale:g}"]),
        column("Against expected, pulled to average", "rate"),
        column("Went wrong", "number"),
        column("Expected", "number"),
        column("Hours a year to gain", "number"),
    ]
    rows: list[list[Cell]] = [
        [
            row["technician"],
            interval_mark(row["shrunk"], row["low"], row["high"]),
            noted(f"{row['shrunk']:.2f}", f"{row['low']:.2f} to {row['high']:.2f}"),
            f"{number(row['happened'])} of {number(row['calls'])}",
            number(row["expected"], 1),
            hours(row["hours"]),
        ]
        for row in people.iter_rows(named=True)
    ]
    return Table(caption, columns, rows, layout="marks")


def curve_table(found: NewTechnicians, what: str) -> Table:
    """Return how one share comes on with months since starting."""
    rows = found.curve.filter(pl.col("what") == what)
    highest = max([1.2, *rows["high"].drop_nulls().to_list(), *rows["ratio"].to_list()])
    scale = nice_scale(min(highest, 4.0))
    columns = [
        column("Months since starting"),
        column(
            "Against expected, 95% interval", "mark", scale=scale, reference=1.0, ends=["0", f"{scale:g}"]
        ),
        column("Against expected", "rate"),
        column(CURVE_WORDS[what], "number"),
        column("Expected", "number"),
        column("Technicians", "number"),
    ]
    cells: list[list[Cell]] = [
        [
            row["months"].replace("-", " to ").replace("24+", "24 and more"),
            interval_mark(row["ratio"], row["low"], row["high"]),
            noted(f"{row['ratio']:.2f}", f"{row['low']:.2f} to {row['high']:.2f}")
            if row["low"] is not None
            else noted(f"{row['ratio']:.2f}", "too few for an interval"),
            f"{number(row['happened'])} of {number(row['calls'])}",
            number(row["expected"], 1),
            number(row["technicians"]),
        ]
        for row in rows.iter_rows(named=True)
    ]
    return Table(f"{CURVE_WORDS[what]}, by months since starting", columns, cells, layout="marks")
