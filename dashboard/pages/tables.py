"""What can be kept: the tables behind /export.csv and the charts behind /figure.json, by name."""

from collections.abc import Callable, Iterator, Mapping
from datetime import date

import polars as pl

from analytics.errors import BadQuestion
from analytics.filters import COMPARED, GROUPINGS
from analytics.fleet import Fleet
from analytics.fleet_time import PERIODS as TIME_PERIODS
from analytics.questions.answers import GroupFigures
from analytics.questions.changes import PATH_SCHEMA
from analytics.questions.comparison import PERIODS, Comparison, periods_of
from analytics.questions.subsets import SUBSETS
from analytics.rates import Rate
from dashboard.address import Address, to_calls
from dashboard.components.filter_words import in_words
from dashboard.components.grouping import BY_WORDS
from dashboard.components.narrowed import narrowed
from dashboard.components.people import about_people, about_people_compared
from dashboard.components.trend import target
from dashboard.figures.funnel import funnel
from dashboard.figures.groups import bars, intervals
from dashboard.figures.look import Figure, picture
from dashboard.figures.months import by_month
from dashboard.figures.sums import sums
from dashboard.figures.waits import waits
from dashboard.pages import tables_of_subjects as subjects
from dashboard.pages.callbacks import group_order
from dashboard.pages.compare import in_order
from dashboard.pages.over_time import MOST_WEEKS
from dashboard.pages.tables_of_review import OPENINGS, REVIEW_TABLES
from dashboard.pages.view import read_address
from dashboard.seeing import for_whom
from dashboard.words import capital, day, number, percent

ROWS_AT_ONCE = 10_000
MOST_GROUPS_DRAWN = 40


def _calls(fleet: Fleet, address: Address) -> Iterator[pl.DataFrame]:
    subset = address.one_of("subset", SUBSETS, "all")
    check = address.one_of("check", fleet.labels("checks"), "")
    only, _ = narrowed(address, subset, fleet.labels, fleet.habit_labels())
    return _pages(lambda at: fleet.calls(address.filters, subset, at, ROWS_AT_ONCE, check=check, only=only))


def _returns(fleet: Fleet, address: Address) -> Iterator[pl.DataFrame]:
    def ask(at: int) -> tuple[pl.DataFrame, int]:
        rows, total = fleet.returns(address.filters, at, ROWS_AT_ONCE)
        return fleet.with_remarks(rows), total

    return _pages(ask)


def _set_aside(fleet: Fleet, address: Address) -> Iterator[pl.DataFrame]:
    return _pages(lambda at: fleet.set_aside(None, at, ROWS_AT_ONCE))


def _to_mend(fleet: Fleet, address: Address) -> Iterator[pl.DataFrame]:
    number = address.options.get("file", "")
    yield fleet.to_mend(int(number) if number.isdecimal() and len(number) < 10 else 0)


def _phrases(fleet: Fleet, address: Address) -> Iterator[pl.DataFrame]:
    return _pages(lambda at: fleet.unrecognised(None, at, ROWS_AT_ONCE))


def _pages(ask: Callable[[int], tuple[pl.DataFrame, int]]) -> Iterator[pl.DataFrame]:
    rows, total = ask(0)
    yield rows
    for offset in range(ROWS_AT_ONCE, total, ROWS_AT_ONCE):
        yield ask(offset)[0]


def _groups(fleet: Fleet, address: Address) -> Iterator[pl.DataFrame]:
    by = address.one_of("by", GROUPINGS, "depot")
    groups = group_order(fleet.figures(address.filters, by=by).groups, by)
    yield pl.DataFrame([_group_row(by, group) for group in groups])


def _waits(fleet: Fleet, address: Address) -> Iterator[pl.DataFrame]:
    found = fleet.ringing_again(address.filters, by=address.one_of("by", GROUPINGS, "depot"))
    for at, curve in enumerate([found.whole, *found.groups]):
        group = pl.lit("all" if not at else curve.group, dtype=pl.String).alias("group")
        yield curve.points.select(group, pl.lit(curve.label).alias("label"), pl.all())


