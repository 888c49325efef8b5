"""What do returns cost? By what the repair was for, what a return is made of, and what could be saved."""

from typing import Any

from dash import html
from dash.development.base_component import Component

from analytics.cost_assumptions import CostAssumptions, described
from analytics.filters import Filters
from analytics.questions.costs import COSTED_BY, Costs
from dashboard.address import href, to_calls
from dashboard.components.answer import Words, answer
from dashboard.components.assumed import assumed_form, assumed_in, assumed_table, options_of
from dashboard.components.attributes import spoken
from dashboard.components.choice import Choice, Option
from dashboard.components.exhibit import exhibit, keep_csv, keep_png, left_to_csv, more_csv, twin
from dashboard.components.grouping import group_filters
from dashboard.components.money import limits, money, with_interval
from dashboard.components.page import counted_how, evidence, page
from dashboard.components.people import about_people
from dashboard.components.sentence import sentence
from dashboard.components.states import no_calls, notices
from dashboard.components.table import Cell, Table, bar_mark, column, interval_mark, link, nice_scale, noted
from dashboard.pages.view import Content, Page, View
from dashboard.words import as_words, capital, counted, number, percent

QUESTION = "What do returns cost?"
MOST_GROUPS = 60
BY_WORDS = {
    "cause": "what the repair found",
    "final_cause": "what it turned out to be in the end",
    "depot": "depot",
    "product_family": "product family",
}
HOW = (
    "Counted are the returns within the days chosen, of repairs whose days are up. A return costs the "
    "minutes between arriving and leaving at the price of an hour, travel for each visit, office work for "
    "the call, and its parts at the cost recorded. A visit without both times takes the median of those with "
    "them (a second person on a visit is not counted); a part without a cost takes the one assumed. Money is "
    "in the company's own unit. What customers paid, and those who never ring again, are not in it.",
    "For a year: what the returns of the repairs looked at cost, over the time from the first to the last of "
    "their closings.",
    "The intervals take units for what was sampled, since calls of one unit hang together: a ratio of totals "
    "over units with its linearised variance (Cochran 1977), symmetric for the logarithm. They hold for the "
    "assumptions as they stand: how far off these are is not in them. Below five units with a return there "
    "is none.",
    "The excess of a group is the repairs of it that came back above those that would have at the rate of "
    "all repairs shown, pulled towards average where calls are few. Halving it saves half of them, at what "
    "one costs on average. The excess is never below none, so that neither it nor its interval reaches none "
    "even where chance alone is at work; it is not adjusted for the mix of work, and says nothing of what "
    "halving costs.",
)


def content(view: View) -> Content:
    """Return the page."""
    by = view.address.one_of("by", COSTED_BY, "cause")
    assumed, problems = assumed_in(view.address, CostAssumptions.usual())
    found = view.fleet.costs(view.filters, by, assumed)
    filters = sentence(view.address, view.choices, view.path)
    if not found.calls:
        return page(QUESTION, notices(problems), filters, no_calls(view.path))
    return page(
        QUESTION,
        notices([*problems, *about_people(view.filters)]),
        filters,
        answer(_in_words(view.filters, found), _saving(found), aside=_aside(found)),
        evidence(
            _groups(view.filters, found) if found.returns else None,
            _made_of(found) if found.returns else None,
            _assumed(view.filters, found),
        ),
        counted_how(HOW),
    )


def _in_words(filters: Filters, found: Costs) -> Words:
    repairs = html.A(number(found.calls), href=to_calls(filters, "judged"))
    if not found.returns:
        return ["None of ", repairs, " repairs came back: ", html.Strong("returns cost nothing"), "."]
    back = html.A(number(found.came_back), href=to_calls(filters, "came_back"))
    amount, time = (found.per_year, " a year") if found.per_year else (found.cost, "")
    one = found.per_return
    return [
        "Returns cost ",
        html.Strong(f"{money(amount.value)}{time}"),
        f" ({with_interval(amount)}), {money(one.value)} each ({with_interval(one)}): ",
        back,
        " of ",
        repairs,
        f" repairs came back, with {counted(found.returns, 'return')}.",
    ]


def _saving(found: Costs) -> Words:
    if not found.halved or not found.returns or not found.per_year:
        return []
    saved = found.a_year(found.halved)
    what = BY_WORDS[found.by]
    return [
        "Halving what groups have above the rate of all, by ",
        what,
        ", would save about ",
        html.Strong(f"{money(saved.value)} a year"),
        f" ({with_interval(saved)}).",
    ]


def _aside(found: Costs) -> Words:
    changed = len(found.assumptions.changed())
    own = f"{counted(changed, 'assumption')} of your own" if changed else "the program's assumptions"
    return [f"In the company's own unit of money, by {own}, below."]


def _options(found: Costs) -> dict[str, str]:
    by = {} if found.by == "cause" else {"by": found.by}
    return {**by, **options_of(found.assumptions)}


