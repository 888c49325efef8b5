"""Rates as sentences, each number a link to the calls behind it."""

from collections.abc import Sequence

from dash import html
from dash.development.base_component import Component

from analytics.filters import Filters
from analytics.rates import Rate
from dashboard.address import to_calls
from dashboard.components.attributes import spoken
from dashboard.words import counted, interval, number, percent

Words = list[str | Component]


def answer(*sentences: Sequence[str | Component], aside: Sequence[str | Component] = ()) -> Component:
    """Return the answer of a page: one paragraph per sentence, and a smaller one `aside`."""
    paragraphs = [html.P(list(words)) for words in sentences if words]
    small = [html.P(list(aside), className="aside")] if aside else []
    return html.Div(paragraphs + small, className="answer", role="status")


def calls_link(count: int, filters: Filters, subset: str, named: str) -> Component:
    """Return a count that opens the calls behind it."""
    return html.A(number(count), href=to_calls(filters, subset), **spoken(f"{number(count)} {named}"))


def rate_in_words(
    rate: Rate,
    done: str,
    filters: Filters,
    subset: str,
    among: str,
    yet: str = "none has been followed long enough",
) -> Words:
    """Return a rate as the words of a sentence, without its full stop.

    Parameters
    ----------
    rate : Rate
        What to say; fewer than 5 calls are never given as a percentage.
    done : str
        What the numerator did: "came back within 30 days".
    filters : Filters
        The calls it is about, for the links.
    subset, among : str
        Subsets of calls behind numerator and denominator.
    yet : str
        What to say where nothing could be judged.
    """
    if not rate.denominator:
        return [f"Too soon to say how many {done}: {yet}"]
    over = calls_link(rate.numerator, filters, subset, f"calls {done}")
    out_of = calls_link(rate.denominator, filters, among, "calls that could be judged")
    share = percent(rate.rate, rate.denominator)
    if not share:
        return [over, " of ", out_of, f" {done}: too few calls for a percentage"]
    limits = interval(rate.low, rate.high, rate.denominator)
    return [html.Strong(share), f" {done} (", over, " of ", out_of, f"; 95% interval {limits})"]


def too_soon(rate: Rate, filters: Filters) -> Words:
    """Return the sentence on the calls too young to judge, or nothing where there are none."""
    if not rate.inside_window:
        return []
    link = html.A(counted(rate.inside_window, "call"), href=to_calls(filters, "inside_window"))
    verb = "is" if rate.inside_window == 1 else "are"
    return [
        link,
        f" {verb} too soon to say: closed less than {filters.window_days} days before the records end.",
    ]
