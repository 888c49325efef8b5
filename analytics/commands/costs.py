"""costs: what returns cost, by assumptions that can be replaced."""

import argparse
from pathlib import Path
from typing import TYPE_CHECKING, Any

from analytics.commands.choosing import add_filters, filters_of
from analytics.commands.printing import add_json, print_json, print_table
from analytics.cost_assumptions import CostAssumptions, described, from_file

if TYPE_CHECKING:
    from analytics.questions.costs import Costs, Money

NAME = "costs"
HELP = "print what returns cost, by group, and what halving the excess of groups would save"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add the options."""
    add_filters(parser, by=False)
    parser.add_argument(
        "--by",
        metavar="FIELD",
        choices=("cause", "final_cause", "depot", "product_family"),
        default="cause",
        help="by group: cause, final_cause, depot, product_family (default: cause)",
    )
    parser.add_argument(
        "--costs",
        metavar="FILE",
        type=Path,
        help="a file of cost assumptions (TOML); others stay as they are",
    )
    for key, each in described().items():
        parser.add_argument(
            option(key), metavar="N", dest=key, help=f"{each.label}, in {each.unit} (default: {each.value:g})"
        )
    add_json(parser)


def option(key: str) -> str:
    """Return the option for an assumption: "--hour-price" for hour_price."""
    return f"--{key.replace('_', '-')}"


def run(arguments: argparse.Namespace) -> None:
    """Print the costs."""
    from analytics.fleet import Fleet
    from analytics.store import Store

    assumed = from_file(arguments.costs) if arguments.costs else CostAssumptions.usual()
    given = {key: getattr(arguments, key) for key in described() if getattr(arguments, key) is not None}
    assumed = assumed.but(given, "The command line")
    fleet = Fleet(Store(arguments.data))
    found = fleet.costs(filters_of(arguments, fleet), arguments.by, assumed)
    if arguments.json:
        print_json(found.to_dict())
    else:
        print_costs(found)


def print_costs(found: "Costs") -> None:
    """Print the costs as text for people."""
    print(f"{found.returns:,} returns of {found.calls:,} repairs, in {found.years:.2f} years.")
    print(f"A return costs     {money(found.per_return)}")
    if found.per_year:
        print(f"Returns cost a year {money(found.per_year)}")
    if found.halved and found.per_year:
        print(f"Halving the excess would save a year {money(found.a_year(found.halved))}")
    print()
    print_table(
        [
            found.by,
            "repairs",
            "came back",
            "returns",
            "cost",
            "95% interval",
            "a return",
            "above all",
        ],
        [_row(row) for row in found.groups.iter_rows(named=True)],
    )
    print()
    print_table(["made of", "quantity", "", "money"], [_part(row) for row in found.made_of.rows()])
    print(
        f"\n{found.timed:,} of {found.visits:,} visits are timed; {found.minutes:.0f} minutes for the others."
    )
    for key, each in described().items():
        value = getattr(found.assumptions, key)
        print(f"Assumed: {each.label}: {value:g} {each.unit} ({option(key)}; {each.standing}).")


def money(amount: "Money") -> str:
    """Say an amount with its interval."""
    if amount.value is None:
        return "no data"
    if amount.low is None or amount.high is None:
        return f"{amount.value:,.0f} (too few for an interval)"
    return f"{amount.value:,.0f} (95% interval {amount.low:,.0f} to {amount.high:,.0f})"


def _row(row: dict[str, Any]) -> tuple[str | int | None, ...]:
    limits = "too few" if row["low"] is None else f"{row['low']:,.0f} to {row['high']:,.0f}"
    excess = None if row["excess"] is None else f"{row['excess']:.1f}"
    return (
        row["label"], row["calls"] or None, row["came_back"] or None, row["returns"], round(row["cost"]),
        limits, None if row["per_return"] is None else round(row["per_return"]), excess,
    )  # fmt: skip


def _part(row: tuple[str, float | None, str, float]) -> tuple[str | int | None, ...]:
    what, quantity, unit, amount = row
    return what, None if quantity is None else round(quantity), unit, round(amount)
