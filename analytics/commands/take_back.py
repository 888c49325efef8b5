"""take-back: take a file or a whole load back, having seen what that changes; a generation of its own."""

import argparse

from analytics.commands.printing import add_json, print_json, print_table, progress_line

NAME = "take-back"
HELP = (
    "take files or a whole load back, as if they had never been loaded; without --yes only say what changes"
)


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add the options."""
    parser.add_argument(
        "--file",
        metavar="ID",
        type=int,
        action="append",
        default=[],
        help="the file with this id (see `loads`); may be given several times",
    )
    parser.add_argument("--load", metavar="ID", type=int, help="all files of the load with this id")
    parser.add_argument(
        "--with-later",
        action="store_true",
        help="also take back later files whose rows were compared with these",
    )
    parser.add_argument("--yes", action="store_true", help="do it; else nothing is changed")
    add_json(parser)


def run(arguments: argparse.Namespace) -> None:
    """Take back, or only say what that would change."""
    from analytics.intake.taking_back import take_back
    from analytics.store import Store

    taken = take_back(
        Store(arguments.data),
        arguments.file,
        load_id=arguments.load,
        with_later=arguments.with_later,
        trial=not arguments.yes,
        progress=progress_line(False),
    )
    if arguments.json:
        print_json(taken.to_dict())
        return
    columns = ("file_id", "file", "table", "source", "rows", "brought", "put_back", "unwithdrawn")
    print_table(columns, [tuple(getattr(each, name) for name in columns) for each in taken.files])
    before, after = taken.before, taken.after
    print(
        f"\nCalls: {before['calls']:,} before, {after['calls']:,} after. Callbacks (30 days, same family): "
        f"{before['callbacks']:,} before, {after['callbacks']:,} after."
    )
    if taken.later:
        print(f"To be loaded again afterwards: {', '.join(taken.later)}.")
    print(
        f"Taken back, as load {taken.load_id}. `go-back` undoes that; so does loading the files again."
        if taken.load_id
        else "Nothing was changed yet; add --yes to do it."
    )
