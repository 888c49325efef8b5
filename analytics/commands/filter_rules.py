"""What filter-age prints of other rules of changing filters, and the prices it takes."""

import argparse
from typing import TYPE_CHECKING, Any

from analytics.commands.printing import print_table
from analytics.cost_assumptions import FilterCosts

if TYPE_CHECKING:
    from analytics.questions.filter_policies import FilterPolicies

RULES = {"planned": "every {} months", "at_visit": "at visits when over {}"}


def add_costs(parser: argparse.ArgumentParser) -> None:
    """Add an option for each price."""
    for key, each in FilterCosts.described().items():
        parser.add_argument(
            f"--{key.replace('_', '-')}",
            metavar="N",
            dest=key,
            help=f"{each.label}, in {each.unit} (default: {each.value:g})",
        )


def costs_of(arguments: argparse.Namespace) -> FilterCosts:
    """Return the prices asked for, the usual ones elsewhere."""
    asked = {key: getattr(arguments, key, None) for key in FilterCosts.described()}
    given = {key: value for key, value in asked.items() if value is not None}
    return FilterCosts.usual().but(given, "The command line")


def print_rules(found: "FilterPolicies") -> None:
    """Print what each rule would do, if the age of the filter is the cause."""
    if not found.is_known:
        return
    print(
        "If filters were changed by another rule, per 1,000 units and year (supposes that old filters cause"
    )
    print("the difference, which the records can not prove):")
    print_table(
        ["filters changed", "failures avoided", "callbacks avoided", "more filters", "saved less spent"],
        [
            (
                RULES[row["rule"]].format(row["months"]),
                _with_limits(row, "failures_avoided", 0),
                _with_limits(row, "callbacks_avoided", 1),
                _with_limits(row, "extra_filters", 0),
                _with_limits(row, "saving", 0),
            )
            for row in found.rules.iter_rows(named=True)
        ],
    )
    for row in found.ratios.iter_rows(named=True):
        if row["ratio"] is not None:
            print(
                f"Past {row['months']} months against before, kind of unit held equal: {row['ratio']:.2f} "
                f"({row['low']:.2f} to {row['high']:.2f}); E-value {row['e_value']:.2f}, of the limit "
                f"nearest 1 {row['e_value_limit']:.2f}."
            )


def _with_limits(row: dict[str, Any], name: str, decimals: int) -> str:
    if row[name] is None:
        return "too few"
    low, high = row[f"{name}_low"], row[f"{name}_high"]
    return f"{row[name]:,.{decimals}f} ({low:,.{decimals}f} to {high:,.{decimals}f})"
