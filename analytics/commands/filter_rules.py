"""What filter-age prints of other rules of changing filters, and the prices it takes."""

import argparse
from typing import TYPE_CHECKING, Any

from analytics.commands.printing import print_table
from analytics.cost_assumptions import FilterCosts

if TYPE_CHECKING:
    from analytics.questions.filter_intervals import FilterIntervals
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


def print_intervals(found: "FilterIntervals") -> None:
    """Print the interval that costs least, of all units and by group of households."""
    rows = [
        (
            row["field"],
            row["group"] or "",
            "none pays" if row["best"] is None else round(row["best"]),
            "" if row["best_low"] is None else round(row["best_low"]),
            "none pays" if row["best_high"] is None else round(row["best_high"]),
            *[round(row[f"cost{end}"]) for end in ("", "_six", "_twelve", "_never")],
        )
        for row in found.groups.iter_rows(named=True)
        if row["cost"] is not None
    ]
    if not rows:
        return
    print("\nMonths until a planned change that cost least (from, to: of 95% of samples of units), and money")
    print("per 1,000 units and year then, every 6 and every 12 months, and never changed:")
    names = ["by", "group", "months", "from", "to", "cost", "every 6", "every 12", "never"]
    print_table(names, rows)
