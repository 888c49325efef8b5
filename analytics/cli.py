"""The command line `service-calls`: one parser, one small module a command, errors as one paragraph."""

import argparse
import os
import sys
import traceback
from collections.abc import Sequence
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path
from typing import NoReturn

from analytics.commands import COMMANDS
from analytics.errors import BadQuestion, ServiceCallError

FAULT = 70
"""Exit code of a fault in the program itself; source: EX_SOFTWARE in sysexits.h."""

INTERRUPTED = 130
"""Exit code after Ctrl-C: 128 and the number of the signal, as a shell gives it."""

IN_THE_BACKGROUND = ("load", "fit", "evaluate", "backup")
STEPS_BACK = 10
"""What takes minutes steps back, so that a dashboard on the same machine stays quick."""


class _Parser(argparse.ArgumentParser):
    def error(self, message: str) -> NoReturn:
        """Say what was wrong as one paragraph, like every other error."""
        raise BadQuestion(f"{message[:1].upper()}{message[1:]}. See `{self.prog} --help`.")


def parser() -> argparse.ArgumentParser:
    """Return the parser of the whole command line, as the docs and their tests read it."""
    data = _Parser(add_help=False)
    data.add_argument(
        "--data",
        metavar="DIR",
        type=Path,
        default=argparse.SUPPRESS,
        help="folder of the store; without it the one named by SERVICE_CALLS_DATA, else ./data",
    )
    top = _Parser(
        prog="service-calls",
        description="What the service calls of a fleet of home appliances teach.",
        parents=[data],
        allow_abbrev=False,
    )
    top.add_argument("--version", action="version", version=f"%(prog)s {_version()}")
    commands = top.add_subparsers(dest="command", metavar="COMMAND", required=True, parser_class=_Parser)
    for command in COMMANDS:
        below = commands.add_parser(
            command.NAME, help=command.HELP, description=command.HELP, parents=[data], allow_abbrev=False
        )
        command.add_arguments(below)
        below.set_defaults(run=command.run)
    return top


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command.

    Parameters
    ----------
    argv : sequence of str, optional
        The words after `service-calls`; None: those of this process.

    Returns
    -------
    int
        The exit code: 0 done, 2 to 6 the error's own (analytics/errors.py), 70 a fault of the program,
        130 interrupted.
    """
    folder = Path(os.environ.get("SERVICE_CALLS_DATA") or "data")
    try:
        arguments = parser().parse_args(argv)
        folder = arguments.data = getattr(arguments, "data", folder)
        if argv is None and arguments.command in IN_THE_BACKGROUND:  # a process of its own, not a caller's
            os.nice(STEPS_BACK)
        arguments.run(arguments)
        sys.stdout.flush()
        return 0
    except ServiceCallError as error:
        return _say(str(error), error.exit_code)
    except KeyboardInterrupt:
        return _say("Interrupted. Nothing that had not finished was kept.", INTERRUPTED)
    except BrokenPipeError:
        # Whoever read the output (head, less) has seen enough; this keeps Python from complaining at exit.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 0
    except Exception as error:
        return _unforeseen(error, folder)


def _unforeseen(error: Exception, folder: Path) -> int:
    from analytics.store_problems import store_problem

    if problem := store_problem(error, folder.absolute()):  # a disk that fails while figures are read
        return _say(str(problem), problem.exit_code)
    if os.environ.get("SERVICE_CALLS_TRACEBACK"):
        traceback.print_exception(error)
    return _say(
        f"A fault in this program, not in your files: {type(error).__name__}: {str(error)[:300]} Nothing was "
        f"changed. Set SERVICE_CALLS_TRACEBACK=1 and run again to see where, and report it.",
        FAULT,
    )


def _say(message: str, code: int) -> int:
    print(f"service-calls: {' '.join(message.split())}", file=sys.stderr)
    return code


def _version() -> str:
    try:
        return version("service-call-analytics")
    except PackageNotFoundError:
        return "not installed"


if __name__ == "__main__":
    sys.exit(main())
