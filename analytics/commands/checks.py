"""checks: which checks find the fault, which were not recorded, and how repairs fare by what was checked."""

import argparse
from pathlib import Path
from typing import TYPE_CHECKING, Any

from analytics.commands.choosing import add_filters, filters_of
from analytics.commands.printing import add_json, print_json, print_table, rate_words

if TYPE_CHECKING:
    import polars as pl

    from analytics.questions.checks import Checks

NAME = "checks"
HELP = (
    "print which checks find the fault and how fast, which were not recorded, and returns by proof of repair"
)
SUSPECTED = "Checks were made because the cause was suspected: these shares do not hold for every call."
CAUTIONS = {
    "a": "outside the cabinet, no tools",
    "b": "unplugged, water shut off first",
    "c": "live voltage: qualified technicians only, with the maker's sheet",
}


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add the options."""
    add_filters(parser, by=False)
    parser.add_argument(
        "--by",
        metavar="FIELD",
        choices=("family", "symptom"),
        help="also by group: family (kind of complaint) or symptom",
    )
    parser.add_argument(
        "--csv",
        metavar="OUT.csv",
        type=Path,
        help="write the checks, with --by those of each group, to this file",
    )
    add_json(parser)


def run(arguments: argparse.Namespace) -> None:
    """Print the figures."""
    from analytics.fleet import Fleet
    from analytics.store import Store

    fleet = Fleet(Store(arguments.data))
    found = fleet.checks(filters_of(arguments, fleet), by=arguments.by)
    if arguments.csv:
        _write(found, arguments.csv)
    if arguments.json:
        print_json({"suspected": SUSPECTED} | found.to_dict())
    else:
        print_checks(found)


def _write(found: "Checks", path: Path) -> None:
    from analytics.errors import ServiceCallError

    rows = found.groups.rename({"group": found.by}) if found.by else found.checks.drop("group", "group_label")
    try:
        rows.write_csv(path)
    except OSError as error:
        raise ServiceCallError(
            f"{path} can not be written: {error.strerror or error}. Name another file."
        ) from None


def print_checks(found: "Checks") -> None:
    """Print the figures as text for people."""
    print(SUSPECTED)
    print(
        f"{found.calls:,} calls with a check whose 30 days are up, {found.made:,} checks; "
        f"{found.too_soon:,} calls are too young to say.\n"
    )
    _print_rows(found.checks, [])
    if found.by:
        print()
        _print_rows(found.groups, ["group_label"], found.by)
    _print_not_recorded(found)
    _print_repairs(found)


def _print_rows(rows: "pl.DataFrame", first: list[str], by: str = "") -> None:
    header = [
        "check",
        "found",
        "of",
        "share, 95% interval",
        "ruled out",
        "of",
        "minutes",
        "found an hour, 95% interval",
        "before it",
    ]
    print_table(
        [*([by] if by else []), *header],
        [[*(row[name] for name in first), *_row(row)] for row in rows.iter_rows(named=True)],
    )


def _row(row: dict[str, Any]) -> list[str | int | None]:
    hourly = None if row["per_hour"] is None else f"{row['per_hour']:.1f}"
    if hourly and row["per_hour_low"] is not None:
        hourly += f" ({row['per_hour_low']:.1f} to {row['per_hour_high']:.1f})"
    return [
        row["label"], row["found"], row["made"], _share(row), row["ruled_out"], row["cleared"],
        None if row["minutes"] is None else f"{row['minutes']:.1f}", hourly,
        CAUTIONS.get(row["caution"], CAUTIONS["c"]),
    ]  # fmt: skip


def _share(row: dict[str, Any]) -> str:
    from analytics.rates import SHOWN_AS_PERCENTAGE_FROM

    if row["made"] < SHOWN_AS_PERCENTAGE_FROM:
        return "too few"
    return f"{100 * row['rate']:.1f}% ({100 * row['low']:.1f} to {100 * row['high']:.1f})"


def _print_not_recorded(found: "Checks") -> None:
    missing = found.unrecorded
    print(f"\nCame back without a check that could have shown the cause: {rate_words(missing.rate)}.")
    print(f"{missing.returns:,} returns, {missing.minutes / 60:,.1f} hours on site.")
    if missing.untimed:
        print(f"{missing.untimed:,} visits of those are not timed.")
    print(
        f"Left out: {missing.calls_left_out:,} calls of {missing.technicians_left_out:,} technicians who "
        "record checks on fewer than half of their visits."
    )
    print_table(
        ["check not recorded", "calls", "could have shown it", "returns", "hours on site"],
        [
            (
                row["label"],
                row["calls"],
                f"{row['weighted']:.1f}",
                row["returns"],
                f"{row['minutes'] / 60:.1f}",
            )
            for row in missing.checks.iter_rows(named=True)
        ],
    )


def _print_repairs(found: "Checks") -> None:
    valves = found.valves
    print(f"\nValves fitted without evidence recorded: {rate_words(valves.without_evidence)}.")
    print(f"Of them came back     {rate_words(valves.came_back_without)}")
    print(f"With evidence         {rate_words(valves.came_back_with)}")
    if valves.difference is not None and valves.low is not None and valves.high is not None:
        limits = f"{100 * valves.low:+.1f} to {100 * valves.high:+.1f}"
        print(f"Difference            {100 * valves.difference:+.1f} points (95% interval {limits})")
        print("The mix of work may differ between the two.")
    print()
    print_table(
        ["how far proved", "repairs", "came back", "asked: works"],
        [
            (each.label, each.calls, rate_words(each.callback_rate), rate_words(each.works))
            for each in found.proof
        ],
    )
