"""propose: a mapping for a sender's file, with the reasons, for a person to check and keep."""

import argparse
from pathlib import Path

NAME = "propose"
HELP = "print a mapping (TOML) for a file: what its columns and words seem to mean, and why"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add the options."""
    parser.add_argument("file", metavar="FILE", type=Path, help="a CSV file")
    parser.add_argument(
        "--table", metavar="TABLE", help="the table that the file holds, where the header leaves it open"
    )


def run(arguments: argparse.Namespace) -> None:
    """Print the proposal."""
    from analytics.intake.propose import propose

    print(propose(arguments.file, table=arguments.table).to_toml(), end="")
