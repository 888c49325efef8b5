"""Rates of groups beside each other, as a table with the intervals drawn in."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from analytics.questions.answers import GroupFigures
from analytics.rates import Rate
from dashboard.components.table import (
    Cell,
    Table,
    column,
    interval_mark,
    interval_text,
    link,
    nice_scale,
    share_text,
)
from dashboard.words import as_words, number, percent

Target = Callable[[GroupFigures, str], str]
Pick = Callable[[GroupFigures], Rate]


@dataclass(frozen=True)
class Beside:
    """A further rate of each group.

    Parameters
    ----------
    heading : str
        Heading of its column.
    pick : callable
        Group -> rate.
    address : callable
        Group -> address of the calls behind its numerator.
    """

    heading: str
    pick: Pick
    address: Callable[[GroupFigures], str]


def group_table(
    caption: str,
    what: str,
    groups: Sequence[GroupFigures],
    pick: Pick,
    overall: Rate,
    target: Target,
    subsets: tuple[str, str],
    beside: Sequence[Beside] = (),
) -> Table:
    """Return one row per group: name, dot with interval, rate, counts, interval, calls too soon to say.

    Parameters
    ----------
    caption : str
        What the table holds.
    what : str
        Heading of the first column.
    groups : list of GroupFigures
        In the order to show.
    pick : callable
        Which of a group's rates the row is about.
    overall : Rate
        The same rate of all calls, drawn as a thin rule.
    target : callable
        Address of the calls of a group behind a subset.
    subsets : (str, str)
        Subsets behind numerator and denominator.
    beside : list of Beside
        Further rates of each group, in digits only.
    """
    scale = _scale([pick(group) for group in groups] + [overall])
    columns = [
        column(what),
        column(
            "Rate and 95% interval",
            "mark",
            scale=scale,
            reference=overall.rate,
            ends=["0%", f"{100 * scale:g}%"],
        ),
        column("Rate", "rate"),
        column("Calls", "number"),
        column("95% interval", "number"),
        *[column(each.heading, "number") for each in beside],
        column("Too soon", "number"),
    ]
    rows = [_row(group, pick(group), target, subsets, beside) for group in groups]
    return Table(caption, columns, rows, layout="marks")


def _row(
    group: GroupFigures, rate: Rate, target: Target, subsets: tuple[str, str], beside: Sequence[Beside]
) -> list[Cell]:
    calls = rate.denominator
    enough = bool(percent(rate.rate, calls)) and calls > 0
    hollow = rate.inside_window > calls
    name = as_words(group.group or "", group.label)
    counts = f"{number(rate.numerator)} of {number(calls)}"
    over, among = subsets
    return [
        link(name, target(group, among)),
        interval_mark(rate.rate, rate.low, rate.high, hollow) if enough else "",
        share_text(rate.rate, calls) if calls else "too soon",
        link(counts, target(group, over), f"{counts}, {name}"),
        interval_text(rate.low, rate.high, calls),
        *[_beside_cell(group, name, each) for each in beside],
        _young_cell(rate, name, target(group, "inside_window")),
    ]


def _young_cell(rate: Rate, name: str, address: str) -> Cell:
    young = number(rate.inside_window)
    return link(young, address, f"{young} too soon to say, {name}") if rate.inside_window else ""


def _beside_cell(group: GroupFigures, name: str, each: Beside) -> Cell:
    rate = each.pick(group)
    text = share_text(rate.rate, rate.denominator) if rate.denominator else ""
    return link(text, each.address(group), f"{text} {each.heading.lower()}, {name}") if text else ""


def _scale(rates: Sequence[Rate]) -> float:
    """Right end of the scale: twice the highest estimate, or the highest upper limit where that is nearer."""
    shown = [rate for rate in rates if rate.rate is not None and percent(rate.rate, rate.denominator)]
    highest = max((rate.high or 0 for rate in shown), default=1.0)
    widest = 2 * max((rate.rate or 0 for rate in shown), default=0.5)
    return min(1.0, nice_scale(min(highest, widest) if widest else highest))
