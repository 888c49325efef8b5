"""this-week: what to look at this week, as lists."""

import argparse
from typing import TYPE_CHECKING, Any

from analytics.commands.choosing import add_counting, check_values
from analytics.commands.printing import add_json, print_json, print_table
from analytics.filters import Filters

if TYPE_CHECKING:
    from analytics.questions.review import Review

NAME = "this-week"
HELP = "print what to look at: returns, third trips, open calls, repairs without proof, groups"
CAN_NOT_SAY = (
    "A return can not say who works well; this list is evidence for a conversation, not a verdict, and not "
    "fit for pay or discipline."
)
ROWS = 20
COLUMNS = {
    "return": (
        "key", "return_opened_at", "call_id", "cause", "parts", "readings", "technician", "sorted", "remark",
    ),
    "third_trip": ("key", "trips", "calls", "first_opened_at", "last_at", "causes"),
    "no_proof": ("key", "closed_at", "cause", "parts", "checks", "told"),
    "open_call": ("key", "age_days", "waits_for", "visits", "symptoms", "depot"),
    "group": ("key", "came_back", "calls", "expected", "ratio", "low", "high", "extra_returns"),
}  # fmt: skip
TITLES = {
    "return": "Returns",
    "third_trip": "Third trips",
    "no_proof": "Repairs without proof, to ring up",
    "open_call": "Open calls",
    "group": "Groups worth a look",
}


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add the options."""
    add_counting(parser)
    parser.add_argument(
        "--depot",
        metavar="CODE",
        dest="depots",
        action="append",
        default=[],
        help="only this depot; give it again for more",
    )
    parser.add_argument(
        "--rows", metavar="N", type=int, default=ROWS, help=f"rows of each list to print (default: {ROWS})"
    )
    add_json(parser)


def run(arguments: argparse.Namespace) -> None:
    """Print the lists."""
    from analytics.fleet import Fleet
    from analytics.store import Store

    fleet = Fleet(Store(arguments.data))
    filters = Filters(arguments.window, arguments.match, arguments.as_of, depots=tuple(arguments.depots))
    check_values(fleet, filters)
    found = fleet.this_week(filters)
    if arguments.json:
        print_json({"can_not_say": CAN_NOT_SAY} | found.to_dict())
    else:
        print_lists(found, max(arguments.rows, 0))


def print_lists(found: "Review", rows: int) -> None:
    """Print the lists as text for people."""
    if found.until is None or found.since is None:
        print("Nothing to review: no call is in the records yet.")
        return
    print(CAN_NOT_SAY)
    print(f"From {found.since:%A, %Y-%m-%d} to {found.until:%Y-%m-%d %H:%M}, where the records end.")
    if found.problem:
        print(f"What was decided can not be shown: {found.problem}")
    for kind, title in TITLES.items():
        listed = found.lists[kind]
        reviewed = listed.height - listed["reviewed_at"].null_count()
        print(f"\n{title}: {listed.height:,}, {reviewed:,} of them reviewed")
        if listed.is_empty():
            print("Nothing to review this week." if kind == "group" else "None.")
            continue
        columns = [*COLUMNS[kind], "reviewed_at", "note"]
        shown = listed.head(rows).select(columns).rows(named=True)
        print_table(columns, [[_cell(kind, name, row) for name in columns] for row in shown])
        if listed.height > rows:
            print(f"... and {listed.height - rows:,} more; --json has all.")


def _cell(kind: str, name: str, row: dict[str, Any]) -> Any:
    value = row[name]
    if name == "key":
        return f"{kind}:{value}"  # as `mark` takes it
    if isinstance(value, list):
        return "; ".join(value)
    if isinstance(value, float):
        return f"{value:.2f}"
    return f"{value:%Y-%m-%d %H:%M}" if hasattr(value, "strftime") else value
