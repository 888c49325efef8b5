"""fit: choose, evaluate and fit the model of causes on the data as loaded, and keep it beside them."""

import argparse

from analytics.commands.model_words import print_evaluation
from analytics.commands.printing import add_json, print_json, progress_line

NAME = "fit"
HELP = "fit the model that tells the likely cause from what the customer said, and keep it beside the data"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add the options."""
    parser.add_argument(
        "--progress", action="store_true", help="report the stages even where there is no terminal"
    )
    parser.add_argument("--card", metavar="FILE", help="also write the model card, as Markdown, to this file")
    add_json(parser)


def run(arguments: argparse.Namespace) -> None:
    """Fit, and print how good the model is on the future."""
    from pathlib import Path

    from analytics.causes.card import card
    from analytics.fleet import Fleet
    from analytics.store import Store

    fleet = Fleet(Store(arguments.data))
    fleet.fit(progress_line(arguments.progress))
    found = fleet.model_card()
    assert found is not None, "it was just kept"
    if arguments.card:
        Path(arguments.card).write_text(card(found, fleet.labels), encoding="utf-8")
    if arguments.json:
        print_json({"about": {**found.about, "answered": None, "checks": None}})
    else:
        print_evaluation(found.evaluation, found.about["counts"], fleet.labels("causes"))
