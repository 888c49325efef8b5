"""wrong-turns: what was thought first against what it turned out to be, its cost, and steps not recorded."""

import argparse
from pathlib import Path
from typing import TYPE_CHECKING, Any

from analytics.commands.choosing import add_filters, filters_of
from analytics.commands.printing import add_json, print_json, print_table, rate_words

if TYPE_CHECKING:
    from analytics.questions.habits import Habits
    from analytics.questions.wrong_turns import WrongTurns

NAME = "wrong-turns"
HELP = (
    "print what was thought first against what it turned out to be, what the wrong turns cost, and steps not "
    "recorded"
)
UPPER = (
    "Something else is an upper limit on wrong diagnoses: a second fault looks the same. These figures "
    "can not say who works well, and are not fit for pay or discipline."
)
NOT_DONE = (
    "Not recorded is not the same as not done, and steps are taken because something is suspected: a "
    "difference is no proof that the step would have helped."
)
OUTCOMES = {
    "different": "taken for something else",
    "came_back": "came back",
    "minutes": "minutes on returns",
}
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
    found, habits = fleet.wrong_turns(filters, assumed), fleet.habits(filters)
    if arguments.csv:
        _write(found, arguments.csv)
    if arguments.json:
        steps = {"not_done": NOT_DONE} | habits.to_dict()
        print_json({"upper_limit": UPPER} | found.to_dict() | {"habits": steps})
    else:
        print_wrong_turns(found)
        print_habits(habits)


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
        print(
            f"\n{words}, costliest first{f' (first {MOST} of {rows.height})' if rows.height > MOST else ''}"
        )
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


def print_habits(found: "Habits") -> None:
    """Print the steps not recorded, and how calls fared, as text for people."""
    print(f"\n{NOT_DONE}")
    print(
        f"Left out: {found.calls_left_out:,} calls of {found.technicians_left_out:,} technicians who "
        "record checks on fewer than half of their visits."
    )
    print_table(
        ["step", "not recorded", "of", "share, 95% interval", "middle half of technicians"],
        [_habit(row) for row in found.habits.iter_rows(named=True)],
    )
    labels = dict(found.habits.select("habit", "label").rows())
    print()
    print_table(
        [
            "step",
            "what became of it",
            "without",
            "of",
            "with",
            "of",
            "difference, 95% interval",
            "beyond chance",
        ],
        [_fared(row, labels[row["habit"]]) for row in found.fared.iter_rows(named=True)],
    )


def _habit(row: dict[str, Any]) -> tuple[str | int | None, ...]:
    from analytics.rates import SHOWN_AS_PERCENTAGE_FROM

    share = "too few calls"
    if row["calls"] >= SHOWN_AS_PERCENTAGE_FROM:
        share = f"{100 * row['rate']:.1f}% ({100 * row['low']:.1f} to {100 * row['high']:.1f})"
    spread = "too few"
    if row["technicians"] >= 4:
        spread = f"{100 * row['lower_quarter']:.0f} to {100 * row['upper_quarter']:.0f}%"
    return row["label"], row["not_recorded"], row["calls"], share, spread


def _fared(row: dict[str, Any], label: str) -> tuple[str | int | None, ...]:
    minutes = row["outcome"] == "minutes"
    factor, unit = (1, "minutes a call") if minutes else (100, "points")
    told = "too few"
    if row["low"] is not None:
        limits = f"{factor * row['low']:+.1f} to {factor * row['high']:+.1f}"
        told = f"{factor * row['difference']:+.1f} {unit} ({limits})"
    return (
        label, OUTCOMES[row["outcome"]], round(row["without_sum"]), row["without_calls"],
        round(row["with_sum"]), row["with_calls"], told,
        "yes" if row["differs"] else "no" if row["low"] is not None else "",
    )  # fmt: skip
