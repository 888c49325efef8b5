"""silence: how often a repair that nobody rang about again does not work, and whom to ask this week."""

import argparse
from typing import TYPE_CHECKING

from analytics.commands.choosing import add_filters, filters_of
from analytics.commands.days import day
from analytics.commands.printing import add_json, print_json, print_table, rate_words
from analytics.errors import BadQuestion

if TYPE_CHECKING:
    from analytics.questions.silence import Silence

NAME = "silence"
HELP = "print how often silent repairs do not work, or draw silent calls to ask about"
MOST_DRAWN = 10_000


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add the options."""
    add_filters(parser, by=False)
    parser.add_argument(
        "--ask", metavar="N", type=int, help="instead, draw so many silent calls to ask about"
    )
    parser.add_argument("--week-of", metavar="DATE", type=day, help="draw those of the week of this day")
    add_json(parser)


def run(arguments: argparse.Namespace) -> None:
    """Print the figures, or the calls drawn."""
    from datetime import date

    from analytics.fleet import Fleet
    from analytics.store import Store

    fleet = Fleet(Store(arguments.data))
    filters = filters_of(arguments, fleet)
    if arguments.ask is None:
        found = fleet.silence(filters)
        if arguments.json:
            print_json(found.to_dict())
        else:
            print_silence(found)
        return
    if not 0 < arguments.ask <= MOST_DRAWN:
        raise BadQuestion(f"{arguments.ask} calls can not be drawn. Ask for 1 to {MOST_DRAWN:,}.")
    drawn = fleet.silent_sample(filters, arguments.week_of or date.today(), arguments.ask)
    if arguments.json:
        print_json({"calls": drawn.to_dicts()})
    else:
        rows = [[", ".join(cell) if isinstance(cell, list) else cell for cell in row] for row in drawn.rows()]
        print_table(drawn.columns, rows)


def print_silence(found: "Silence") -> None:
    """Print the figures as text for people."""
    n = found.counts
    print(f"Came back, any symptom          {rate_words(found.callback_rate)}")
    print(f"Silent, asked, not (fully) well {rate_words(found.not_working)}")
    if found.fails is not None and found.fails_low is not None and found.fails_high is not None:
        print(
            f"So {100 * found.fails:.1f}% of repairs do not hold ({100 * found.fails_low:.1f} to "
            f"{100 * found.fails_high:.1f}), if those who told are like those who did not."
        )
    print(
        f"Of {n['silent']:,} silent calls, asked and told: {n['works']:,} work, {n['partly']:,} work partly, "
        f"{n['no']:,} do not; not reached: {n['not_reached']:,}."
    )
    print(
        f"The office's mark against ours: {n['flagged_both']:,} both, {n['flagged_by_office_only']:,} the "
        f"office only, {n['flagged_by_us_only']:,} ours only."
    )
