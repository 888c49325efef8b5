"""The address of a view: which filters and options it holds, read from and written to a query string.

A view can be sent as its address, so nothing that a page shows is kept anywhere else. Reading never fails:
what an address asks for and does not exist is left out, and `Address.problems` says so in words for the top
of the page.
"""

import calendar
import re
from collections.abc import Collection, Mapping
from dataclasses import dataclass, field
from datetime import date
from urllib.parse import parse_qsl, quote, urlencode

from analytics.filters import MATCHES, WINDOWS_DAYS, Filters
from dashboard.words import listed

LIST_PARAMETERS = {
    "depot": "depots",
    "kind": "families",
    "complaint": "symptoms",
    "product": "product_families",
    "technician": "technicians",
    "cause": "causes",
    "part": "parts",
}
NOT_RECORDED = "not-recorded"
"""In an address: calls on which the field is blank or not recognised; in `Filters` it is an empty text."""

DAY_PARAMETERS = {"from": "closed_from", "to": "closed_to", "as_of": "as_of"}

_NAMES = {
    "depot": "depot",
    "kind": "kind of complaint",
    "complaint": "complaint",
    "product": "product family",
    "technician": "technician",
    "cause": "cause",
    "part": "part",
}
_MONTH = re.compile(r"\d{4}-\d{2}")
_LONGEST_VALUE_SHOWN = 40


@dataclass(frozen=True)
class Address:
    """What one address asks for.

    Parameters
    ----------
    filters : Filters
        The calls that the view is about, and what counts as a return.
    options : dict of str to str
        The page's own parameters, such as "by" or "page".
    problems : tuple of str
        One sentence for each thing asked for that does not exist, and what is shown instead.
    """

    filters: Filters = field(default_factory=Filters)
    options: Mapping[str, str] = field(default_factory=dict)
    problems: tuple[str, ...] = ()

    def page_number(self, name: str = "page") -> int:
        """Number of the page of a long table, from 1; anything else than a positive number is 1."""
        text = self.options.get(name, "1")
        return max(1, int(text)) if text.isascii() and text.isdigit() and len(text) < 8 else 1

    def one_of(self, name: str, legal: Collection[str], default: str) -> str:
        """Value of an option that must be one of `legal`; else the default (see `with_option_checked`)."""
        value = self.options.get(name, default)
        return value if value in legal else default


def parse(search: str | None, known: Mapping[str, Collection[str]]) -> Address:
    """Read a query string.

    Parameters
    ----------
    search : str or None
        The query string, with or without its question mark.
    known : mapping of str to collection of str
        The codes that exist in the data as loaded, by field of `Filters` that holds several values.

    Returns
    -------
    Address
    """
    problems: list[str] = []
    chosen: dict[str, list[str]] = {}
    options: dict[str, str] = {}
    days: dict[str, date] = {}
    changes: dict[str, object] = {}
    for name, value in parse_qsl((search or "").removeprefix("?")):
        if name in LIST_PARAMETERS:
            _take_code(name, value, known, chosen, problems)
        elif name in DAY_PARAMETERS:
            _take_day(name, value, days, problems)
        elif name == "within":
            _take_window(value, changes, problems)
        elif name == "match":
            _take_match(value, changes, problems)
        else:
            options[name] = value
    if days.get("from", date.min) > days.get("to", date.max):
        problems.append("The address asks for a period that ends before it begins; all days are shown.")
        del days["from"], days["to"]
    changes |= {LIST_PARAMETERS[name]: tuple(codes) for name, codes in chosen.items()}
    changes |= {DAY_PARAMETERS[name]: value for name, value in days.items()}
    return Address(Filters().but(**changes), options, tuple(problems))


def _shown(value: str) -> str:
    return value if len(value) <= _LONGEST_VALUE_SHOWN else value[:_LONGEST_VALUE_SHOWN] + "…"


def _take_code(
    name: str,
    value: str,
    known: Mapping[str, Collection[str]],
    chosen: dict[str, list[str]],
    problems: list[str],
) -> None:
    code = "" if value == NOT_RECORDED else value
    if code and code not in known.get(LIST_PARAMETERS[name], ()):
        problems.append(
            f"There is no {_NAMES[name]} “{_shown(value)}” in the data as loaded; it is left out of the view."
        )
    elif code not in chosen.setdefault(name, []):
        chosen[name].append(code)


