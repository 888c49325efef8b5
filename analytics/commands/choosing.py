"""The options that choose which calls a command is about, and what counts as a callback."""

import argparse
from typing import TYPE_CHECKING

from analytics.commands.days import day
from analytics.errors import BadQuestion
from analytics.filters import GROUPINGS, MATCHES, WINDOWS_DAYS, Filters

if TYPE_CHECKING:
    from analytics.fleet import Fleet

CHOICES = {
    "depots": "depot",
    "families": "symptom family",
    "symptoms": "symptom",
    "causes": "root cause",
    "technicians": "technician",
    "product_families": "product family",
    "parts": "part fitted",
}
MOST_NAMED = 40
"""How many values a message lists."""


def add_counting(parser: argparse.ArgumentParser) -> None:
    """Add the options that say what counts as a callback, and as of when."""
    windows = ", ".join(map(str, WINDOWS_DAYS))
    parser.add_argument(
        "--window",
        metavar="DAYS",
        type=int,
        default=30,
        help=f"callback window: {windows} days (default: 30)",
    )
    parser.add_argument(
        "--match",
        choices=MATCHES,
        default="family",
        help="a return counts for the same symptom family, or for any symptom (default: family)",
    )
    parser.add_argument(
        "--as-of", metavar="DATE", type=day, help="as the records stood at the end of this day"
    )


def add_filters(parser: argparse.ArgumentParser, by: bool = True) -> None:
    """Add the options: one for each choice of `Filters`, and --by."""
    add_counting(parser)
    if by:
        parser.add_argument(
            "--by", metavar="FIELD", choices=GROUPINGS, help=f"also by group: {', '.join(GROUPINGS)}"
        )
    parser.add_argument(
        "--closed-from", metavar="DATE", type=day, help="only calls closed on this day or later"
    )
    parser.add_argument(
        "--closed-to", metavar="DATE", type=day, help="only calls closed on this day or earlier"
    )
    for field, words in CHOICES.items():
        parser.add_argument(
            option(field),
            metavar="CODE",
            dest=field,
            action="append",
            default=[],
            help=f"only this {words}; give it again for more",
        )


def option(field: str) -> str:
    """Return the option for one of the list fields of `Filters`: "--product-family" for product_families."""
    singular = field[:-3] + "y" if field.endswith("ies") else field[:-1]
    return f"--{singular.replace('_', '-')}"


def filters_of(arguments: argparse.Namespace, fleet: "Fleet") -> Filters:
    """Return what was chosen.

    Raises
    ------
    BadQuestion
        When a value was chosen that no call has.
    """
    filters = Filters(
        window_days=arguments.window,
        match=arguments.match,
        as_of=arguments.as_of,
        closed_from=arguments.closed_from,
        closed_to=arguments.closed_to,
        **{field: tuple(getattr(arguments, field)) for field in CHOICES},
    )
    check_values(fleet, filters)
    return filters


def check_values(fleet: "Fleet", filters: Filters) -> None:
    """Refuse values that no call has: a misspelt depot is not a depot without callbacks.

    Raises
    ------
    BadQuestion
        Naming the values that there are.
    """
    asked = {field: values for field in CHOICES if (values := getattr(filters, field))}
    choices = fleet.choices() if asked else {}
    for field, values in asked.items():
        known = [str(value) for value in choices[field]["value"]]
        if strangers := [value for value in values if value not in known]:
            more = f" and {len(known) - MOST_NAMED:,} more" if len(known) > MOST_NAMED else ""
            legal = f"Choose from {', '.join(known[:MOST_NAMED])}{more}." if known else "None is recorded."
            raise BadQuestion(f"No call has the {CHOICES[field]} '{strangers[0]}'. {legal}")
