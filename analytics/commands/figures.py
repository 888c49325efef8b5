"""figures: callback rate and first-time fix, with what they were counted from."""

import argparse
from typing import TYPE_CHECKING

from analytics.commands.days import day
from analytics.commands.printing import add_json, percent, print_json, print_table, rate_words
from analytics.errors import BadQuestion
from analytics.filters import GROUPINGS, MATCHES, WINDOWS_DAYS, Filters

if TYPE_CHECKING:
    from analytics.fleet import Fleet
    from analytics.questions.answers import Figures, GroupFigures

NAME = "figures"
HELP = "print the callback rate and first-time fix, of all calls or of groups"

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


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add the options: one for each choice of `Filters`."""
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
    add_json(parser)


def option(field: str) -> str:
    """Return the option for one of the list fields of `Filters`: "--product-family" for product_families."""
    singular = field[:-3] + "y" if field.endswith("ies") else field[:-1]
    return f"--{singular.replace('_', '-')}"


def run(arguments: argparse.Namespace) -> None:
    """Print the figures."""
    from analytics.fleet import Fleet
    from analytics.store import Store

    filters = Filters(
        window_days=arguments.window,
        match=arguments.match,
        as_of=arguments.as_of,
        closed_from=arguments.closed_from,
        closed_to=arguments.closed_to,
        **{field: tuple(getattr(arguments, field)) for field in CHOICES},
    )
    fleet = Fleet(Store(arguments.data))
    check_values(fleet, filters)
    figures = fleet.figures(filters, by=arguments.by)
    if arguments.json:
        print_json(figures.to_dict())
    else:
        print_figures(figures, filters)


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


def print_figures(figures: "Figures", filters: Filters) -> None:
    """Print the figures as text for people."""
    fixed = "Closed without a return" if is_stand_in(figures) else "Fixed the first time"
    lines = [
        (f"Came back within {filters.window_days} days, same symptom family", figures.callback_rate_family),
        (f"Came back within {filters.window_days} days, any symptom", figures.callback_rate_any),
        (fixed, figures.first_time_fix_rate),
    ]
    if not is_stand_in(figures):
        lines.append((f"{fixed}, where somebody let us in", figures.first_time_fix_let_in))
    width = max(len(words) for words, _ in lines)
    for words, rate in lines:
        print(f"{words:<{width}}  {rate_words(rate)}")
    print(f"{figures.callback_rate.inside_window:,} calls are too young to say.")
    if filters.as_of:
        print(f"As the records stood at the end of {filters.as_of}.")
    for end in figures.ends:
        who = f"{end.source}, depot {end.depot}" if end.depot else end.source
        print(f"Observed until {end.ends_at:%Y-%m-%d %H:%M} ({who}; by {end.ends_from}).")
    if figures.groups:
        print()
        print_table(
            [
                figures.grouping or "group",
                "came back",
                "of",
                "rate, 95% interval",
                "too young",
                fixed.lower(),
                "of",
            ],
            [_group_row(group) for group in figures.groups],
        )
    for note in [*(warning.sentence for warning in figures.warnings), *figures.notes]:
        print(f"\nNote: {note}")


def _group_row(group: "GroupFigures") -> tuple[str | int, ...]:
    came_back, fixed = group.callback_rate, group.first_time_fix_rate
    return (
        group.label,
        came_back.numerator,
        came_back.denominator,
        percent(came_back),
        came_back.inside_window,
        percent(fixed),
        fixed.denominator,
    )


def is_stand_in(figures: "Figures") -> bool:
    """Say whether there are no visits, so that first-time fix has another meaning and another name."""
    return figures.first_time_fix_rate.name == "closed_without_return"
