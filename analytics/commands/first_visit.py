"""first-visit: why first visits fail, and which parts aboard would have saved a second one."""

import argparse
from typing import TYPE_CHECKING

from analytics.commands.choosing import add_filters, filters_of
from analytics.commands.printing import add_json, percent, print_json, print_table, rate_words

if TYPE_CHECKING:
    from analytics.questions.first_visit import FirstVisit, FirstVisits
    from analytics.questions.parts_aboard import PartsAboard

NAME = "first-visit"
HELP = "print why first visits fail, and which parts aboard would have saved most second ones"
CAN_NOT_SAY = (
    "These figures can not say who works well: they are not adjusted for the mix of work, and not fit for "
    "pay or discipline."
)


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add the options."""
    add_filters(parser)
    add_json(parser)


def run(arguments: argparse.Namespace) -> None:
    """Print the figures."""
    from analytics.fleet import Fleet
    from analytics.store import Store

    fleet = Fleet(Store(arguments.data))
    filters = filters_of(arguments, fleet)
    found = fleet.first_visit(filters, by=arguments.by)
    about_people = arguments.by == "technician" or bool(filters.technicians)
    if arguments.json:
        print_json(({"can_not_say": CAN_NOT_SAY} if about_people else {}) | found.to_dict())
    else:
        if about_people:
            print(CAN_NOT_SAY + "\n")
        print_first_visit(found)


def print_first_visit(found: "FirstVisit") -> None:
    """Print the figures as text for people."""
    whole = found.whole
    if found.has_visits:
        print(f"Fixed the first time              {rate_words(whole.rate)}")
        print(f"The same, where let in            {rate_words(whole.let_in)}")
        print(f"Completed without a visit         {whole.fixed_by_phone:,}\n")
        print_table(
            ["not fixed the first time", "calls", "applies to"],
            found.reasons.select("label", "calls", "calls_any").rows(),
        )
    else:
        print(f"Closed without a return           {rate_words(whole.rate)}")
        print("Without visits this is no first-time fix, and not to be compared with one.")
    if found.groups:
        reasons = list(whole.reasons) if found.has_visits else []
        print()
        print_table(
            [found.grouping or "group", "first time", "of", "rate, 95% interval", "where let in", *reasons],
            [_row(one, found.has_visits) for one in found.groups],
        )
    print_aboard(found.aboard)


def print_aboard(aboard: "PartsAboard") -> None:
    """Print which parts aboard would have saved second trips."""
    print(
        f"\n{aboard.trips:,} second trips for a part; for {aboard.known:,} it is known what was fitted then."
    )
    if aboard.best.is_empty():
        return
    rows = [
        (" and ".join(row["labels"]), row["saved"], _share(row, aboard.known))
        for row in aboard.best.iter_rows(named=True)
    ]
    print_table(["add to the van", "saved so far", "share, 95% interval"], rows)


def _row(one: "FirstVisits", has_visits: bool) -> tuple[str | int, ...]:
    reasons = list(one.reasons.values()) if has_visits else []
    let_in = percent(one.let_in) if has_visits else ""
    return (one.label, one.rate.numerator, one.rate.denominator, percent(one.rate), let_in, *reasons)


def _share(row: dict[str, float], known: int) -> str:
    from analytics.rates import SHOWN_AS_PERCENTAGE_FROM

    if known < SHOWN_AS_PERCENTAGE_FROM:
        return "too few calls"
    return f"{100 * row['share']:.1f}% ({100 * row['low']:.1f} to {100 * row['high']:.1f})"
