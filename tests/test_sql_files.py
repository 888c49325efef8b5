"""SQL lives in files with a header, and values are only ever bound. Each rule catches what breaks it."""

import ast
import re
from collections.abc import Iterable, Iterator
from pathlib import Path

import pytest

from analytics import queries
from analytics.intake.contract import tables

ROOT = Path(__file__).parents[1]
RUNS_SQL = {"execute", "executemany", "sql", "query", "from_query"}
FILES = sorted((ROOT / "sql").rglob("*.sql"))
NEEDS_GRAIN = {"marts", "metrics"}


def header(text: str) -> str:
    """Return the comment lines that a file begins with."""
    lines = text.splitlines()
    end = next((i for i, line in enumerate(lines) if not line.startswith("--")), len(lines))
    return "\n".join(lines[:end])


def header_faults(path: Path, text: str) -> list[str]:
    """Say what the header of an SQL file lacks."""
    top = header(text)
    wrong = []
    if not re.match(r"-- \S.*\w{3}", top):
        wrong.append("the file does not begin with a comment that says what it is")
    if path.parent.name in NEEDS_GRAIN and not re.search(
        r"\b(one|a|each) (\w+ )?(row|line)\b|grain", top.lower()
    ):
        wrong.append("the header does not say what one row is")
    if re.search(r"\{\w*\}|%s|%\(\w+\)s", re.sub(r"--[^\n]*|'(?:[^']|'')*'", "", text)):
        wrong.append("a place where a value would be formatted in")
    return wrong


def statements_in_code(text: str) -> Iterator[int]:
    """Yield the lines of a Python source at which SQL is run that does not come from a file."""
    for node in ast.walk(ast.parse(text)):
        if not isinstance(node, ast.Call) or not isinstance(node.func, ast.Attribute) or not node.args:
            continue
        made_here = isinstance(node.args[0], ast.Constant | ast.JoinedStr | ast.BinOp)
        formatted = isinstance(node.args[0], ast.Call) and getattr(node.args[0].func, "attr", "") == "format"
        if node.func.attr in RUNS_SQL and (made_here or formatted):
            yield node.lineno


@pytest.mark.parametrize("path", FILES, ids=lambda path: str(path.relative_to(ROOT)))
def test_header(path: Path) -> None:
    assert header_faults(path, path.read_text(encoding="utf-8")) == []


@pytest.mark.parametrize("path", FILES, ids=lambda path: str(path.relative_to(ROOT)))
def test_parameters_can_be_read(path: Path) -> None:
    assert queries.parameters(str(path.relative_to(ROOT / "sql").with_suffix(""))) is not None


@pytest.mark.parametrize(
    ("name", "text"),
    [
        ("metrics/rate.sql", "select 1"),
        ("metrics/rate.sql", "select 1 -- rate: one row a depot."),
        ("metrics/rate.sql", "-- rate: the callback rate.\nselect 1"),
        ("metrics/rate.sql", "-- rate: one row a depot.\nselect * from {table}"),
    ],
)
def test_header_fault_is_caught(name: str, text: str) -> None:
    assert header_faults(Path("sql") / name, text) != []


def python_sources() -> list[Path]:
    return sorted(path for package in ("analytics", "dashboard") for path in (ROOT / package).rglob("*.py"))


@pytest.mark.parametrize("path", python_sources(), ids=lambda path: str(path.relative_to(ROOT)))
def test_no_statement_is_made_in_code(path: Path) -> None:
    assert list(statements_in_code(path.read_text(encoding="utf-8"))) == []


@pytest.mark.parametrize(
    "text",
    [
        "connection.execute('select 1')",
        "connection.execute(f'select {x}')",
        "connection.sql('select ' + x)",
        "connection.sql('select %s' % x)",
        "connection.execute('select {}'.format(x))",
    ],
)
def test_statement_made_in_code_is_caught(text: str) -> None:
    assert list(statements_in_code(text)) == [1]


def names_in_code(sources: Iterable[str]) -> tuple[set[str], list[re.Pattern[str]]]:
    """Return every text in the code, and a pattern for every text with places to fill in that has a slash."""
    texts: set[str] = set()
    patterns: list[re.Pattern[str]] = []
    for source in sources:
        for node in ast.walk(ast.parse(source)):
            if isinstance(node, ast.Constant) and isinstance(node.value, str):
                texts.add(node.value)
            elif isinstance(node, ast.JoinedStr):
                parts = (
                    re.escape(p.value) if isinstance(p, ast.Constant) else "([a-z_]+)" for p in node.values
                )
                pattern = "".join(map(str, parts))
                patterns += [re.compile(pattern)] if "/" in pattern else []
    return texts, patterns


def unused(names: Iterable[str], texts: set[str], patterns: list[re.Pattern[str]]) -> list[str]:
    """Return the SQL files that no code names, whole or by a pattern filled with texts of the code."""

    def filled(name: str) -> bool:
        matches = (pattern.fullmatch(name) for pattern in patterns)
        return any(match and all(group in texts for group in match.groups()) for match in matches)

    return [name for name in names if name not in texts and not filled(name)]


def test_every_file_is_run_by_the_code() -> None:
    """By its name, such as "metrics/callback_counts"; the files of a schema are run as a folder."""
    texts, patterns = names_in_code(path.read_text(encoding="utf-8") for path in python_sources())
    names = [
        str(path.relative_to(ROOT / "sql").with_suffix("")) for path in FILES if path.parent.name != "schema"
    ]
    assert unused(names, texts | set(tables()), patterns) == []


def test_file_that_nothing_runs_is_caught() -> None:
    texts, patterns = names_in_code(
        ['run("marts/calls")', 'for name in ("a", "b"): run(f"marts/{name}_rows")']
    )
    names = ["marts/calls", "marts/a_rows", "marts/c_rows", "metrics/calls"]
    assert unused(names, texts, patterns) == ["marts/c_rows", "metrics/calls"]
