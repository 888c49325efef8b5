"""how-soon: how long until customers ring again after a repair."""

import argparse
from typing import TYPE_CHECKING

from analytics.commands.choosing import add_filters, filters_of
from analytics.commands.printing import add_json, print_json, print_table

if TYPE_CHECKING:
    from analytics.questions.ringing_again import RingingAgain, WaitCurve

NAME = "how-soon"
HELP = "print the share of repairs that came back, by days since closing, up to a year"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add the options."""
    add_filters(parser)
    add_json(parser)


def run(arguments: argparse.Namespace) -> None:
    """Print the shares."""
    from analytics.fleet import Fleet
    from analytics.store import Store

    fleet = Fleet(Store(arguments.data))
    found = fleet.ringing_again(filters_of(arguments, fleet), by=arguments.by)
    if arguments.json:
        print_json(found.to_dict())
    else:
        print_shares(found, arguments.by)


def print_shares(found: "RingingAgain", by: str | None) -> None:
    """Print the shares as text for people."""
    days = found.whole.marks["days"].to_list()
    print_table(
        [by or "calls", "completed", *[f"within {each} days" for each in days], "followed for"],
        [_row(curve) for curve in (found.whole, *found.groups)],
    )
    print("\n95% intervals in brackets; est.: some calls were not followed so long.")
    if found.test:
        print(
            f"Log-rank test between the groups: chi-square {found.test.chi_square:.2f} on "
            f"{found.test.degrees} degrees of freedom, p = {found.test.p:.4f}. It takes calls for "
            "independent, and is not adjusted for the mix of work."
        )


def _row(curve: "WaitCurve") -> tuple[str | int, ...]:
    shares = [_share(row, curve.calls) for row in curve.marks.iter_rows(named=True)]
    return (curve.label, curve.calls, *shares, f"{curve.known_days:.0f} days")


def _share(row: dict[str, float], calls: int) -> str:
    from analytics.rates import SHOWN_AS_PERCENTAGE_FROM

    if row["share"] is None:
        return "not yet known"
    if calls < SHOWN_AS_PERCENTAGE_FROM:
        return "too few calls"
    estimated = " est." if row["estimated"] else ""
    return f"{100 * row['share']:.1f}%{estimated} ({100 * row['low']:.1f} to {100 * row['high']:.1f})"
