"""docs/security.md: every point has a test that is there, or says why it has none."""

import ast
import re
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
ROW = re.compile(r"^\| (\d+\.\d+\.\d+) \| ([^|]+) \| ([^|]+) \| ([^|]*) \|$", re.MULTILINE)
TEST = re.compile(r"`(tests/[\w/]+\.py)::(\w+)`")
STANDINGS = {"met", "partly", "not met", "not applicable", "by the proxy"}
POINTS = 120
"""Points that the page has at least: so many has level 1 of the standard, about, from memory."""


def page() -> str:
    return (ROOT / "docs" / "security.md").read_text(encoding="utf-8")


def functions_of(path: Path) -> set[str]:
    tree = ast.parse(path.read_text(encoding="utf-8"))
    return {node.name for node in ast.walk(tree) if isinstance(node, ast.FunctionDef)}


def faults(text: str) -> list[str]:
    rows = ROW.findall(text)
    numbers = [number for number, *_ in rows]
    wrong = [f"{number} stands twice" for number in set(numbers) if numbers.count(number) > 1]
    wrong += [] if len(rows) >= POINTS else [f"only {len(rows)} points"]
    for number, _, standing, said in rows:
        named = TEST.findall(said)
        gone = [
            name
            for file, name in named
            if not (ROOT / file).exists() or name not in functions_of(ROOT / file)
        ]
        wrong += [f"{number} names {name}, which is not there" for name in gone]
        wrong += [f"{number} stands as {standing}"] if standing not in STANDINGS else []
        wrong += [f"{number} is met, and no test says so"] if standing == "met" and not named else []
        wrong += [f"{number} says no reason"] if not re.sub(TEST, "", said).strip(" ,;") and not named else []
        reason = re.sub(TEST, "", said).strip(" ,;")
        wrong += [f"{number} does not say why"] if standing in ("not met", "partly") and not reason else []
    return wrong


def test_every_point_has_a_test_or_a_reason() -> None:
    assert faults(page()) == []


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("::test_sessions_end`", "::test_sessions_last`"),
        ("tests/analytics/test_doors.py::", "tests/analytics/test_gates.py::"),
        ("| met |", "| surely |"),
        ("| 3.1.1 |", "| 3.2.1 |"),
        ("`tests/dashboard/test_access.py::test_no_log_and_no_address_holds_a_password_or_token`", ""),
    ],
)
def test_a_page_that_promises_too_much_is_caught(old: str, new: str) -> None:
    assert old in page()
    assert faults(page().replace(old, new)) != []
