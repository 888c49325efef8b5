"""docs/command_line.md against the parser: every command, option and exit code stands in both."""

import argparse
import re
from pathlib import Path

import pytest

from analytics import cli, errors

PAGE = Path(__file__).parents[2] / "docs" / "command_line.md"
OPTION = re.compile(r"`(--[a-z-]+)")


def subparsers() -> dict[str, argparse.ArgumentParser]:
    actions = cli.parser()._actions
    return next(dict(action.choices) for action in actions if isinstance(action, argparse._SubParsersAction))


def options(parser: argparse.ArgumentParser) -> set[str]:
    return {name for action in parser._actions for name in action.option_strings if name.startswith("--")} - {
        "--help"
    }


def sections(text: str) -> dict[str, str]:
    """Split a page at its second-level headings."""
    parts = re.split(r"^## (.+)$", text, flags=re.MULTILINE)
    return dict(zip(parts[1::2], parts[2::2], strict=True))


def differences(text: str) -> list[str]:
    """Say where the page and the parser differ."""
    found = sections(text)
    commands = subparsers()
    named = {title.strip("`") for title in found if title.startswith("`")}
    wrong = [f"command {name} stands in one only" for name in named ^ set(commands)]
    common = {"--data"}
    shared = set(OPTION.findall(rows_of(found["Choosing calls"])))
    for name in named & set(commands):
        section = found[f"`{name}`"]
        table = set(OPTION.findall(rows_of(section))) | (shared if "(#choosing-calls)" in section else set())
        wrong += [
            f"{name} {option} stands in one only" for option in table ^ (options(commands[name]) - common)
        ]
        positional = {a.metavar or a.dest for a in commands[name]._actions if not a.option_strings}
        wrong += [f"{name} {what} is not told of" for what in positional if f"`{what}" not in section]
    for option in (options(cli.parser()) | common) ^ set(OPTION.findall(rows_of(found["For every command"]))):
        wrong.append(f"{option} stands in one only")
    return wrong


def rows_of(section: str) -> str:
    """Return the first cell of each table row: where a page defines, and not merely mentions, an option."""
    return "\n".join(line.split("|")[1] for line in section.splitlines() if line.startswith("|"))


def exit_codes() -> dict[str, int]:
    kinds = (kind for kind in vars(errors).values() if isinstance(kind, type))
    return {kind.__name__: kind.exit_code for kind in kinds if issubclass(kind, errors.ServiceCallError)}


def test_every_command_and_option_stands_in_both() -> None:
    assert differences(PAGE.read_text(encoding="utf-8")) == []


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("## `load`", "## `lode`"),
        ("| `--mapping", "| `--maping"),
        ("| `--by", "| `by"),
        ("| `--window", "| `window"),
        ("(#choosing-calls)", "(#other)"),
        ("`FILE", "`FIEL"),
    ],
)
def test_a_page_that_differs_is_caught(old: str, new: str) -> None:
    text = PAGE.read_text(encoding="utf-8")
    assert old in text
    assert differences(text.replace(old, new)) != []


def test_every_command_and_option_has_help() -> None:
    for name, parser in {"": cli.parser(), **subparsers()}.items():
        silent = [
            action.dest for action in parser._actions if not action.help and not hasattr(action, "choices")
        ]
        assert (name, silent) == (name, [])
        assert parser.description


def test_every_exit_code_stands_in_both() -> None:
    table = sections(PAGE.read_text(encoding="utf-8"))["Exit codes"]
    told = {int(code) for code in re.findall(r"^\| (\d+) \|", table, flags=re.MULTILINE)}
    assert told == {0, cli.FAULT, cli.INTERRUPTED, *exit_codes().values()}
    for name, code in exit_codes().items():
        assert re.search(rf"^\| {code} \|.*`{name}`", table, flags=re.MULTILINE), (
            f"{name} has exit code {code}"
        )
