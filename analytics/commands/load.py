"""load: files of records into the store, all or nothing, with a report that accounts for every row."""

import argparse
from pathlib import Path

from analytics.commands.days import moment
from analytics.commands.printing import add_json, print_json, progress_line

NAME = "load"
HELP = "load files of records into the store; all of them or, where one can not be read, none"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add the options."""
    parser.add_argument("files", metavar="FILE", nargs="+", type=Path, help="CSV files, tables in any order")
    parser.add_argument(
        "--mapping",
        metavar="M.toml",
        type=Path,
        help="what the sender's columns and words mean (see `propose`)",
    )
    parser.add_argument(
        "--table", metavar="TABLE", help="the table that the files hold, where the header leaves it open"
    )
    parser.add_argument(
        "--source", metavar="NAME", help="who sent the files; each sender has its own end of observation"
    )
    parser.add_argument(
        "--extracted",
        metavar="WHEN",
        type=moment,
        help="when the files were taken from their system, as 2026-03-01",
    )
    parser.add_argument(
        "--full-extract",
        action="store_true",
        help="the files hold everything their source has: rows that are gone from them are withdrawn",
    )
    parser.add_argument(
        "--progress", action="store_true", help="report the stages even where there is no terminal"
    )
    add_json(parser)


def run(arguments: argparse.Namespace) -> None:
    """Load the files and print the report."""
    from analytics.intake.loading import load_files
    from analytics.intake.mapping import Mapping
    from analytics.store import Store

    report = load_files(
        Store(arguments.data),
        arguments.files,
        mapping=Mapping.read(arguments.mapping) if arguments.mapping else None,
        table=arguments.table,
        source=arguments.source,
        extracted=arguments.extracted,
        full_extract=arguments.full_extract,
        progress=progress_line(arguments.progress),
    )
    if arguments.json:
        print_json(report.to_dict())
    else:
        print(report.to_text())
