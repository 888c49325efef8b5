"""repeat-units: which units ring more often than their like, and the next sensible step at each."""

import argparse
from typing import TYPE_CHECKING

from analytics.commands.printing import add_json, print_json
from analytics.errors import BadQuestion

if TYPE_CHECKING:
    import polars as pl

    from analytics.questions.repeat_units import RepeatUnits

NAME = "repeat-units"
HELP = "print the units that ring more often than their like, and the next step at each"
MOST_LISTED = 10_000


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add the options."""
    parser.add_argument(
        "--by",
        metavar="FIELD",
        choices=("product_family", "water_supply", "shutoff_valve"),
        help="also print calls a unit by age for each: product_family, water_supply, shutoff_valve",
    )
    parser.add_argument("--limit", metavar="N", type=int, default=10, help="units to list (default: 10)")
    add_json(parser)


def run(arguments: argparse.Namespace) -> None:
    """Print the units."""
    from analytics.fleet import Fleet
    from analytics.store import Store

    if not 0 <= arguments.limit <= MOST_LISTED:
        raise BadQuestion(f"{arguments.limit} units can not be listed. Ask for 0 to {MOST_LISTED:,}.")
    fleet = Fleet(Store(arguments.data))
    found = fleet.repeat_units()
    rows, total = fleet.repeat_unit_list(0, arguments.limit)
    if arguments.json:
        print_json(found.to_dict(arguments.by) | {"listed": total, "list": rows.to_dicts()})
    else:
        print_units(found, rows, total, arguments.by)


def print_units(found: "RepeatUnits", rows: "pl.DataFrame", total: int, by: str | None) -> None:
    """Print the units as text for people."""
    from analytics.commands.printing import print_table

    many = f"{found.beyond:,}" if found.beyond else "None"
    print(
        f"{many} of {found.units:,} units beyond chance; {found.calls:,} repair calls in {found.years:,.0f} "
        f"unit-years. Listed: {rows.height:,} of {total:,}."
    )
    for row in rows.iter_rows(named=True):
        mark = ", beyond chance" if row["beyond"] else ""
        print(
            f"\n{row['unit_id']}: {row['calls']} calls, {row['expected']:.1f} expected; {row['shrunk']:.1f} "
            f"times its like when pulled to the average{mark}\n  {row['story']}\n  Next: {row['step']}"
        )
    if by:
        print()
        years = found.whole.marks["years"].to_list()
        print_table(
            [by, "units", "calls", *[f"by year {year:.0f}" for year in years]],
            [
                (
                    each.label,
                    each.units,
                    each.calls,
                    *[_mark(mark) for mark in each.marks.iter_rows(named=True)],
                )
                for each in (found.whole, *found.groups[by])
            ],
        )
        print("\nRepair calls a unit since installation, 95% intervals in brackets.")
    print("\nThe maker's service sheet comes before any step; unplug and shut the water off before checks.")


def _mark(row: dict[str, float]) -> str:
    if row["mean"] is None:
        return "not yet known"
    return f"{row['mean']:.2f} ({row['low']:.2f} to {row['high']:.2f})"
