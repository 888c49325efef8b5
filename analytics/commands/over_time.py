"""over-time: whether and since when the callback rate changed."""

import argparse
from typing import TYPE_CHECKING

from analytics.commands.choosing import add_filters, filters_of
from analytics.commands.printing import add_json, percent, print_json, print_table, rate_words

if TYPE_CHECKING:
    import polars as pl

    from analytics.questions.changes import DatedChange, OverTime

NAME = "over-time"
HELP = "print the callback rate by month or week, and whether and since when it changed"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add the options."""
    add_filters(parser, by=False)
    parser.add_argument(
        "--each", choices=("month", "week"), default="month", help="rates by month or week (default: month)"
    )
    add_json(parser)


def run(arguments: argparse.Namespace) -> None:
    """Print the course of the rate."""
    from analytics.commands.compare import CAN_NOT_SAY
    from analytics.fleet import Fleet
    from analytics.store import Store

    fleet = Fleet(Store(arguments.data))
    filters = filters_of(arguments, fleet)
    periods = fleet.rates_over_time(filters, arguments.each)
    found = fleet.over_time(filters)
    about = {"can_not_say": CAN_NOT_SAY} if filters.technicians else {}
    if arguments.json:
        print_json(about | {"periods": periods.to_dicts()} | found.to_dict())
        return
    if about:
        print(CAN_NOT_SAY + "\n")
    print_periods(periods, arguments.each)
    print("\n" + change_words(found))
    print(watched_words(found))


def print_periods(periods: "pl.DataFrame", each: str) -> None:
    """Print the rates as text for people."""
    from analytics.rates import Counted, rate

    rows = []
    for row in periods.iter_rows(named=True):
        words = percent(rate(Counted(row["numerator"], row["denominator"])))
        mark = "outside" if row["outside"] else "run of nine or more" if row["in_run"] else ""
        if row["inside_window"]:
            mark = f"{row['inside_window']} too soon to say"
            if row.get("estimate") is not None:
                mark += f"; estimate {100 * row['estimate']:.1f}%"
        rows.append((str(row[each]), row["numerator"], row["denominator"], words, mark))
    print_table([each, "came back", "of", "rate", ""], rows)


def change_words(found: "OverTime") -> str:
    """Say whether and when the rate changed."""
    change = found.change
    if change is None:
        return f"Too few calls to look for a change: {rate_words(found.rate)}."
    if not change.beyond_chance:
        return f"No change beyond chance since {found.since} (p = {change.p:.3f}): {rate_words(found.rate)}."
    went = "rose" if change.ratio_after > change.ratio_before else "fell"
    return (
        f"It {went} between {change.first} and {change.last}, most likely on {change.on} "
        f"(p = {change.p:.3f}).\n{_sides(change)}"
    )


def _sides(change: "DatedChange") -> str:
    return f"Before: {rate_words(change.before)}. After: {rate_words(change.after)}."


def watched_words(found: "OverTime") -> str:
    """Say whether more or fewer came back than expected, watched in order of closing."""
    watched = found.watched
    if watched is None:
        return "Not watched call by call: too few calls, or no first year to go by."
    if found.group:
        what = "what the calls of others lead one to expect"
    else:
        what = "the rate of their own first year"
    lines = [
        f"Against {what}: {watched.came_back:,} of {watched.calls:,} came back, "
        f"{watched.expected:,.1f} expected."
    ]
    for row in watched.signals.iter_rows(named=True):
        until = f"to {row['ended']}" if row["ended"] else "and still going on"
        lines.append(
            f"{row['direction']} than expected from {row['began']}, limit passed {row['crossed']}, {until}"
        )
    return "\n".join(lines)
