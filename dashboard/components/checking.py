"""Checks beside each other: how often each finds the fault, in how much time, and what was not recorded."""

from typing import Any

import polars as pl
from dash import html
from dash.development.base_component import Component

from analytics.filters import Filters
from analytics.questions.checks import Checks, NotRecorded
from dashboard.address import href, to_calls
from dashboard.components.attributes import spoken
from dashboard.components.choice import Choice, Option
from dashboard.components.exhibit import exhibit, keep_csv, keep_png, left_to_csv
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
from dashboard.words import as_words, capital, counted, number

BY_WORDS = {"family": "kind of complaint", "symptom": "complaint"}
CHOSEN_BY = {"family": "families", "symptom": "symptoms"}
OF_EACH_GROUP = 3
MOST_GROUPS = 40
MOST_MISSING = 15
CLASS_WORDS = {
    "a": "outside, no tools",
    "b": "unplugged, water off first",
    "c": "live voltage: qualified technicians only",
}


def caution_words(caution: str | None) -> str:
    """Write what to mind before a check, in a few words; one whose class is not known is the strictest."""
    return CLASS_WORDS.get(caution or "", CLASS_WORDS["c"])


def per_hour(row: dict[str, Any]) -> str:
    """Write finds an hour: "6.2"; "not timed" where no minutes are recorded."""
    return "not timed" if row["per_hour"] is None else number(row["per_hour"], 1)


def per_hour_limits(row: dict[str, Any]) -> str:
    """Write their limits: "5.7 to 6.8"; "too few" where there is no interval."""
    if row["per_hour"] is None:
        return ""
    if row["per_hour_low"] is None:
        return "too few for an interval"
    return f"{number(row['per_hour_low'], 1)} to {number(row['per_hour_high'], 1)}"


def checks_exhibit(filters: Filters, found: Checks) -> Component:
    """Return the exhibit of all checks."""
    rows = found.checks
    first = rows.filter(pl.col("per_hour_low").is_not_null())
    finding = (
        f"Most faults found for its time: {first['label'][0]}" if first.height else "What each check found"
    )
    scale = _hour_scale(rows)
    columns = [
        column("Check"),
        column("Found an hour, 95% interval", "mark", scale=scale, ends=["0", f"{scale:g}"]),
        column("Found an hour", "rate"),
        column("How often it finds it", "number"),
        column("Ruled out correctly", "number"),
        column("Minutes", "number"),
    ]
    cells = [_check_row(filters, row) for row in rows.iter_rows(named=True)]
    return exhibit(
        finding,
        Table("Checks, most faults found an hour first", columns, cells, layout="marks"),
        lead="Dot: faults found an hour of making the check; line: 95% interval; by its lower end. A "
        "check's name opens the calls on which it was made. Checks are made because the "
        "cause is suspected: a share holds for the calls on which it was made, not for every call.",
        tools=[
            keep_png(href("/figure.json", filters, chart="checks"), "checks", "faults found an hour"),
            keep_csv(href("/export.csv", filters, table="checks"), "checks"),
        ],
        id="checks",
    )


def _hour_scale(rows: pl.DataFrame) -> float:
    shown = rows.filter(pl.col("per_hour_low").is_not_null())
    if shown.is_empty():
        return 1.0
    highest = max(shown["per_hour_high"].to_list())
    return nice_scale(min(highest, 1.5 * max(shown["per_hour"].to_list())))


def _mark(row: dict[str, Any]) -> Cell:
    if row["per_hour_low"] is None:
        return ""
    return interval_mark(row["per_hour"], row["per_hour_low"], row["per_hour_high"])


def _name(filters: Filters, row: dict[str, Any], label: str) -> Cell:
    return link(
        capital(row["label"]),
        to_calls(filters, "check_made", row["check"]),
        f"{number(row['made'])} times made, {label}",
        note=caution_words(row["caution"]),
    )


def _found(filters: Filters, row: dict[str, Any], label: str) -> Cell:
    counts = f"{number(row['found'])} of {number(row['made'])}"
    limits = interval_text(row["low"], row["high"], row["made"])
    return link(
        share_text(row["rate"], row["made"]),
        to_calls(filters, "check_found", row["check"]),
        f"{counts} times, {label}",
        note=f"{counts}; {limits}" if limits else counts,
    )


def _check_row(filters: Filters, row: dict[str, Any]) -> list[Cell]:
    timed = f"timed {counted(row['timed'], 'time')}"
    return [
        _name(filters, row, row["label"]),
        _mark(row),
        noted(per_hour(row), per_hour_limits(row)),
        _found(filters, row, row["label"]),
        _ruled_out(filters, row),
        noted(number(row["minutes"], 1), timed) if row["timed"] else "not timed",
    ]


def _ruled_out(filters: Filters, row: dict[str, Any]) -> Cell:
    if not row["cleared"]:
        return "none"
    counts = f"{number(row['ruled_out'])} of {number(row['cleared'])}"
    limits = interval_text(row["ruled_out_low"], row["ruled_out_high"], row["cleared"])
    return link(
        share_text(row["ruled_out_rate"], row["cleared"]),
        to_calls(filters, "check_ruled_out", row["check"]),
        f"{counts} times ruled out correctly, {row['label']}",
        note=f"{counts}; {limits}" if limits else counts,
    )