def _take_day(name: str, value: str, days: dict[str, date], problems: list[str]) -> None:
    try:
        if _MONTH.fullmatch(value):
            first = date.fromisoformat(f"{value}-01")
            days[name] = first if name == "from" else last_of_month(first)
        else:
            days[name] = date.fromisoformat(value)
    except ValueError:
        problems.append(
            f"“{_shown(value)}” is not a day or month; write it like 2026-03-01 or 2026-03. It is left out "
            "of the view."
        )


def _take_window(value: str, changes: dict[str, object], problems: list[str]) -> None:
    if value in map(str, WINDOWS_DAYS):
        changes["window_days"] = int(value)
    else:
        problems.append(
            f"The address asks for a return within “{_shown(value)}” days, which is not kept; "
            f"{Filters.window_days} days is shown. Choose one of "
            f"{listed([str(w) for w in WINDOWS_DAYS], 'or')}."
        )


def _take_match(value: str, changes: dict[str, object], problems: list[str]) -> None:
    if value in MATCHES:
        changes["match"] = value
    else:
        problems.append(
            f"“{_shown(value)}” is no way to match a return; the same kind of complaint is shown. "
            f"Choose one of {listed(list(MATCHES), 'or')}."
        )


def query(filters: Filters, **options: str | int | None) -> str:
    """Write filters and options as a query string with its question mark; "" when all are at their defaults.

    Days that bound whole months are written as months. `parse` of the result gives the same filters.
    """
    pairs: list[tuple[str, str]] = []
    for name, field_name in LIST_PARAMETERS.items():
        pairs += [(name, code or NOT_RECORDED) for code in getattr(filters, field_name)]
    for name, field_name in DAY_PARAMETERS.items():
        if (value := getattr(filters, field_name)) is not None:
            pairs.append((name, as_month(value, name) or value.isoformat()))
    if filters.window_days != Filters.window_days:
        pairs.append(("within", str(filters.window_days)))
    if filters.match != Filters.match:
        pairs.append(("match", filters.match))
    pairs += [(name, str(value)) for name, value in options.items() if value is not None]
    return f"?{urlencode(pairs)}" if pairs else ""


def last_of_month(first: date, months: int = 1) -> date:
    """Return the last day of the month that begins on `first`, or of the one `months` - 1 later."""
    at = first.month - 1 + months - 1
    year, month = first.year + at // 12, at % 12 + 1
    return date(year, month, calendar.monthrange(year, month)[1])


def filters_only(search: str | None) -> str:
    """Return the part of a query string that holds filters, to carry along to another page."""
    names = {*LIST_PARAMETERS, *DAY_PARAMETERS, "within", "match"}
    pairs = [pair for pair in parse_qsl((search or "").removeprefix("?")) if pair[0] in names]
    return f"?{urlencode(pairs)}" if pairs else ""


def as_month(value: date, bound: str) -> str | None:
    """Return "2026-03" where the day is the first ("from") or last ("to") of its month, else None."""
    edge = {"from": 1, "to": last_of_month(value).day}.get(bound)
    return f"{value:%Y-%m}" if value.day == edge else None


def href(path: str, filters: Filters | None = None, **options: str | int | None) -> str:
    """Return the address of a page with these filters and options."""
    return path + query(filters or Filters(), **options)


def to_calls(filters: Filters, subset: str, check: str | None = None) -> str:
    """Return the address of the calls behind a number; of one about a check, with its code."""
    return href("/calls", filters, subset=subset, check=check)


def to_call(call_id: str, filters: Filters | None = None) -> str:
    """Return the address of one call's page; the id may hold any character."""
    return href(f"/call/{quote(call_id, safe='')}", filters)


def to_unit(unit_id: str, filters: Filters | None = None) -> str:
    """Return the address of one unit's page; the id may hold any character."""
    return href(f"/unit/{quote(unit_id, safe='')}", filters)
