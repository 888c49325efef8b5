"""evaluate: choose and judge a model of causes on the future of the data as loaded, and keep nothing."""

import argparse

from analytics.commands.model_words import print_evaluation
from analytics.commands.printing import add_json, print_json, progress_line

NAME = "evaluate"
HELP = "judge how well causes can be told on the future of the data as loaded, and keep nothing"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add the options."""
    parser.add_argument(
        "--progress", action="store_true", help="report the stages even where there is no terminal"
    )
    add_json(parser)


def run(arguments: argparse.Namespace) -> None:
    """Evaluate, and print it."""
    from analytics.fleet import Fleet
    from analytics.store import Store

    fleet = Fleet(Store(arguments.data))
    found = fleet.evaluate(progress_line(arguments.progress))
    if arguments.json:
        print_json(found.to_dict())
    else:
        print_evaluation(found, None, fleet.labels("causes"))
