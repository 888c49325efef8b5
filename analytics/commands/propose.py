"""propose: a mapping for a sender's file, with the reasons, for a person to check and keep."""

import argparse
from dataclasses import asdict
from pathlib import Path

from analytics.commands.printing import add_json, print_json

NAME = "propose"
HELP = "print a mapping (TOML) for a file: what its columns and words seem to mean, and why"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add the options."""
    parser.add_argument("file", metavar="FILE", type=Path, help="a CSV file")
    parser.add_argument(
        "--table", metavar="TABLE", help="the table that the file holds, where the header leaves it open"
    )
    add_json(parser)


def run(arguments: argparse.Namespace) -> None:
    """Print the proposal."""
    from analytics.intake.propose import propose

    proposal = propose(arguments.file, table=arguments.table)
    if arguments.json:
        print_json(asdict(proposal) | {"certain": proposal.certain, "mapping": proposal.to_toml()})
    else:
        print(proposal.to_toml(), end="")
