"""backup: everything of the store that no file can bring back, into one file that was read back."""

import argparse
from pathlib import Path

from analytics.commands.printing import add_json, print_json

NAME = "backup"
HELP = "write the data, the decisions, the model and the mappings into one file, and read it back"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add the options."""
    parser.add_argument(
        "file",
        metavar="FILE",
        type=Path,
        help="the backup, a tar file that is not there yet, on another disk",
    )
    add_json(parser)


def run(arguments: argparse.Namespace) -> None:
    """Back up, read it back, and say what stands in it."""
    from analytics.store_backup import back_up
    from analytics.store_restoring import look_into

    back_up(arguments.data, arguments.file)
    backup = look_into(arguments.file)
    if arguments.json:
        print_json(backup.to_dict())
        return
    size = sum(part.size_bytes for part in backup.parts)
    print(
        f"{arguments.file}: generation {backup.generation}, {backup.rows['records.calls']:,} calls, "
        f"{size:,} bytes."
    )
    print("In it: " + ", ".join(sorted({part.name.split("/")[0] for part in backup.parts})) + ".")
    print("Every part was read back and is as it was written. Names and notes are in it: keep it safe.")