def _groups(filters: Filters, found: Costs) -> Component:
    what = BY_WORDS[found.by]
    shown = found.groups.head(MOST_GROUPS)
    rated = found.halved is not None
    highest = max([*shown["high"].drop_nulls().to_list(), *shown["cost"].to_list()])
    scale = nice_scale(min(highest, 2 * max(shown["cost"].to_list())))
    columns = [
        column(capital(what)),
        column("Cost, 95% interval", "mark", scale=scale, ends=["0", money(scale)]),
        column("Cost", "rate"),
        column("95% interval", "number"),
        column("Came back" if rated else "Returns", "number"),
        column("A return", "number"),
        *([column("Above the rate of all", "number"), column("Halved, saves", "number")] if rated else []),
    ]
    rows = [_row(filters, found, row, rated) for row in shown.iter_rows(named=True)]
    options = _options(found)
    return exhibit(
        _finding(found),
        [
            _grouping(filters, found),
            Table(f"Cost of returns by {what}", columns, rows, layout="marks"),
            *left_to_csv(shown.height, found.groups.height, "group"),
            more_csv(
                "Returns one by one, with what each took and cost (CSV)",
                href("/export.csv", filters, table="costed_returns", **options),
            ),
        ],
        lead=f"Dot: cost of the returns of {found.years:.1f} years; line: 95% interval. "
        + ("Above the rate of all: repairs that came back, pulled towards average." if rated else ""),
        tools=[
            keep_png(href("/figure.json", filters, chart="costs", **options), "cost-of-returns", "costs"),
            keep_csv(href("/export.csv", filters, table="costs", **options), "costs by group"),
        ],
        id="groups",
    )


def _grouping(filters: Filters, found: Costs) -> Component:
    options: list[Option] = [("" if name == "cause" else name, BY_WORDS[name]) for name in COSTED_BY]
    chosen = "" if found.by == "cause" else found.by
    kept = href("", filters, **options_of(found.assumptions)).removeprefix("?")
    choice = Choice("choice-by", "by", options, chosen, before="Costs by")
    return html.Form(choice, className="sentence", **spoken("Grouping", keep=kept))


def _finding(found: Costs) -> str:
    named = found.groups.filter(found.groups["group"].is_not_null())
    if named.is_empty() or not found.cost.value:
        return f"Cost of returns by {BY_WORDS[found.by]}"
    first = named.row(0, named=True)
    share = percent(first["cost"] / found.cost.value, found.returns)
    name = as_words(first["group"], first["label"])
    return f"Most of it goes into {name}: {money(first['cost'])}" + (
        f", {share} of the cost" if share else ""
    )


def _row(filters: Filters, found: Costs, row: dict[str, Any], rated: bool) -> list[Cell]:
    name = as_words(row["group"] or "", row["label"])
    returns = counted(row["returns"], "return")
    group = group_filters(filters, found.by, row["group"])
    counts = f"{number(row['came_back'])} of {number(row['calls'])}"
    back = (
        link(counts, to_calls(group, "came_back"), f"{counts} came back, {name}", note=returns)
        if rated
        else number(row["returns"])
    )
    mark = interval_mark(row["cost"], row["low"], row["high"]) if row["low"] is not None else ""
    return [
        link(name, to_calls(group, "judged"), f"Repairs: {name}") if rated else name,
        mark,
        money(row["cost"]),
        limits(row["low"], row["high"]) or "too few",
        back,
        noted(money(row["per_return"]), limits(row["per_return_low"], row["per_return_high"])),
        *(_excess(row) if rated else []),
    ]


def _excess(row: dict[str, Any]) -> list[Cell]:
    if row["excess"] is None:
        return ["", ""]
    return [number(row["excess"], 1), money(row["halved"])]


def _made_of(found: Costs) -> Component:
    rows = found.made_of.filter(found.made_of["money"] > 0).sort("money", descending=True)
    total, scale = found.cost.value or 1.0, nice_scale(max(rows["money"].to_list(), default=1.0))
    first = rows.row(0, named=True)["what"].split(",")[0] if rows.height else ""
    columns = [
        column("What"),
        column("Money", "mark", scale=scale, ends=["0", money(scale)]),
        column("Share", "rate"),
        column("Money", "number"),
        column("For a return", "number"),
        column("Quantity", "number"),
    ]
    cells = [
        [
            capital(row["what"]),
            bar_mark(row["money"]),
            percent(row["money"] / total, found.returns) or "too few",
            money(row["money"]),
            money(row["money"] / found.returns),
            f"{number(row['quantity'])} {row['unit']}" if row["quantity"] is not None else "",
        ]
        for row in rows.iter_rows(named=True)
    ]
    return exhibit(
        f"Where the money goes first: {first}" if first else "No cost by these assumptions",
        Table("What the cost of returns is made of", columns, cells, layout="marks"),
        lead=f"{number(found.timed)} of {number(found.visits)} visits have times of arriving and leaving; "
        f"the others are taken for {number(found.minutes)} minutes.",
    )


def _assumed(filters: Filters, found: Costs) -> Component:
    changed = len(found.assumptions.changed())
    by = {} if found.by == "cause" else {"by": found.by}
    return exhibit(
        f"{counted(changed, 'assumption')} of your own" if changed else "Put your own prices in",
        [
            assumed_form(filters, found.assumptions, by),
            twin(assumed_table(found.assumptions), "Where the assumptions come from"),
        ],
        lead="What the records do not say. What you type stands in the address, and can be sent with it.",
        id="assumed",
    )


PAGE = Page("/costs", "Costs", QUESTION, content, parameters=("by", *described()))
