"""Why do first visits fail? The reasons, by group too, and which parts aboard would have saved a trip."""

from dash import html
from dash.development.base_component import Component

from analytics.filters import GROUPINGS
from analytics.questions.first_visit import FirstVisit, FirstVisits
from analytics.questions.spoiled import REASONS
from analytics.rates import Rate
from dashboard.address import href, to_calls
from dashboard.components.aboard import aboard_exhibit
from dashboard.components.answer import Words, answer, calls_link, rate_in_words, too_soon
from dashboard.components.exhibit import exhibit, keep_csv, keep_png, left_to_csv
from dashboard.components.grouping import BY_WORDS, group_filters, grouping_form
from dashboard.components.page import counted_how, evidence, page
from dashboard.components.people import about_people
from dashboard.components.sentence import sentence
from dashboard.components.spoilers import spoiler_exhibit
from dashboard.components.states import no_calls, notices
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
from dashboard.pages.view import Content, Page, View
from dashboard.words import as_words, capital, counted, number, percent

QUESTION = "Why do first visits fail?"
MOST_GROUPS = 60
HOW = (
    "Fixed the first time: exactly one visit, and no return within the days chosen. Judged are completed "
    "repairs with a visit whose days are up and that are no returns themselves. Visits that overlap in time "
    "are one visit with a helper.",
    "A call that was not fixed the first time is counted under the first of these that applies: it came "
    "back; a visit ended with a part on order; the first diagnosis was another than the cause found in the "
    "end (and not one that lies deeper); nobody was home; another visit for no recorded reason. “Where let "
    "in” leaves out calls with a visit at which nobody was home.",
    "Second trips for a part: completed calls on which a visit ended with a part on order and another visit "
    "followed, and calls opened to finish a call that waited for a part. A trip counts as saved only when "
    "all parts fitted from then on are aboard; a part recorded for the call without its visit counts among "
    "them. The set is chosen step by step, each step the part (or the parts that only help together) that "
    "saves most for each part added. It is chosen and counted on the same calls, so that with few calls it "
    "promises a little too much. A part's name opens the second trips on which it was fitted, on the first "
    "visit or later; the CSV of second trips says what was fitted afterwards and which step saves it.",
    "Intervals are Wilson's at 95% and take calls for independent. Groups are shown as they are, not "
    "adjusted for the mix of work.",
)


def content(view: View) -> Content:
    """Return the page."""
    by = view.address.one_of("by", GROUPINGS, "depot")
    found = view.fleet.first_visit(view.filters, by=by)
    filters = sentence(view.address, view.choices, view.path)
    if not found.whole.calls:
        return page(QUESTION, filters, no_calls(view.path))
    whole = found.whole
    return page(
        QUESTION,
        notices(about_people(view.filters, by)),
        filters,
        answer(_in_words(view, found), _reason(view, found), aside=_aside(view, whole)),
        evidence(
            spoiler_exhibit(view.filters, found.reasons, whole.rate),
            _groups(view, found, by),
            _reasons(view, found, by) if found.has_visits else None,
            aboard_exhibit(view.filters, found.aboard),
        ),
        counted_how((*HOW, *_effect(whole)), _left_out(view, whole)),
    )


def _in_words(view: View, found: FirstVisit) -> Words:
    rate, let_in = found.whole.rate, found.whole.let_in
    if not found.has_visits:
        words = rate_in_words(rate, "were closed without a return", view.filters, "own_held", "own_judged")
        return [
            *words,
            ". Visits are not recorded, so this is no first-time fix and not to be compared with one.",
        ]
    words = rate_in_words(
        rate, "were fixed the first time", view.filters, "first_time_fix", "first_time_judged"
    )
    share = percent(let_in.rate, let_in.denominator) if let_in.denominator else ""
    return [*words, f"; {share} where somebody let us in." if share else "."]


def _reason(view: View, found: FirstVisit) -> Words:
    rows = found.reasons.filter(found.reasons["calls"] > 0).sort("calls", descending=True)
    if not found.has_visits or rows.is_empty():
        return []
    first, total = rows.row(0, named=True), int(rows["calls"].sum())
    most = calls_link(first["calls"], view.filters, first["subset"], f"calls: {first['label']}")
    return [
        "What spoils them most: ",
        html.Strong(first["label"]),
        " (",
        most,
        f" of {number(total)} not fixed the first time).",
    ]


def _aside(view: View, whole: FirstVisits) -> Words:
    words = too_soon(whole.rate, view.filters)
    if not whole.fixed_by_phone:
        return words
    phone = html.A(counted(whole.fixed_by_phone, "repair"), href=to_calls(view.filters, "fixed_by_phone"))
    was = "was" if whole.fixed_by_phone == 1 else "were"
    return [*words, " " if words else "", phone, f" {was} completed without a visit: by telephone."]


