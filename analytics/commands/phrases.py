"""phrases: texts that the catalogue does not recognise, most frequent first."""

import argparse

from analytics.commands.printing import add_json, print_json, print_table

NAME = "phrases"
HELP = "list the texts that were not recognised, most frequent first"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add the options."""
    parser.add_argument(
        "--field", metavar="FIELD", help="only texts of this field, such as complaint or root_cause"
    )
    parser.add_argument("--limit", metavar="N", type=int, default=50, help="how many to list (default: 50)")
    add_json(parser)


def run(arguments: argparse.Namespace) -> None:
    """Print the texts with the number of rows that hold each."""
    from analytics.fleet import Fleet
    from analytics.store import Store

    frame, total = Fleet(Store(arguments.data)).unrecognised(arguments.field, limit=arguments.limit)
    if arguments.json:
        print_json({"total": total, "phrases": frame.to_dicts()})
        return
    print_table(frame.columns, frame.rows())
    print(f"\n{total:,} distinct texts were not recognised; {frame.height:,} are listed.")
