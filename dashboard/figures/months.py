"""A rate month by month or week by week, with the range that chance alone would give."""

from collections.abc import Callable
from datetime import date, timedelta
from typing import Any

import polars as pl

from dashboard.figures import look
from dashboard.words import capital, counted, day, interval, month, percent, week

HEIGHT = 320
ROOM_FOR_LABELS = 68
MANY_MONTHS = 36
SAID = {"month": month, "week": week}
SHORT = {"month": month, "week": day}
"""How a period is named in the text at a dot, and beside one on the chart."""


def by_month(
    months: pl.DataFrame, target: Callable[[date], str], unit: str = "came back", period: str = "month"
) -> look.Figure:
    """Draw a rate by month: dots with intervals, the average, and the range expected by chance.

    Months in which some calls are too young to judge are hollow, at their estimate where the frame has
    estimates, and not drawn where none is known yet; months outside the range are diamonds with a label.

    Parameters
    ----------
    months : DataFrame
        month (date), numerator, denominator, rate, low, high (0..1 or null), inside_window, limit_low,
        limit_high, mean (0..1 or null); and perhaps estimate, estimate_low, estimate_high; one row per month,
        in order.
    target : callable
        Address of the calls behind one month.
    unit : str
        What the numerator did, for the text at each dot.
    period : str
        "month", or "week" where the first column is the Monday of a week of that name.

    Returns
    -------
    dict
        A figure for Plotly.js.
    """
    months = months.rename({period: "month"})
    judged = months.filter(pl.col("rate").is_not_null())
    estimated = _estimated(months)
    if estimated is not None:
        judged = judged.filter(pl.col("inside_window") == 0)
    outside = judged.filter((pl.col("rate") > pl.col("limit_high")) | (pl.col("rate") < pl.col("limit_low")))
    inside = judged.join(outside.select("month"), on="month", how="anti")
    young = inside.filter(pl.col("inside_window") > 0) if estimated is None else estimated
    settled = inside.filter(pl.col("inside_window") == 0)
    limits = judged.filter(pl.col("limit_low").is_not_null() & (pl.col("inside_window") == 0))
    size = 8 if months.height <= MANY_MONTHS else 6
    data = [
        *_range(limits),
        _average(limits),
        _line(judged.filter(pl.col("inside_window") == 0)),
        _dots(settled, target, _spoken(settled, unit, period), "ours-old", "circle", size),
        _dots(young, target, _spoken(young, unit, period), "ours-young", "circle-open", size),
        _dots(outside, target, _spoken(outside, unit, period), "flag-outside", "diamond", size + 2),
    ]
    drawn = pl.concat([judged.select("month", "rate"), young.select("month", "rate")])
    return {
        "data": [trace for trace in data if trace["x"]],
        "layout": _layout(months, limits, outside, drawn, period),
    }


def _estimated(months: pl.DataFrame) -> pl.DataFrame | None:
    """Return the months to be drawn at their estimate, or None where the frame has no estimates."""
    if "estimate" not in months.columns:
        return None
    known = months.filter((pl.col("inside_window") > 0) & pl.col("estimate").is_not_null())
    return known.with_columns(
        pl.col("estimate").alias("rate"),
        pl.col("estimate_low").alias("low"),
        pl.col("estimate_high").alias("high"),
    )


def _range(limits: pl.DataFrame) -> list[look.Figure]:
    edge = {
        "x": limits["month"].to_list(),
        "mode": "lines",
        "line": {"width": 0, "shape": "hvh"},
        "hoverinfo": "skip",
    }
    low = edge | {"y": limits["limit_low"].to_list()}
    high = edge | {"y": limits["limit_high"].to_list(), "fill": "tonexty", "fillcolor": look.BAND}
    return [low, high]


def _average(limits: pl.DataFrame) -> look.Figure:
    return {
        "uid": "rest-average",
        "x": limits["month"].to_list(),
        "y": limits["mean"].to_list(),
        "mode": "lines",
        "line": {"width": 1, "color": look.REST},
        "hoverinfo": "skip",
    }


def _line(judged: pl.DataFrame) -> look.Figure:
    return {
        "uid": "ours-line",
        "x": judged["month"].to_list(),
        "y": judged["rate"].to_list(),
        "mode": "lines",
        "line": {"width": 1.25, "color": look.ACCENT},
        "opacity": 0.5,
        "hoverinfo": "skip",
    }