def _groups(view: View, found: FirstVisit, by: str) -> Component:
    shown = found.groups[:MOST_GROUPS]
    what = "Fixed first time" if found.has_visits else "Closed without a return"
    scale = _scale([each.rate for each in shown])
    columns = [
        column(BY_WORDS[by].capitalize()),
        column(
            f"{what}, 95% interval",
            "mark",
            scale=scale,
            reference=found.whole.rate.rate,
            ends=["0%", f"{100 * scale:g}%"],
        ),
        column(what, "rate"),
        column("Calls", "number"),
        column("95% interval", "number"),
        *([column("Where let in", "number"), column("By telephone", "number")] if found.has_visits else []),
    ]
    rows = [_row(view, each, by, found.has_visits) for each in shown]
    tools = {"by": by}
    return exhibit(
        _group_finding(found, by),
        [
            grouping_form(view.filters, by, "First visits by"),
            Table(f"{what} by {BY_WORDS[by]}", columns, rows, layout="marks"),
            *left_to_csv(len(shown), len(found.groups), "group"),
        ],
        lead="Dot: share; line: 95% interval; thin rule: all of these calls. Plain rates, not adjusted for "
        "the mix of work.",
        tools=[
            keep_png(
                href("/figure.json", view.filters, chart="first_visits", **tools),
                f"first-visits-by-{by}",
                "first visits by group",
            ),
            keep_csv(
                href("/export.csv", view.filters, table="first_visits", **tools), "first visits by group"
            ),
        ],
        id="groups",
    )


def _group_finding(found: FirstVisit, by: str) -> str:
    named = [one for one in found.groups if one.group is not None and one.rate.denominator]
    if by in ("technician", "month") or not named or not found.has_visits:
        return f"First visits by {BY_WORDS[by]}"
    first = named[0]
    failed = first.rate.denominator - first.rate.numerator
    name = as_words(first.group or "", first.label)
    return f"Most first visits that failed: {name}, {number(failed)} of {number(first.rate.denominator)}"


def _row(view: View, one: FirstVisits, by: str, has_visits: bool) -> list[Cell]:
    filters = group_filters(view.filters, by, one.group)
    name, rate = as_words(one.group or "", one.label), one.rate
    over, among = ("first_time_fix", "first_time_judged") if has_visits else ("own_held", "own_judged")
    counts = f"{number(rate.numerator)} of {number(rate.denominator)}"
    enough = rate.denominator and percent(rate.rate, rate.denominator)
    phone = number(one.fixed_by_phone)
    return [
        link(name, to_calls(filters, among)),
        interval_mark(rate.rate, rate.low, rate.high) if enough else "",
        share_text(rate.rate, rate.denominator) if rate.denominator else "none judged",
        link(counts, to_calls(filters, over), f"{counts}, {name}"),
        interval_text(rate.low, rate.high, rate.denominator),
        *(
            [
                _let_in(one.let_in),
                link(phone, to_calls(filters, "fixed_by_phone"), f"{phone} by telephone, {name}")
                if one.fixed_by_phone
                else "",
            ]
            if has_visits
            else []
        ),
    ]


def _let_in(rate: Rate) -> Cell:
    if not rate.denominator:
        return ""
    return noted(
        share_text(rate.rate, rate.denominator), f"{number(rate.numerator)} of {number(rate.denominator)}"
    )


def _scale(rates: list[Rate]) -> float:
    shown = [rate.high or 0 for rate in rates if rate.denominator and percent(rate.rate, rate.denominator)]
    return min(1.0, nice_scale(max(shown, default=1.0)))


def _reasons(view: View, found: FirstVisit, by: str) -> Component | None:
    shown = [one for one in found.groups if one.failed][:MOST_GROUPS]
    if not shown:
        return None
    columns = [
        column(BY_WORDS[by].capitalize()),
        column("Not fixed first time", "number"),
        *[column(capital(words), "number") for words in REASONS.values()],
    ]
    return exhibit(
        f"The reasons by {BY_WORDS[by]}",
        Table(
            f"Calls not fixed the first time, by {BY_WORDS[by]} and first reason that applies",
            columns,
            [_reason_row(view, one, by) for one in shown],
            layout="stack",
        ),
        lead="Calls, and their share of those not fixed the first time. Each is counted under the first "
        "reason that applies.",
        id="reasons",
    )


def _reason_row(view: View, one: FirstVisits, by: str) -> list[Cell]:
    filters = group_filters(view.filters, by, one.group)
    name, total = as_words(one.group or "", one.label), number(one.failed)
    return [
        name,
        link(total, to_calls(filters, "not_first_time_fix"), f"{total} not fixed, {name}"),
        *[
            link(
                number(calls),
                to_calls(filters, f"spoiled_{reason}"),
                f"{number(calls)}, {REASONS[reason]}, {name}",
                note=percent(calls / one.failed, one.failed) or None,
            )
            if calls
            else "0"
            for reason, calls in one.reasons.items()
        ],
    ]


def _effect(whole: FirstVisits) -> list[str]:
    effect = whole.rate.design_effect
    return (
        []
        if effect is None
        else [f"Calls of one unit are not quite independent: design effect {effect:.2f}."]
    )


def _left_out(view: View, whole: FirstVisits) -> list[tuple[str, Component | str]]:
    words = {
        "is_callback": ("Left out: returns themselves", "callbacks"),
        "no_visit": ("Left out: completed without a visit, returns not counted", ""),
        "not_completed": ("Left out: open, not a repair, or no work done", ""),
    }
    return [
        (
            words[reason][0],
            html.A(number(calls), href=to_calls(view.filters, words[reason][1]))
            if words[reason][1]
            else number(calls),
        )
        for reason, calls in whole.rate.left_out.items()
        if calls
    ]


PAGE = Page("/first-visit", "First visit", QUESTION, content, parameters=("by",))
