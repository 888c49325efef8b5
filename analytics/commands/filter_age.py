"""filter-age: failures over the time at risk by the age of the filter, and the units overdue now."""

import argparse
from typing import TYPE_CHECKING, Any

from analytics.commands.filter_rules import add_costs, costs_of, print_intervals, print_rules
from analytics.commands.printing import add_json, print_json, print_table
from analytics.errors import BadQuestion

if TYPE_CHECKING:
    import polars as pl

    from analytics.questions.filter_age import FilterAge
    from analytics.statistics.smooth_rate import Doubled

NAME = "filter-age"
HELP = "print how often units fail by the age of their filter, and the filters overdue now"
FIELDS = ("water_supply", "shutoff_valve", "product_family", "unit_age")
MOST_LISTED = 10_000
MUCH_LATER = 0.1


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add the options."""
    parser.add_argument(
        "--by", metavar="FIELD", choices=FIELDS, help=f"also past six months by one of {', '.join(FIELDS)}"
    )
    parser.add_argument("--depot", metavar="NAME", help="list overdue filters of this depot alone")
    parser.add_argument("--limit", metavar="N", type=int, default=10, help="units to list (default: 10)")
    add_costs(parser)
    add_json(parser)


def run(arguments: argparse.Namespace) -> None:
    """Print the figures and the list."""
    from analytics.fleet import Fleet
    from analytics.store import Store

    if not 0 <= arguments.limit <= MOST_LISTED:
        raise BadQuestion(f"{arguments.limit} units can not be listed. Ask for 0 to {MOST_LISTED:,}.")
    costs = costs_of(arguments)
    fleet = Fleet(Store(arguments.data)).for_one_page()
    depots = fleet.overdue_by_depot()["depot"].drop_nulls().to_list()
    if arguments.depot is not None and arguments.depot not in depots:
        known = ", ".join(depots) or "none"
        raise BadQuestion(f"No filter of a depot '{arguments.depot}' is overdue. Depots with some: {known}.")
    found = fleet.filter_age()
    rows, total = fleet.overdue_filters(arguments.depot, 0, arguments.limit)
    policies, intervals = fleet.filter_policies(costs), fleet.filter_intervals(costs)
    if arguments.json:
        more = {
            "policies": policies.to_dict(),
            "intervals": intervals.to_dict(),
            "overdue": total,
            "list": rows.to_dicts(),
        }
        print_json(found.to_dict(arguments.by) | more)
    else:
        print_filter_age(found, rows, total, arguments.by)
        print_rules(policies)
        print_intervals(intervals)


def print_filter_age(found: "FilterAge", rows: "pl.DataFrame", total: int, by: str | None) -> None:
    """Print the figures as text for people."""
    if found.has_time:
        _print_rates(found, by)
    else:
        print("No unit with a known day of installation or filter change: failures alone are counted.\n")
    _print_cases(found)
    print(f"\nFilters past six months now (common practice; the maker's sheet comes first): {total:,}")
    if rows.height:
        listed = rows.select("unit_id", "depot", "known_on", "age_months", "expected", "calls_in_a_year")
        print_table(
            ["unit", "depot", "known since", "months", "failures expected in 90 days", "calls in a year"],
            [(*row[:3], _one(row[3]), _three(row[4]), row[5]) for row in listed.iter_rows()],
        )


def _print_rates(found: "FilterAge", by: str | None) -> None:
    past = found.past_of("all", "6")
    print(
        f"Past six months: {_rate(past, '_past')} failures per 1,000 unit-months, "
        f"before {_rate(past, '_young')}; ratio {_ratio(past)}. {found.units:,} units, {found.months:,.0f} "
        f"unit-months.\n"
    )
    print_table(
        ["months", "unit-months", "failures", "per 1,000 unit-months", "against 0-3"],
        [
            (row["band"], round(row["months"]), row["failures"], _rate(row), _ratio(row))
            for row in found.of("all").iter_rows(named=True)
        ],
    )
    trend = found.trends.get(("began", "all"))
    if trend:
        print(f"\nTrend over the bands: chi-square {trend.chi2:.1f}, p {trend.p:.2g}.")
    _print_course(found)
    common = found.adjusted.common
    if common:
        print(
            "With water supply, shutoff valve, product family and unit age held equal, past six months "
            f"against before: {common.ratio:.2f} ({common.low:.2f} to {common.high:.2f})."
        )
    if found.adjusted.turned:
        print("As counted and within like units disagree in direction (Simpson's paradox): trust the second.")
    later = dict(found.cases.told.select("told", "share").iter_rows())["later"]
    if later is not None and later >= MUCH_LATER:
        print(
            f"On {100 * later:.0f}% of the failures where both are known, customers told a later change than "
            "recorded: changes that nobody recorded draw the ratio towards 1."
        )
    if by:
        print()
        print_table(
            [by, "up to six months", "past six months", "ratio"],
            [
                (row["label"], _rate(row, "_young"), _rate(row, "_past"), _ratio(row))
                for row in found.groups_of("all", by).iter_rows(named=True)
            ],
        )
    print()


def _print_course(found: "FilterAge") -> None:
    course = found.course
    if course is None:
        return
    wide = course.widened_of("all", "6")
    if wide["low"] is not None:
        print(
            f"Allowing for units that fail again and again, past six months against before: "
            f"{wide['ratio']:.2f} ({wide['low']:.2f} to {wide['high']:.2f})."
        )
    print(f"\nFilters with a first failure, of {course.filters:,} followed from their change:\n")
    shown = course.marks.filter(course.marks["share"].is_not_null())
    print_table(
        ["months", "first failure", "share", "still watched"],
        [
            (
                row["months"],
                row["outcome"].replace("_", " "),
                f"{row['share']:.1%} ({row['low']:.1%} to {row['high']:.1%})",
                row["watched"],
            )
            for row in shown.sort("months", maintain_order=True).iter_rows(named=True)
        ],
    )
    for what in ("all", "flow_linked"):
        twice = course.doubled[what]
        if twice is not None:
            print(f"{found.of(what)['label'][0].capitalize()}: {_doubled(twice, course.watched_days)}")


def _doubled(twice: "Doubled", watched_days: int) -> str:
    if twice.age is None:
        return f"the rate does not double within {watched_days} days of a change."
    high = "or never" if twice.high is None else f"to {twice.high:.0f}"
    return f"the rate has doubled {twice.age:.0f} days after a change (95% interval {twice.low:.0f} {high})."


def _print_cases(found: "FilterAge") -> None:
    print("Failures alone, by age told or recorded (they can not tell how often units fail):")
    print_table(
        ["months", "failures", "filter-linked", "of known causes"],
        [
            (row["band"], row["failures"], row["flow_linked"], row["known"])
            for row in found.cases.bands.iter_rows(named=True)
        ],
    )


def _rate(row: dict[str, Any], suffix: str = "") -> str:
    if row[f"rate{suffix}"] is None:
        return "no data"
    return f"{row[f'rate{suffix}']:.1f} ({row[f'low{suffix}']:.1f} to {row[f'high{suffix}']:.1f})"


def _ratio(row: dict[str, Any]) -> str:
    if row["ratio"] is None:
        return "not known"
    if row["ratio_low"] is None:
        return f"{row['ratio']:.0f}"
    return f"{row['ratio']:.2f} ({row['ratio_low']:.2f} to {row['ratio_high']:.2f})"


def _one(value: float) -> float:
    return round(value, 1)


def _three(value: float | None) -> float | None:
    return None if value is None else round(value, 3)
