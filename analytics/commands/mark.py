"""mark: mark things on the list of the week as reviewed, sort returns by hand, keep a technician's remark."""

import argparse

from analytics.errors import BadQuestion

NAME = "mark"
HELP = "mark things that this-week lists as reviewed, sort returns, keep the technician's own remark"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add the options."""
    parser.add_argument(
        "item", metavar="ITEM", nargs="+", help="what: a key as this-week prints it, such as return:C0012345"
    )
    parser.add_argument("--note", metavar="TEXT", default="", help="a note on the mark")
    parser.add_argument("--who", metavar="NAME", default="", help="who decides; may be left out")
    parser.add_argument("--take-back", action="store_true", help="take the mark back")
    parser.add_argument("--sort", metavar="CODE", help="instead, sort returns as this; '' takes it back")
    parser.add_argument(
        "--remark", metavar="TEXT", help="instead, keep the technician's own remark; '' takes it back"
    )


def run(arguments: argparse.Namespace) -> None:
    """Keep the decisions, all of them or none."""
    from analytics.decisions import Decision
    from analytics.fleet import Fleet
    from analytics.store import Store

    if arguments.take_back and (arguments.sort is not None or arguments.remark is not None):
        raise BadQuestion(
            "--take-back is for marks; take back a sorting or remark with --sort '' or --remark ''."
        )
    if arguments.note and (arguments.sort is not None or arguments.remark is not None):
        raise BadQuestion(
            "--note belongs to a mark, and not to a sorting or remark. Mark in a command of its own."
        )
    given = {"sorted": arguments.sort, "remark": arguments.remark}
    values = {matter: value for matter, value in given.items() if value is not None}
    values = values or {"reviewed": "" if arguments.take_back else "yes"}
    made = [
        Decision(matter, *split_item(item), value, arguments.note, arguments.who)
        for item in arguments.item
        for matter, value in values.items()
    ]
    Fleet(Store(arguments.data)).decide(made)
    print(f"Kept: {len(made)} decision{'s' if len(made) > 1 else ''} on {', '.join(arguments.item)}.")


def split_item(item: str) -> tuple[str, str]:
    """Split "return:C0012345" into kind and key.

    Raises
    ------
    BadQuestion
        When there is no kind before the first colon.
    """
    kind, colon, key = item.partition(":")
    if not colon:
        raise BadQuestion(f"'{item}' does not say what it is. Write it as this-week prints it: return:{item}")
    return kind, key
