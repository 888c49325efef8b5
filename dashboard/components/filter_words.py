"""The filters of a view in plain words, for pictures that leave the page."""

from collections.abc import Mapping
from datetime import date

import polars as pl

from analytics.filters import Filters
from dashboard.address import LIST_PARAMETERS, as_month
from dashboard.components.sentence import BLANK_WORDS, MATCH_WORDS
from dashboard.words import as_words, day, listed, month


def in_words(filters: Filters, choices: Mapping[str, pl.DataFrame]) -> str:
    """Write which calls a view is about, and what counts as a return.

    Parameters
    ----------
    filters : Filters
        What is chosen.
    choices : mapping of str to DataFrame
        As from `Fleet.choices`, for the labels.
    """
    chosen = [_chosen(field, filters, choices) for field in LIST_PARAMETERS.values()]
    period = [
        f"closed {word} {_bound(value, name)}"
        for word, name, value in (("from", "from", filters.closed_from), ("until", "to", filters.closed_to))
        if value is not None
    ]
    as_of = [f"as the records stood on {day(filters.as_of)}"] if filters.as_of else []
    calls = "; ".join([part for part in chosen if part] + period + as_of) or "all calls"
    window = f"a return within {filters.window_days} days for {MATCH_WORDS[filters.match]} counts"
    return f"{calls[0].upper()}{calls[1:]}; {window}"


def _chosen(field: str, filters: Filters, choices: Mapping[str, pl.DataFrame]) -> str:
    codes = getattr(filters, field)
    labels = dict(choices[field].select("value", "label").iter_rows()) if codes and field in choices else {}
    words = [as_words(code, labels.get(code, code)) if code else BLANK_WORDS[field] for code in codes]
    return listed(words, "or")


def _bound(value: date, name: str) -> str:
    return month(value) if as_month(value, name) else day(value)