def _repeat_units(fleet: Fleet, address: Address) -> Iterator[pl.DataFrame]:
    return _pages(lambda at: fleet.repeat_unit_list(at, ROWS_AT_ONCE))


def _group_row(by: str, group: GroupFigures) -> dict[str, object]:
    rate, any_rate = group.callback_rate, group.callback_rate_any
    return {
        by: group.group,
        "label": group.label,
        "came_back": rate.numerator,
        "judged": rate.denominator,
        "rate": rate.rate,
        "low": rate.low,
        "high": rate.high,
        "too_soon_to_say": rate.inside_window,
        "came_back_any": any_rate.numerator,
        "judged_any": any_rate.denominator,
        "rate_any": any_rate.rate,
    }


def _once(
    ask: Callable[[Fleet, Address], pl.DataFrame],
) -> Callable[[Fleet, Address], Iterator[pl.DataFrame]]:
    return lambda fleet, address: iter([ask(fleet, address)])


def _compared(fleet: Fleet, address: Address) -> Comparison:
    by = address.one_of("by", COMPARED, "depot")
    return fleet.compared(
        address.filters.but(as_of=None), by, address.one_of("period", periods_of(by), PERIODS[0])
    )


def _period(address: Address) -> str:
    return address.one_of("each", TIME_PERIODS, TIME_PERIODS[0])


def _watched(fleet: Fleet, address: Address) -> pl.DataFrame:
    watched = fleet.over_time(address.filters).watched
    return watched.path if watched else pl.DataFrame(schema=PATH_SCHEMA)


TABLES: Mapping[str, Callable[[Fleet, Address], Iterator[pl.DataFrame]]] = {
    "calls": _calls,
    "returns": _returns,
    "groups": _groups,
    "waits": _waits,
    "compared": _once(lambda fleet, address: in_order(_compared(fleet, address))),
    "repeat_units": _repeat_units,
    "over_time": _once(lambda fleet, address: fleet.rates_over_time(address.filters, _period(address))),
    "watched": _once(_watched),
    "silent_sample": _once(lambda fleet, address: fleet.silent_sample(address.filters, date.today())),
    "months": _once(lambda fleet, address: fleet.by_month(address.filters)),
    "spoiled": _once(lambda fleet, address: fleet.spoiled(address.filters)),
    **{name: _once(ask) for name, ask in REVIEW_TABLES.items()},
    "loads": _once(lambda fleet, address: fleet.loads()),
    "files": _once(lambda fleet, address: fleet.files()),
    "set_aside": _set_aside,
    "phrases": _phrases,
    "to_mend": _to_mend,
    "settled": lambda fleet, address: iter([fleet.settled().with_columns(pl.col("codes").list.join(", "))]),
    "taken_back": lambda fleet, address: iter([fleet.taken_back()]),
    "recording": _once(
        lambda fleet, address: fleet.recording(address.one_of("by", ("depot", "technician"), "depot"))
    ),
    **subjects.IN_PIECES,
    **{name: _once(ask) for name, ask in subjects.WHOLE.items()},
}


OF_THE_NEWEST = frozenset(
    ("loads", "files", "set_aside", "phrases", "to_mend", "settled", "taken_back", "recording")
)
"""Tables of pages that show the records as they are now; see `Page.newest`."""


def _months_figure(fleet: Fleet, address: Address) -> Figure:
    return by_month(fleet.by_month(address.filters), lambda first: to_calls(address.filters, "judged"))


def _groups_figure(fleet: Fleet, address: Address) -> Figure:
    by = address.one_of("by", GROUPINGS, "depot")
    found = fleet.figures(address.filters, by=by)
    rows = [
        {"label": group.label, "value": rate.rate, "low": rate.low, "high": rate.high, "note": _note(rate)}
        for group in group_order(found.groups, by)[:MOST_GROUPS_DRAWN]
        for rate in [group.callback_rate]
        if rate.rate is not None and percent(rate.rate, rate.denominator)
    ]
    schema = {
        "label": pl.String,
        "value": pl.Float64,
        "low": pl.Float64,
        "high": pl.Float64,
        "note": pl.String,
    }
    return intervals(pl.DataFrame(rows, schema=schema), found.callback_rate.rate)


