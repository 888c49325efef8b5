"""restore: a backup into a folder of its own, never over what is there."""

import argparse
from pathlib import Path

from analytics.commands.printing import add_json, print_json

NAME = "restore"
HELP = "put a backup into the folder that --data names, which has to be empty or not there yet"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add the options."""
    parser.add_argument("file", metavar="FILE", type=Path, help="a file that `backup` wrote")
    add_json(parser)


def run(arguments: argparse.Namespace) -> None:
    """Restore, and say what came back."""
    from analytics.store_restoring import restore

    backup = restore(arguments.file, arguments.data)
    if arguments.json:
        print_json(backup.to_dict())
        return
    print(
        f"{arguments.data}: generation {backup.generation} of the backup made {backup.made_at}, "
        f"{backup.rows['records.calls']:,} calls."
    )
    print("Look at it: " + f"`service-calls --data {arguments.data} figures`.")
