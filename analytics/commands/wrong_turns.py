"""wrong-turns: what was thought first against what it turned out to be, and what the wrong turns cost."""

import argparse
from pathlib import Path
from typing import TYPE_CHECKING, Any

from analytics.commands.choosing import add_filters, filters_of
from analytics.commands.printing import add_json, print_json, print_table, rate_words

if TYPE_CHECKING:
    from analytics.questions.wrong_turns import WrongTurns

NAME = "wrong-turns"
HELP = "print what was thought first against what it turned out to be, and what the wrong turns cost"
UPPER = (
    "Something else is an upper limit on wrong diagnoses: a second fault looks the same. These figures "
    "can not say who works well, and are not fit for pay or discipline."
)
MOST = 20


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add the options."""
    add_filters(parser, by=False)
    parser.add_argument(
        "--costs",
        metavar="FILE",
        type=Path,
        help="a file of cost assumptions (TOML); others stay as they are",
    )
    parser.add_argument(
        "--csv",
        metavar="OUT.csv",
        type=Path,
        help="write the matrix of first thoughts and final causes, with its costs, to this file",
    )
    add_json(parser)


def run(arguments: argparse.Namespace) -> None:
    """Print the figures."""
    from analytics.cost_assumptions import from_file
    from analytics.fleet import Fleet
    from analytics.store import Store

    assumed = from_file(arguments.costs) if arguments.costs else None
    fleet = Fleet(Store(arguments.data))
    filters = filters_of(arguments, fleet)
    found = fleet.wrong_turns(filters, assumed)
    if arguments.csv:
        _write(found, arguments.csv)
    if arguments.json:
        print_json({"upper_limit": UPPER} | found.to_dict())
    else:
        print_wrong_turns(found)


def _write(found: "WrongTurns", path: Path) -> None:
    from analytics.errors import ServiceCallError

    try:
        found.matrix.write_csv(path)
    except OSError as error:
        raise ServiceCallError(
            f"{path} can not be written: {error.strerror or error}. Name another file."
        ) from None


def print_wrong_turns(found: "WrongTurns") -> None:
    """Print the figures as text for people."""
    print(UPPER)
    print(f"{found.calls:,} first calls whose 30 days are up; {found.too_soon:,} are too young to say.\n")
    print(f"Right                     {rate_words(found.right)}")
    print(f"Right, but went deeper    {rate_words(found.went_deeper)}")
    print(f"Something else            {rate_words(found.different)}")
    print(f"No fault found first      {rate_words(found.none_found)}")
    print(f"Right with nothing recorded that could show otherwise: {found.unsaid:,}.")
    print(f"No fault found first, and never known what it was: {found.none_found_unknown:,}.")
    if found.kappa:
        limits = f"95% interval {found.kappa.low:.2f} to {found.kappa.high:.2f}"
        print(f"Agreement beyond chance (kappa): {found.kappa.kappa:.2f} ({limits}).")
    for standing, words in (
        ("different", "something else"),
        ("went_deeper", "went deeper"),
        ("none_found", "no fault found first"),
    ):
        rows = found.turns(standing)
        print(f"\n{words}, dearest first{f' (first {MOST} of {rows.height})' if rows.height > MOST else ''}")
        print_table(
            [
                "thought first", "was", "calls", "of", "returns", "further visits", "hours",
                "parts not the cause", "cost", "95% interval",
            ],
            [_row(row) for row in rows.head(MOST).iter_rows(named=True)],
        )  # fmt: skip
    print()
    print_table(
        ["part that was not the cause", "parts", "calls", "money"],
        [
            (row["label"], round(row["parts"]), row["calls"], round(row["money"]))
            for row in found.parts.iter_rows(named=True)
        ],
    )
    if found.parts_unknown:
        print(f"Parts that could not be told: {found.parts_unknown:.0f}.")


def _row(row: dict[str, Any]) -> tuple[str | int | None, ...]:
    low, high = row["money_low"], row["money_high"]
    return (
        row["first_label"], row["final_label"], row["calls"], row["of"], row["returns"], row["visits"],
        f"{row['minutes'] / 60:.1f}", round(row["parts"]), round(row["money"]),
        "too few" if low is None else f"{low:,.0f} to {high:,.0f}",
    )  # fmt: skip
