"""The commands, in the order in which help lists them; each module has NAME, HELP, add_arguments and run."""

import argparse
from typing import Protocol

from analytics.commands import (
    backup,
    checks,
    compare,
    costs,
    demo,
    evaluate,
    figures,
    filter_age,
    first_visit,
    fit,
    forget,
    go_back,
    how_soon,
    lessons,
    load,
    loads,
    mark,
    over_time,
    phrases,
    predict,
    propose,
    repeat_units,
    restore,
    serve,
    set_aside,
    silence,
    take_back,
    teaching,
    this_week,
    users,
    wrong_turns,
)


class Command(Protocol):
    """What the command line asks of a module here."""

    NAME: str
    HELP: str

    def add_arguments(self, parser: argparse.ArgumentParser) -> None:
        """Add the options of the command."""

    def run(self, arguments: argparse.Namespace) -> None:
        """Do it; a problem is raised as a ServiceCallError."""


COMMANDS: tuple[Command, ...] = (
    demo,
    propose,
    load,
    figures,
    over_time,
    compare,
    first_visit,
    checks,
    how_soon,
    silence,
    repeat_units,
    filter_age,
    teaching,
    costs,
    wrong_turns,
    this_week,
    mark,
    lessons,
    fit,
    evaluate,
    predict,
    serve,
    set_aside,
    phrases,
    loads,
    take_back,
    go_back,
    users,
    forget,
    backup,
    restore,
)
