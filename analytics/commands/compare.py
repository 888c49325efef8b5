"""compare: returns of each group against those its work would lead one to expect."""

import argparse
from typing import TYPE_CHECKING, Any

from analytics.commands.choosing import add_counting
from analytics.commands.printing import add_json, print_json, print_table
from analytics.filters import COMPARED, Filters

if TYPE_CHECKING:
    from analytics.questions.comparison import Comparison

NAME = "compare"
HELP = "print the returns of each group against those its work would lead one to expect"
CAN_NOT_SAY = (
    "Figures about people are evidence for a conversation, not a verdict, and not fit for pay or discipline: "
    "they are adjusted only for what the records hold."
)


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add the options."""
    add_counting(parser)
    parser.add_argument(
        "--by",
        metavar="FIELD",
        choices=COMPARED,
        default="depot",
        help=f"what to compare: {', '.join(COMPARED)} (default: depot)",
    )
    parser.add_argument(
        "--period",
        choices=("year", "week"),
        default="year",
        help="the last twelve months or the last week of calls that can be judged (default: year)",
    )
    parser.add_argument(
        "--worth-a-look",
        action="store_true",
        help="instead, list the groups of all kinds whose returns chance does not explain",
    )
    add_json(parser)


def run(arguments: argparse.Namespace) -> None:
    """Print the comparison."""
    from analytics.fleet import Fleet
    from analytics.store import Store

    fleet = Fleet(Store(arguments.data))
    filters = Filters(arguments.window, arguments.match, arguments.as_of)
    if arguments.worth_a_look:
        rows = fleet.worth_a_look(filters).to_dicts()
        print_json({"groups": rows}) if arguments.json else print_worth(rows)
        return
    found = fleet.compared(filters, arguments.by, arguments.period)
    if arguments.json:
        about = {"can_not_say": CAN_NOT_SAY} if found.by == "technician" else {}
        print_json(about | found.to_dict())
    else:
        print_comparison(found)


def print_comparison(found: "Comparison") -> None:
    """Print a comparison as text for people."""
    if found.by == "technician":
        print(CAN_NOT_SAY + "\n")
    print_table(
        [found.by, "came back", "of", "expected", "against expected", "pulled to average", ""],
        [_row(row) for row in found.groups.iter_rows(named=True)],
    )
    print(
        f"\nClosed {found.since:%Y-%m-%d} to {found.until:%Y-%m-%d}. 95% intervals in brackets, from samples "
        "of units; *: exact, and assumes independent calls."
        if found.since and found.until
        else "\nNo call can be judged yet."
    )


def print_worth(rows: list[dict[str, Any]]) -> None:
    """Print the groups worth a look as text for people."""
    if not rows:
        print("Nothing to review: chance explains the returns of every group.")
        return
    print_table(
        ["by", "group", "period", "came back", "of", "expected", "against expected"],
        [
            (
                row["by"],
                row["label"],
                row["period"],
                row["came_back"],
                row["calls"],
                f"{row['expected']:.1f}",
                f"{row['ratio']:.2f} ({row['low']:.2f} to {row['high']:.2f})",
            )
            for row in rows
        ],
    )


def _row(row: dict[str, Any]) -> tuple[str | int, ...]:
    counts = (row["label"], row["came_back"], row["calls"], f"{row['expected']:.1f}")
    if not row["ranked"]:
        return (*counts, "too few calls", "", "")
    star = "*" if row["assumes_independent"] else ""
    ratio = f"{row['ratio']:.2f} ({row['low']:.2f} to {row['high']:.2f}){star}"
    return (*counts, ratio, f"{row['shrunk']:.2f}", "beyond chance" if row["differs"] else "")
