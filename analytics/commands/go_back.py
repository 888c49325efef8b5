"""go-back: return to the generation before the current one, after a load that should not have been."""

import argparse

from analytics.commands.printing import add_json, print_json

NAME = "go-back"
HELP = "make the generation before the current one current again, undoing the latest load"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add the options."""
    add_json(parser)


def run(arguments: argparse.Namespace) -> None:
    """Go back by one generation and say where the store stands now."""
    from analytics.audit import Audit, command_line
    from analytics.store import Store

    generation = Store(arguments.data).go_back()
    Audit(arguments.data).note(command_line(), "went back", f"to generation {generation.number}")
    if arguments.json:
        print_json({"generation": generation.number, "made_at": generation.made_at})
    else:
        print(f"Current is now generation {generation.number}, made {generation.made_at:%Y-%m-%d %H:%M}.")
