"""set-aside: rows that could not be loaded, counted by reason, or written to a CSV to mend and load again."""

import argparse
from pathlib import Path

from analytics.commands.printing import add_json, print_json, print_table

NAME = "set-aside"
HELP = "list the rows that were set aside and why, or write them to a CSV that can be mended and loaded"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add the options."""
    parser.add_argument(
        "--file", metavar="ID", type=int, help="only rows of the file with this id (see `loads`)"
    )
    parser.add_argument(
        "--out", metavar="OUT.csv", type=Path, help="write all of them here, in the file's own columns"
    )
    parser.add_argument("--limit", metavar="N", type=int, default=50, help="how many to list (default: 50)")
    add_json(parser)


def run(arguments: argparse.Namespace) -> None:
    """Print or export the rows."""
    from analytics.fleet import Fleet
    from analytics.store import Store

    store = Store(arguments.data)
    frame, total = Fleet(store).set_aside(arguments.file, limit=arguments.limit)
    if arguments.out:
        from analytics.intake.set_aside import export

        export(store.reader().cursor(), arguments.out, file_id=arguments.file)
    if arguments.json:
        print_json({"total": total, "rows": frame.to_dicts()})
        return
    shown = frame.drop("fields", "header")
    print_table(shown.columns, shown.rows())
    print(f"\n{total:,} rows stand set aside; {frame.height:,} are listed.")
    if arguments.out:
        print(f"Written to {arguments.out}. Mend them there and load that file.")
