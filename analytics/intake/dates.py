"""How the dates of a column are written: formats, and the order of day and month, over the whole file."""

import calendar
import re
from collections.abc import Sequence
from dataclasses import dataclass

ISO_FORMATS = ("%Y-%m-%d %H:%M", "%Y-%m-%d", "%Y-%m-%d %H:%M:%S", "%Y-%m-%dT%H:%M:%S", "%Y-%m-%dT%H:%M")
"""What the contract asks for, and its common variants."""

DAY_FIRST, MONTH_FIRST, YEAR_FIRST = "day first", "month first", "year first"

_CLOCK = (
    r"(?P<gap>T|,? +)(?P<hour>9{1,2}):99(?P<seconds>:99)?(?P<fraction>\.9+)?(?P<space> *)(?P<half>[ap]m)?"
)
_REST = rf"(?:{_CLOCK})?(?P<zone> *(?:z|[+-]99:?99))?"
_YEAR_FIRST = re.compile(rf"9999(?P<sign>[-/. ])9{{1,2}}(?P=sign)9{{1,2}}{_REST}", re.IGNORECASE)
_TRIPLE = re.compile(rf"9{{1,2}}(?P<sign>[-/. ])9{{1,2}}(?P=sign)(?P<year>9999|99){_REST}", re.IGNORECASE)
_RUN = re.compile(rf"99999999{_REST}", re.IGNORECASE)
_DAY_NAME = re.compile(
    rf"9{{1,2}}(?P<sign>[-/. ])(?P<name>[a-z]{{3,9}})(?P<next>[-/. ]|, )(?P<year>9999|99){_REST}",
    re.IGNORECASE,
)
_NAME_DAY = re.compile(rf"(?P<name>[a-z]{{3,9}}) 9{{1,2}}(?P<next>,? )(?P<year>9999){_REST}", re.IGNORECASE)
_MONTHS = tuple(each.lower() for each in calendar.month_name if each)


@dataclass(frozen=True)
class Shape:
    """Values of one column that are written alike.

    Parameters
    ----------
    shape : str
        The value with every digit as 9.
    rows : int
        How many there are.
    example, line : str, int
        The first of them, and its physical line.
    only_day_first, only_month_first : int
        How many are a date only if the day, or only if the month, comes first.
    alike : int
        How many have the same number in both places, and so read the same either way.
    """

    shape: str
    rows: int
    example: str
    line: int
    only_day_first: int = 0
    only_month_first: int = 0
    alike: int = 0


@dataclass(frozen=True)
class Decision:
    """How the dates of a column are read.

    Parameters
    ----------
    formats : tuple of str
        strptime formats, the most frequent first; empty where no value looks like a date.
    zoned : bool
        Some values carry an offset from UTC.
    order : str or None
        The order of the parts, where values needed one to be decided.
    open : str or None
        Why the order can not be told; then `formats` leaves those values out.
    """

    formats: tuple[str, ...]
    zoned: bool = False
    order: str | None = None
    open: str | None = None


def shape_of(value: str) -> str:
    """Value with every digit as 9.

    >>> shape_of("1.3.2026 9:05")
    '9.9.9999 9:99'
    """
    return re.sub(r"\d", "9", value.strip())


def looks_dated(shape: str) -> bool:
    """Say whether values of this shape can be dates."""
    return is_iso(shape) or is_open(shape) or bool(_named(shape))


def is_iso(shape: str) -> bool:
    """Say whether values of this shape need no decision: the year comes first, in full."""
    return bool(_YEAR_FIRST.fullmatch(shape))


def is_open(shape: str) -> bool:
    """Say whether values of this shape read differently with day or month first."""
    return bool(_TRIPLE.fullmatch(shape))


def decide(shapes: Sequence[Shape], wanted: str | None = None) -> Decision:
    """Decide how the dates of a column are read.

    Parameters
    ----------
    shapes : sequence of Shape
        All shapes in the column, over the whole file.
    wanted : str, optional
        The order that the mapping names; it is believed.
    """
    ranked = sorted(shapes, key=lambda each: -each.rows)
    triples = [each for each in ranked if _TRIPLE.fullmatch(each.shape)]
    order, why_open = (wanted, None) if wanted else _order(triples)
    formats: list[str] = []
    zoned = False
    for each in ranked:
        form = _format(each, order)
        if form:
            formats.append(form)
            zoned = zoned or bool(re.search(r":99(\.9+)? *(z|[+-]99:?99)$", each.shape, re.IGNORECASE))
    return Decision(tuple(dict.fromkeys(formats)), zoned, order if triples else None, why_open)


def _order(triples: Sequence[Shape]) -> tuple[str | None, str | None]:
    day_first = [each for each in triples if each.only_day_first]
    month_first = [each for each in triples if each.only_month_first]
    if day_first and month_first:
        return None, (
            f"{sum(each.only_day_first for each in day_first):,} values are dates only with the day first, "
            f"{sum(each.only_month_first for each in month_first):,} only with the month first"
        )
    if day_first:
        return DAY_FIRST, None
    if month_first:
        return MONTH_FIRST, None
    if all(each.alike == each.rows for each in triples):
        return DAY_FIRST, None
    return None, "no value of the whole column has a day above 12"


def _format(each: Shape, order: str | None) -> str | None:
    """Strptime format of a shape; None where it is no date, or its order is open."""
    if found := _YEAR_FIRST.fullmatch(each.shape):
        return f"%Y{found['sign']}%m{found['sign']}%d" + _clock(found)
    if found := _TRIPLE.fullmatch(each.shape):
        year = "%Y" if found["year"] == "9999" else "%y"
        parts = {
            DAY_FIRST: ("%d", "%m", year),
            MONTH_FIRST: ("%m", "%d", year),
            YEAR_FIRST: ("%y", "%m", "%d") if year == "%y" else None,
        }.get(order or "")
        return found["sign"].join(parts) + _clock(found) if parts else None
    if (found := _RUN.fullmatch(each.shape)) and each.example.strip()[:2] in ("19", "20"):
        return "%Y%m%d" + _clock(found)
    return _named(each.shape)


def _named(shape: str) -> str | None:
    """Format of a date with the month as an English word."""
    for pattern in (_DAY_NAME, _NAME_DAY):
        found = pattern.fullmatch(shape)
        if found and (name := found["name"].lower()) in {*_MONTHS, *(month[:3] for month in _MONTHS)}:
            month = "%b" if len(name) == 3 else "%B"
            year = "%Y" if found["year"] == "9999" else "%y"
            if pattern is _DAY_NAME:
                return f"%d{found['sign']}{month}{found['next']}{year}" + _clock(found)
            return f"{month} %d{found['next']}{year}" + _clock(found)
    return None


def _clock(found: re.Match[str]) -> str:
    """Time of day in the format; an offset from UTC behind it is cut off before reading."""
    if found["hour"] is None:
        return ""
    clock = "%I:%M" if found["half"] else "%H:%M"
    clock += ":%S" if found["seconds"] else ""
    if found["fraction"]:
        clock += ".%f" if len(found["fraction"]) <= 7 else ".%n"
    return found["gap"] + clock + (found["space"] + "%p" if found["half"] else "")
