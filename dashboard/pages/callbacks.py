"""Which repairs come back? By month, by group, and the returns one by one."""

import polars as pl
from dash.development.base_component import Component

from analytics.filters import GROUPINGS, Filters
from analytics.questions.answers import Figures, GroupFigures
from dashboard.address import href, to_calls
from dashboard.components.answer import Words, answer, rate_in_words, too_soon
from dashboard.components.counting import callback_counting
from dashboard.components.exhibit import exhibit, keep_csv, keep_png, left_to_csv
from dashboard.components.grouping import BY_WORDS, group_filters, grouping_form
from dashboard.components.lists import pager, returns_table
from dashboard.components.page import evidence, page
from dashboard.components.people import about_people
from dashboard.components.rates import Beside, group_table
from dashboard.components.sentence import MATCH_WORDS, sentence
from dashboard.components.states import no_calls, notices
from dashboard.components.trend import month_exhibit
from dashboard.components.warnings import warning_notice
from dashboard.pages.view import Content, Page, View
from dashboard.words import as_words, counted

QUESTION = "Which repairs come back?"
MOST_WORDS = {
    "depot": "{} has the most returns",
    "symptom": "Most returns were rung in as “{}”",
    "cause": "Most returns followed “{}”",
    "part": "Most returns followed a new {}",
    "product_family": "Most returns are of the family “{}”",
}
MOST_GROUPS = 60
RETURNS_A_PAGE = 25


def content(view: View) -> Content:
    """Return the page."""
    by = view.address.one_of("by", GROUPINGS, "depot")
    at = view.address.page_number()
    returns = view.fleet.meanwhile(
        lambda fleet: fleet.returns(view.filters, offset=(at - 1) * RETURNS_A_PAGE, limit=RETURNS_A_PAGE)
    )
    found = view.fleet.figures(view.filters, by=by)
    filters = sentence(view.address, view.choices, view.path)
    if not found.counts.get("calls"):
        return page(QUESTION, filters, no_calls(view.path))
    return page(
        QUESTION,
        notices(about_people(view.filters, by)),
        filters,
        answer(_same_and_any(view.filters, found), aside=too_soon(found.callback_rate, view.filters)),
        warning_notice(found.warnings, view.filters),
        evidence(
            month_exhibit(view.filters, view.fleet.by_month(view.filters)),
            _groups(view, found, by),
            _returns(view, at, *returns()),
        ),
        callback_counting(view.filters, found),
    )


def _same_and_any(filters: Filters, found: Figures) -> Words:
    within = f"within {filters.window_days} days"
    same = rate_in_words(
        found.callback_rate_family,
        f"came back {within} for {MATCH_WORDS['family']}",
        filters.but(match="family"),
        "came_back",
        "judged",
    )
    any_rate = rate_in_words(
        found.callback_rate_any, f"for {MATCH_WORDS['any']}", filters.but(match="any"), "came_back", "judged"
    )
    return [*same, "; ", *any_rate, "."] if found.callback_rate_any.denominator else [*same, "."]


def _groups(view: View, found: Figures, by: str) -> Component:
    groups = group_order(found.groups, by)
    shown = groups[:MOST_GROUPS]
    table = group_table(
        f"Callback rate by {BY_WORDS[by]}",
        BY_WORDS[by].capitalize(),
        shown,
        lambda group: group.callback_rate,
        found.callback_rate,
        lambda group, subset: to_calls(group_filters(view.filters, by, group.group), subset),
        ("came_back", "judged"),
        _beside(view.filters, by),
    )
    return exhibit(
        group_finding(groups, by, found.callback_rate.numerator),
        [grouping_form(view.filters, by, "Rates by"), table, *left_to_csv(len(shown), len(groups), "group")],
        lead="Dot: share that came back; line: 95% interval; thin rule: all of these calls. Plain rates, not "
        "adjusted for the mix of work.",
        tools=[
            keep_png(
                href("/figure.json", view.filters, chart="groups", by=by),
                f"callback-rate-by-{by}",
                "rates by group",
            ),
            keep_csv(href("/export.csv", view.filters, table="groups", by=by), "rates by group"),
        ],
        id="groups",
    )


def _beside(filters: Filters, by: str) -> list[Beside]:
    """Return the rates that stand beside the one drawn: any complaint, and fixed the first time."""

    def address(group: GroupFigures, match: str, subset: str) -> str:
        return to_calls(group_filters(filters, by, group.group).but(match=match), subset)

    wide = Beside(
        "Any complaint",
        lambda group: group.callback_rate_any,
        lambda group: address(group, "any", "came_back"),
    )
    fixed = Beside(
        "Fixed first time",
        lambda group: group.first_time_fix_rate,
        lambda group: address(group, filters.match, "first_time_fix"),
    )
    return [wide, fixed] if filters.match == "family" else [fixed]


def group_order(groups: list[GroupFigures], by: str) -> list[GroupFigures]:
    """Order groups: most returns first, people by calls and never by their rate, months latest first.

    Calls without a value come last, whatever their number.
    """
    if by == "month":
        return list(reversed(groups))
    count = _calls if by == "technician" else _returned
    return sorted(groups, key=lambda group: (group.group is None, -count(group), -_calls(group)))


def _calls(group: GroupFigures) -> int:
    return group.callback_rate.denominator


def _returned(group: GroupFigures) -> int:
    return group.callback_rate.numerator


def group_finding(groups: list[GroupFigures], by: str, total: int) -> str:
    """Title the groups with what stands out in numbers; people and months are never singled out.

    Parameters
    ----------
    groups : list of GroupFigures
        In the order of `group_order`.
    by : str
        The grouping.
    total : int
        Calls that came back, in all groups together.
    """
    if by not in MOST_WORDS:
        return f"Returns by {BY_WORDS[by]}"
    named = [group for group in groups if group.group is not None and _returned(group)]
    if not named:
        return f"Returns by {BY_WORDS[by]}" if total else f"No return in any {BY_WORDS[by]}"
    label = as_words(named[0].group or "", named[0].label)
    return f"{MOST_WORDS[by].format(label)}: {_returned(named[0]):,} of {total:,}"


def _returns(view: View, number: int, rows: pl.DataFrame, total: int) -> Component | None:
    if not total:
        return None
    by = view.address.options.get("by")
    return exhibit(
        f"{counted(total, 'return')}, latest first",
        [
            returns_table(rows, view.filters, view.fleet.labels),
            pager(
                "returns",
                total,
                number,
                lambda page: view.here(by=by, page=page) + "#returns",
                RETURNS_A_PAGE,
            ),
        ],
        lead="Each beside the repair it is counted against, which may have several: found then, and found "
        "when they rang again.",
        tools=[keep_csv(href("/export.csv", view.filters, table="returns"), "all returns")],
        id="returns",
    )


PAGE = Page("/callbacks", "Callbacks", QUESTION, content, parameters=("by", "page"))
