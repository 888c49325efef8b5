"""figures: callback rate and first-time fix, with what they were counted from."""

import argparse
from typing import TYPE_CHECKING

from analytics.commands.choosing import add_filters, filters_of
from analytics.commands.printing import add_json, percent, print_json, print_table, rate_words
from analytics.filters import Filters

if TYPE_CHECKING:
    from analytics.questions.answers import Figures, GroupFigures

NAME = "figures"
HELP = "print the callback rate and first-time fix, of all calls or of groups"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add the options."""
    add_filters(parser)
    add_json(parser)


def run(arguments: argparse.Namespace) -> None:
    """Print the figures."""
    from analytics.fleet import Fleet
    from analytics.store import Store

    fleet = Fleet(Store(arguments.data))
    filters = filters_of(arguments, fleet)
    figures = fleet.figures(filters, by=arguments.by)
    if arguments.json:
        print_json(figures.to_dict())
    else:
        print_figures(figures, filters)


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