def groups_exhibit(filters: Filters, found: Checks, by: str) -> Component:
    """Return the exhibit of the best checks for each kind of complaint, or each complaint."""
    codes = found.groups["group"].unique(maintain_order=True).to_list()
    shown = codes[:MOST_GROUPS]
    best = (
        found.groups.filter(pl.col("per_hour_low").is_not_null())
        .filter(pl.col("group").is_in(shown, nulls_equal=True))
        .group_by("group", maintain_order=True)
        .head(OF_EACH_GROUP)
    )
    scale = _hour_scale(best)
    columns = [
        column(capital(BY_WORDS[by])),
        column("Check"),
        column("Found an hour, 95% interval", "mark", scale=scale, ends=["0", f"{scale:g}"]),
        column("Found an hour", "rate"),
        column("How often it finds it", "number"),
    ]
    body: list[Component] = [_by_form(filters, by)]
    if best.is_empty():
        body.append(html.P("Too few faults found to set checks beside each other.", className="prose"))
    else:
        cells = [_group_row(filters, by, row) for row in best.iter_rows(named=True)]
        body.append(
            Table(f"The checks that find most for their time, by {BY_WORDS[by]}", columns, cells, "marks")
        )
        body += left_to_csv(len(shown), len(codes), "group")
    return exhibit(
        f"What finds it first depends on the {BY_WORDS[by]}",
        body,
        lead=f"Up to {OF_EACH_GROUP} checks of each, most faults found an hour first, of those that found "
        "enough for an interval. A call with several complaints counts under each.",
        tools=[keep_csv(href("/export.csv", filters, table="checks_by", by=by), f"checks by {BY_WORDS[by]}")],
        id="groups",
    )


def _by_form(filters: Filters, by: str) -> Component:
    options: list[Option] = [("" if name == "family" else name, words) for name, words in BY_WORDS.items()]
    choice = Choice("choice-by", "by", options, "" if by == "family" else by, before="Checks by")
    kept = href("", filters).removeprefix("?")
    return html.Form(choice, className="sentence", **spoken("Grouping", keep=kept))


def _group_row(filters: Filters, by: str, row: dict[str, Any]) -> list[Cell]:
    group = filters.but(**{CHOSEN_BY[by]: (row["group"] or "",)})
    name = f"{row['label']}, {row['group_label']}"
    return [
        capital(as_words(row["group"] or "", row["group_label"])),
        _name(group, row, name),
        _mark(row),
        noted(per_hour(row), per_hour_limits(row)),
        _found(group, row, name),
    ]


def unrecorded_exhibit(filters: Filters, found: NotRecorded) -> Component:
    """Return the exhibit of the checks that were not recorded."""
    left_out = _left_out(filters, found)
    if found.checks.is_empty():
        words = (
            "On every call that came back with a check recorded and the cause known, one that shows it was."
        )
        none = (
            words if found.rate.denominator else "No such call came back with a check and the cause recorded."
        )
        return exhibit(
            "No check that could have shown the cause was left out, as far as is recorded",
            html.P(none, className="prose"),
            lead=left_out,
            id="unrecorded",
        )
    scale = nice_scale(max(found.checks["weighted"].to_list()))
    columns = [
        column("Check"),
        column("Could have shown it", "mark", scale=scale, ends=["0", number(scale)]),
        column("Could have shown it", "rate"),
        column("Calls without it", "number"),
        column("Returns", "number"),
        column("Hours on site", "number"),
    ]
    shown = found.checks.head(MOST_MISSING)
    return exhibit(
        f"Most often missing: {shown['label'][0]}",
        [
            Table(
                "Checks not recorded that could have shown the cause",
                columns,
                [_unrecorded_row(filters, row) for row in shown.iter_rows(named=True)],
                layout="marks",
            ),
            *left_to_csv(shown.height, found.checks.height, "check"),
        ],
        lead=[
            "Bar: calls that came back without it, weighted by how often the check reveals such a cause. A "
            "call stands under each check that could have shown its cause. Not recorded is not the same as "
            "not done. ",
            *left_out,
        ],
        tools=[keep_csv(href("/export.csv", filters, table="checks_not_recorded"), "checks not recorded")],
        id="unrecorded",
    )


def _left_out(filters: Filters, found: NotRecorded) -> list[Component | str]:
    if not found.calls_left_out:
        return []
    calls = html.A(counted(found.calls_left_out, "call"), href=to_calls(filters, "check_left_out"))
    who = counted(found.technicians_left_out, "technician")
    return ["Left out: ", calls, f" of {who} who record checks on fewer than half of their visits."]


def _unrecorded_row(filters: Filters, row: dict[str, Any]) -> list[Cell]:
    calls = number(row["calls"])
    untimed = f"{counted(row['untimed'], 'visit')} not timed" if row["untimed"] else ""
    hours = number(row["minutes"] / 60, 1)
    return [
        noted(capital(row["label"]), caution_words(row["caution"])),
        bar_mark(row["weighted"]),
        number(row["weighted"], 1),
        link(
            calls,
            to_calls(filters, "check_not_recorded", row["check"]),
            f"{calls} calls without it, {row['label']}",
        ),
        number(row["returns"]),
        noted(hours, untimed) if untimed else hours,
    ]
