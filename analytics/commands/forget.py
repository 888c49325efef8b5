"""forget: takes a technician, a household or a unit out of everything the store keeps, for good."""

import argparse

from analytics.commands.printing import add_json, print_json

NAME = "forget"
HELP = "take a technician, a household or a unit out of everything that is kept, for good"
KINDS = ("technician", "household", "unit")


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add the options."""
    parser.add_argument("kind", metavar="KIND", choices=KINDS, help=f"what: {', '.join(KINDS)}")
    parser.add_argument("number", metavar="NUMBER", help="its number, as loaded")
    parser.add_argument("--yes", action="store_true", help="do it; without it, only say what would be done")
    add_json(parser)


def run(arguments: argparse.Namespace) -> None:
    """Forget, or say what forgetting would take away."""
    from analytics.audit import command_line
    from analytics.forgetting import calls_of, forget
    from analytics.store import Store

    store, kind, number = Store(arguments.data), arguments.kind, arguments.number
    calls, decisions = len(calls_of(store, kind, number)), None
    if arguments.yes:
        decisions = forget(store, kind, number, command_line()).decisions
    if arguments.json:
        print_json({"done": arguments.yes, "calls": calls, "decisions": decisions})
        return
    fate = "are gone" if kind == "unit" else "stay, without it"
    if arguments.yes:
        print(
            f"Forgotten: a {kind}. Its {calls:,} calls {fate}; {decisions:,} decisions were taken away. "
            "Generations before this one are removed. Files it was loaded from, and backups, are yours to "
            "clear."
        )
    else:
        fate = "would go" if kind == "unit" else "would stay, without it"
        print(
            f"That {kind} has {calls:,} calls, which {fate}. What was decided about it and every earlier "
            "generation would go as well; this can not be undone. Nothing was changed: add --yes to do it."
        )