def _note(rate: Rate) -> str:
    return f"{number(rate.numerator)} of {number(rate.denominator)}"


def _spoiled_figure(fleet: Fleet, address: Address) -> Figure:
    rows = fleet.spoiled(address.filters).filter(pl.col("calls") > 0).sort("calls", descending=True)
    labels = [capital(label) for label in rows["label"]]
    notes = [number(calls) for calls in rows["calls"]]
    return bars(pl.DataFrame({"label": labels, "value": rows["calls"], "note": notes}))


def _waits_figure(fleet: Fleet, address: Address) -> Figure:
    found = fleet.ringing_again(address.filters, by=address.one_of("by", GROUPINGS, "depot"))
    return waits(found.whole, found.groups, address.filters.window_days)


def _funnel_figure(fleet: Fleet, address: Address) -> Figure:
    found = _compared(fleet, address)
    return funnel(found, named=found.by != "technician")


def _over_time_figure(fleet: Fleet, address: Address) -> Figure:
    period = _period(address)
    frame = fleet.rates_over_time(address.filters, period).tail(MOST_WEEKS)
    return by_month(frame, lambda first: target(address.filters, first, "judged", period), period=period)


def _watched_figure(fleet: Fleet, address: Address) -> Figure:
    watched = fleet.over_time(address.filters).watched
    if watched is None:
        raise BadQuestion("These calls are not watched one after another; the page says why.")
    return sums(watched)


FIGURES: Mapping[str, Callable[[Fleet, Address], Figure]] = {
    "months": _months_figure,
    "groups": _groups_figure,
    "spoiled": _spoiled_figure,
    "waits": _waits_figure,
    "funnel": _funnel_figure,
    **subjects.FIGURES,
    "over_time": _over_time_figure,
    "watched": _watched_figure,
}


TITLES = {
    "months": "Share of repairs that came back, by month of closing",
    "groups": "Share of repairs that came back, by {by}",
    "waits": "Share of repairs that came back, by days since closing",
    "funnel": "Adjusted share of repairs that came back, by {by}, last twelve months",
    "over_time": "Share of repairs that came back, by {each} of closing",
    "watched": "More or fewer returns than expected",
    "spoiled": "Calls not fixed the first time, by the first reason that applies",
    **subjects.TITLES,
}


class Kept:
    """The tables and charts of one fleet, by name.

    Parameters
    ----------
    fleet : Fleet
        The facade that answers every question.
    """

    tables = tuple(TABLES)
    figures = tuple(FIGURES)

    def __init__(self, fleet: Fleet) -> None:
        self._fleet = fleet

    def address(self, search: str) -> Address:
        """Read the query string of a request."""
        return read_address(self._seen(), search)[1]

    def generation(self) -> int:
        """Return the number of the data as loaded, for the name of a file."""
        return int(self._seen().generation().get("number", 0))

    def table(self, name: str, address: Address) -> Iterator[pl.DataFrame]:
        """Return a table in pieces."""
        fleet = self._seen().newest() if name in OF_THE_NEWEST else self._seen()
        return TABLES[name](fleet.for_one_page(), address)

    def opening(self, address: Address) -> list[str]:
        """Return what a table about people can not say; nothing for any other."""
        openings = {**OPENINGS, **subjects.OPENINGS}
        if (table := address.options.get("table", "")) in openings:
            return openings[table]
        by = address.options.get("by", "")
        adjusted = table == "compared"
        return (
            about_people_compared() if adjusted and by == "technician" else about_people(address.filters, by)
        )

    def figure(self, name: str, address: Address) -> Figure:
        """Return a chart, with its title and what it is about."""
        seen = self._seen().for_one_page()
        by = BY_WORDS[address.one_of("by", GROUPINGS, "depot")]
        title = TITLES[name].format(by=by, each=_period(address))
        about = in_words(address.filters, seen.choices())
        loaded = f"data as loaded on {day(seen.generation().get('made_at'))}"
        return picture(FIGURES[name](seen, address), title, f"{about}; {loaded}")

    def _seen(self) -> Fleet:
        return for_whom(self._fleet)