def _dots(
    rows: pl.DataFrame, target: Callable[[date], str], spoken: list[str], uid: str, symbol: str, size: int
) -> look.Figure:
    colour = look.FLAG if uid.startswith("flag") else look.ACCENT
    return {
        "uid": uid,
        "x": rows["month"].to_list(),
        "y": rows["rate"].to_list(),
        "mode": "markers",
        "marker": {"symbol": symbol, "color": colour, "size": size, "line": {"width": 1.5, "color": colour}},
        "error_y": {
            "type": "data",
            "symmetric": False,
            "array": (rows["high"] - rows["rate"]).to_list(),
            "arrayminus": (rows["rate"] - rows["low"]).to_list(),
            "thickness": 1,
            "width": 0,
            "color": look.PALE[colour],
        },
        "customdata": [target(each) for each in rows["month"]],
        "text": spoken,
        "hovertemplate": "%{text}<extra></extra>",
    }


def _spoken(rows: pl.DataFrame, unit: str, period: str) -> list[str]:
    return [_told(row, unit, SAID[period](row["month"])) for row in rows.iter_rows(named=True)]


def _told(row: dict[str, Any], unit: str, period: str) -> str:
    calls, counts = row["denominator"], f"{row['numerator']:,} of {row['denominator']:,}"
    if row.get("estimate") is not None:
        calls = row["followed"]
        share = percent(row["rate"], calls)
        said = f"{share} {unit}, estimate from {counted(calls, 'call')} as far as followed" if share else ""
    else:
        share = percent(row["rate"], calls)
        said = f"{share + ' ' if share else ''}{unit}: {counts}"
    lines = [
        f"<b>{capital(period)}</b>",
        said,
        f"95% interval {interval(row['low'], row['high'], calls)}" if share else "too few for a percentage",
    ]
    if row["inside_window"]:
        lines.append(f"{counted(row['inside_window'], 'call')} too soon to say")
    return "<br>".join(line for line in lines if line)


def _layout(
    months: pl.DataFrame, limits: pl.DataFrame, outside: pl.DataFrame, drawn: pl.DataFrame, period: str
) -> look.Figure:
    notes = [
        _beside(row, months, SHORT[period](row["month"])) for row in outside.tail(6).iter_rows(named=True)
    ]
    if limits.height:
        last = limits.row(-1, named=True)
        share = percent(last["mean"], int(limits["denominator"].sum()))
        notes += [_end(f"average<br>{share}", last["mean"]), _end("chance<br>alone", last["limit_high"])]
    unjudged = months.filter(pl.col("inside_window") > 0).join(drawn, on="month", how="anti")
    if unjudged.height:
        middle = unjudged["month"][unjudged.height // 2]
        words = "not yet<br>known" if "estimate" in months.columns else "too soon<br>to say"
        notes.append(look.note(words, middle, 0, yanchor="bottom"))
    layout = look.layout(
        HEIGHT,
        annotations=notes,
        xaxis=look.axis(showgrid=False, tickformat="%b<br>%Y", nticks=8, type="date", range=_ends(months)),
        yaxis=look.axis(tickformat=".0%", range=[0, _top(drawn, limits)], nticks=6),
    )
    layout["margin"]["r"] = ROOM_FOR_LABELS
    return layout


def _ends(months: pl.DataFrame) -> list[Any] | None:
    """Ends of the axis of time: some room beyond the first and last month."""
    if months.is_empty():
        return None
    first, last = months["month"][0], months["month"][-1]
    room = max(timedelta(days=15), (last - first) * 0.025)
    return [first - room, last + room]


def _top(drawn: pl.DataFrame, limits: pl.DataFrame) -> float:
    """Upper end of the scale: above every rate and the usual limit.

    Intervals of months with few calls may run out of it; the table beside the chart has them whole.
    """
    usual = limits["limit_high"].sort().to_list()[limits.height // 2 :][:1]
    highest = max([*drawn["rate"].drop_nulls(), *usual], default=0.0)
    return min(1.05, 1.15 * highest) or 1.0


def _beside(row: dict[str, Any], months: pl.DataFrame, name: str) -> look.Figure:
    """Name a month outside the range, on the side of its dot where there is room."""
    late = row["month"] > months["month"][months.height * 3 // 4]
    shift = {"xanchor": "right", "xshift": -8} if late else {"xanchor": "left", "xshift": 8}
    return look.note(name, row["month"], row["rate"], **shift)


def _end(text: str, height: float) -> look.Figure:
    """Name a line at its right end."""
    return look.note(text, 1, height, xref="paper", xanchor="left", xshift=4, align="left")
