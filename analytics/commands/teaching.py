"""teaching: what to teach next, by assumptions that can be replaced; who would gain, when asked for."""

import argparse
from typing import TYPE_CHECKING, Any

from analytics.commands.costs import option
from analytics.commands.days import day
from analytics.commands.printing import add_json, print_json, print_table
from analytics.teaching_assumptions import TeachingAssumptions

if TYPE_CHECKING:
    from analytics.questions.new_technicians import NewTechnicians
    from analytics.questions.teaching import Teaching

NAME = "teaching"
HELP = "print what to teach next, causes by whether a lesson can help, and how new technicians come on"
NOT_A_VERDICT = (
    "For a conversation, not a verdict; pulled towards the average because calls are few; not fit for pay or "
    "discipline."
)


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add the options."""
    parser.add_argument(
        "--depot",
        metavar="CODE",
        dest="depots",
        action="append",
        default=[],
        help="only this depot; give it again for more",
    )
    parser.add_argument(
        "--as-of", metavar="DATE", type=day, help="as the records stood at the end of this day"
    )
    parser.add_argument(
        "--names",
        metavar="LESSON",
        help="also the technicians of this lesson by name: thought.CAUSE or held.CAUSE, the first column",
    )
    for key, each in TeachingAssumptions.described().items():
        parser.add_argument(
            option(key), metavar="N", dest=key, help=f"{each.label}, in {each.unit} (default: {each.value:g})"
        )
    add_json(parser)


def run(arguments: argparse.Namespace) -> None:
    """Print what to teach."""
    from analytics.commands.choosing import check_values
    from analytics.filters import Filters
    from analytics.fleet import Fleet
    from analytics.store import Store

    described = TeachingAssumptions.described()
    given = {key: getattr(arguments, key) for key in described if getattr(arguments, key) is not None}
    assumed = TeachingAssumptions.usual().but(given, "The command line")
    fleet = Fleet(Store(arguments.data))
    filters = Filters(as_of=arguments.as_of, depots=tuple(arguments.depots))
    check_values(fleet, filters)
    found, new = fleet.teaching(filters, assumed), fleet.new_technicians(filters)
    habits, people = fleet.teaching_habits(filters), None
    if arguments.names:
        what, _, cause = arguments.names.partition(".")
        people = fleet.teaching_people(filters, what, cause, assumed).to_dicts()
    if arguments.json:
        named = {} if people is None else {"people": people, "people_can_not_say": NOT_A_VERDICT}
        print_json(found.to_dict() | {"habits": habits.to_dicts(), "new_technicians": new.to_dict()} | named)
        return
    print_teaching(found)
    print_habits(habits.to_dicts())
    print_new(new)
    if people is not None:
        print_people(people)


def print_teaching(found: "Teaching") -> None:
    """Print lessons and causes as text for people."""
    from analytics.questions.teaching import VERDICTS

    print(f"{found.strings:,} strings of returns; {found.at_work:,} technicians at work.\n")
    if found.plan.is_empty():
        print("Nothing can be shown to be a matter for teaching yet.")
    else:
        print_table(
            ["lesson", "cause", "saved a year", "for an hour taught", "95% interval", "likely below average"],
            [_lesson(row) for row in found.plan.iter_rows(named=True)],
        )
    for verdict, words in VERDICTS.items():
        rows = found.causes.filter(found.causes["verdict"] == verdict)
        if rows.is_empty():
            continue
        print(f"\n{words[:1].upper()}{words[1:]}:")
        print_table(
            ["lesson", "went wrong", "of", "spread", "95% interval", "hours a year to gain", "95% interval"],
            [_cause(row) for row in rows.iter_rows(named=True)],
        )
    print()
    for key, each in TeachingAssumptions.described().items():
        value = getattr(found.assumed, key)
        print(f"Assumed: {each.label}: {value:g} {each.unit} ({option(key)}; {each.standing}).")


def print_habits(habits: list[dict[str, Any]]) -> None:
    """Print how far technicians differ in what they record as text for people."""
    known = [row for row in habits if row["spread"] is not None]
    if not known:
        return
    print("\nHabits of checking, of technicians who record checks:")
    print_table(
        ["", "not recorded", "of", "best quarter", "spread", "fewer a year"],
        [
            (
                row["label"],
                row["happened"],
                row["calls"],
                f"{100 * row['best']:.0f}%",
                _limits(row["spread"], row["spread_low"], row["spread_high"], 2),
                _limits(row["avoided"], row["avoided_low"], row["avoided_high"], 0),
            )
            for row in known
        ],
    )


def print_new(new: "NewTechnicians") -> None:
    """Print how new technicians come on as text for people."""
    if new.curve.is_empty():
        print("\nNo technician has a day of starting: how new ones come on can not be told.")
        return
    print("\nNew technicians, by months since starting:")
    print_table(
        ["", "months", "technicians", "seen", "of", "expected", "against expected"],
        [
            (
                {"fixed": "fixed on the first visit", "came_back": "came back"}[row["what"]],
                row["months"],
                row["technicians"],
                row["happened"],
                row["calls"],
                f"{row['expected']:.1f}",
                _limits(row["ratio"], row["low"], row["high"], 2),
            )
            for row in new.curve.iter_rows(named=True)
        ],
    )


def print_people(people: list[dict[str, Any]]) -> None:
    """Print who would gain from a lesson as text for people."""
    print(f"\n{NOT_A_VERDICT}")
    print_table(
        ["technician", "went wrong", "of", "expected", "against expected", "hours a year to gain", ""],
        [
            (
                row["technician"],
                row["happened"],
                row["calls"],
                f"{row['expected']:.1f}",
                _limits(row["shrunk"], row["low"], row["high"], 2),
                f"{row['hours']:.1f}",
                {"below": "likely to gain", "above": "could take somebody along, asked first"}.get(
                    row["standing"], ""
                ),
            )
            for row in people
            if row["at_work"]
        ],
    )


def _limits(value: float, low: float | None, high: float | None, digits: int) -> str:
    if low is None or high is None:
        return f"{value:.{digits}f} (too few for an interval)"
    return f"{value:.{digits}f} ({low:.{digits}f} to {high:.{digits}f})"


def _lesson(row: dict[str, Any]) -> tuple[str | int, ...]:
    return (
        f"{row['what']}.{row['cause']}",
        row["label"],
        f"{row['saved']:.1f} h",
        f"{row['per_hour']:.1f} h",
        f"{row['low']:.1f} to {row['high']:.1f}",
        f"{row['below']:,} of {row['technicians']:,}",
    )


def _cause(row: dict[str, Any]) -> tuple[str | int, ...]:
    name = f"{row['what']}.{row['cause']}"
    if row["spread"] is None:
        return name, row["happened"], row["calls"], "too few", "", "", ""
    return (
        name,
        row["happened"],
        row["calls"],
        f"{row['spread']:.2f}",
        f"{row['spread_low']:.2f} to {row['spread_high']:.2f}",
        f"{row['hours']:.1f}",
        f"{row['hours_low']:.1f} to {row['hours_high']:.1f}",
    )
