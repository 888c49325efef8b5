"""loads: which files were loaded, when, and what became of their rows."""

import argparse

from analytics.commands.printing import add_json, print_json, print_table

NAME = "loads"
HELP = "list the loads and their files, latest first"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add the options."""
    add_json(parser)


def run(arguments: argparse.Namespace) -> None:
    """Print the loads, each with its files."""
    from analytics.fleet import Fleet
    from analytics.store import Store

    fleet = Fleet(Store(arguments.data))
    loads, files = fleet.loads(), fleet.files()
    if arguments.json:
        print_json({"loads": loads.to_dicts(), "files": files.to_dicts()})
        return
    print_table(loads.columns, loads.rows())
    print()
    columns = [name for name in COLUMNS if name in files.columns]
    print_table(columns, files.select(columns).rows())


COLUMNS = (
    "load_id", "file_id", "file_name", "table_name", "source", "rows", "loaded", "updated", "repeated_exact",
    "repeated_older", "set_aside", "withdrawn", "extracted_on", "extracted_from",
)  # fmt: skip
