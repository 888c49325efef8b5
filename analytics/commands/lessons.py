"""lessons: record lessons, see what changed after them, and find real cases to teach a cause with."""

import argparse
from typing import TYPE_CHECKING, Any

from analytics.commands.printing import add_json, percent, print_json, print_table
from analytics.errors import BadQuestion

if TYPE_CHECKING:
    from analytics.fleet import Fleet
    from analytics.questions.lesson_cases import LessonCases
    from analytics.questions.lesson_effect import Effect

NAME = "lessons"
HELP = "lessons held and what changed after them; record one, or find real cases to teach a cause with"
MEASURES = {"wrong_first": "else first", "came_back": "came back"}


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add the options."""
    parser.add_argument("--cases", metavar="CAUSE", help="instead, real cases to teach this cause with")
    parser.add_argument(
        "--record", metavar="DAY:CAUSE", help="record a lesson, such as 2026-03-01:module_failed"
    )
    parser.add_argument(
        "--attended", metavar="NAME", action="append", default=[], help="who attended; once a technician"
    )
    parser.add_argument("--note", metavar="TEXT", default="", help="a note on the lesson recorded")
    parser.add_argument("--who", metavar="NAME", default="", help="who records it; may be left out")
    parser.add_argument("--take-back", metavar="DAY:CAUSE", help="take a lesson back")
    add_json(parser)


def run(arguments: argparse.Namespace) -> None:
    """Do what is asked, and print the lessons or the cases."""
    from analytics.fleet import Fleet
    from analytics.store import Store

    asked = [each for each in (arguments.cases, arguments.record, arguments.take_back) if each]
    if len(asked) > 1:
        raise BadQuestion("Ask for one of --cases, --record and --take-back at a time.")
    if (arguments.attended or arguments.note) and not arguments.record:
        raise BadQuestion("--attended and --note belong to --record.")
    fleet = Fleet(Store(arguments.data))
    if arguments.cases:
        found = fleet.lesson_cases(arguments.cases)
        print_json(found.to_dict()) if arguments.json else _print_cases(found)
        return
    if arguments.record:
        _record(fleet, arguments)
    if arguments.take_back:
        fleet.take_back_lesson(arguments.take_back, arguments.who)
    _print_lessons(fleet, arguments.json)


def _record(fleet: "Fleet", arguments: argparse.Namespace) -> None:
    from analytics.lessons import Lesson, read_day

    day, colon, cause = arguments.record.partition(":")
    if not colon:
        raise BadQuestion(
            f"'{arguments.record[:60]}' names no cause. Write a lesson like 2026-03-01:module_failed."
        )
    fleet.record_lesson(
        Lesson(read_day(day), cause, tuple(arguments.attended), arguments.note, arguments.who)
    )


def _print_lessons(fleet: "Fleet", as_json: bool) -> None:
    found = fleet.lessons()
    if as_json:
        print_json([each.to_dict() for each in found])
        return
    if not found:
        print("No lesson is recorded. Record one: service-calls lessons --record DAY:CAUSE --attended NAME")
        return
    rows: list[list[Any]] = []
    for one in found:
        for name, words in MEASURES.items():
            effect: Effect = getattr(one, name)
            rows.append([one.lesson.key, words, *_cells(effect, one.periods.began)])
    print_table(["lesson", "what", "attended", "others", "change, points (95% interval)", "verdict"], rows)
    print(
        "\nBefore: 12 months, to 3 months before the lesson, since people are sent to it for how they did in "
        "those. After: at most 12 months. Evidence for a conversation, not a verdict on anybody; not fit for "
        "pay or discipline."
    )


def _cells(effect: "Effect", began: bool) -> list[str]:
    if not began:
        return ["", "", "", "too soon to say"]
    change = ""
    if effect.change is not None and effect.low is not None and effect.high is not None:
        change = f"{100 * effect.change:+.0f} ({100 * effect.low:+.0f} to {100 * effect.high:+.0f})"
    return [
        f"{percent(effect.attended_before)} -> {percent(effect.attended_after)}",
        f"{percent(effect.others_before)} -> {percent(effect.others_after)}",
        change,
        effect.verdict.replace("_", " "),
    ]


def _print_cases(found: "LessonCases") -> None:
    print(f"{len(found.cases)} cases of {found.strings:,} strings of returns: {found.label}")
    if not found.enough:
        print("Too few calls fit the rules for a lesson.")
    rows = [
        [each.kind.replace("_", " "), each.episode_id, each.thought, each.cause, len(each.trips)]
        for each in found.cases
    ]
    print_table(["kind", "call", "thought first", "was", "calls"], rows)
    print("\nSheets to play or print, without names: page /lesson of the dashboard, or --json.")
    if any(each.cautions for each in found.cases):
        print("Unplug and shut the water off before checks; the sheets say which.")
