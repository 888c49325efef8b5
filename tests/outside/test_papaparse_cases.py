"""Papa Parse 5.7.1 (npm, MIT): the 161 texts of its own tests (tests/test-cases.js), with the rows expected.

What it is asked besides the text (types, functions, a preview) is no matter of how CSV is read: of such
cases only is checked that no letter and no digit gets lost. Where the loader reads otherwise on purpose,
`OTHERWISE` has what it reads, and why.
"""

import csv
import json
import subprocess
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import pytest

from analytics.intake import dialect
from tests.outside.suite_loading import Keep, Kept, expected, keeper, lost
from tests.studies.fuzzing import quick

SUITE = Path(__file__).parents[2] / ".ci" / "node_modules" / "papaparse"

pytestmark = pytest.mark.skipif(
    not SUITE.exists(), reason="papaparse is not there: `npm ci --prefix .ci --ignore-scripts` fetches it"
)

NO_MATTER_OF_CSV = {"dynamicTyping", "transform", "transformHeader", "preview", "skipFirstNLines"}
QUOTE_REASONS = {"unclosed_quote", "text_after_quote"}

SEPARATORS = {"parse 27": "$", "parse 67": "|", "parse 69": ";", "parse 70": ";", "parse 71": ";"}
"""The separator of a text, where the suite has it guessed or told by a function; else it is a comma."""

LETTERS = [("c", "d"), ("e", "f"), ("g", "h"), ("i", "j")]
OTHERWISE: dict[str, list[Kept]] = {
    # Spaces around quotes are passed over on both sides; the suite does so behind the closing quote alone.
    "Quoted field with whitespace around quotes": [Kept(1, None, ("A", "B", "C"))],
    # A carriage return alone ends a line outside quotes; the suite goes by the first line end of the text.
    "Mixed slash n and slash r should choose first as precident": [
        Kept(1, None, ("a", "b", "c")), Kept(2, None, ("d", "e", "f")), Kept(3, None, ("g", "h", "i")),
    ],
    # RFC 4180 doubles a quote inside quotes. One behind a backslash closes the field: the row is set aside.
    "Custom escape character in the middle": [Kept(1, "text_after_quote", ("a", "b", '"c\\"d\\"f"'))],
    "Custom escape character at the end": [Kept(1, "text_after_quote", ("a", "b", '"c\\"d\\""'))],
    # Quotes are the double and the single one; with others a line end inside them ends the row.
    "Using reserved regex character . as quote character": [
        Kept(1, "too_few_fields", (".a",)), Kept(2, None, ("a.", "b")),
        *(Kept(line, None, pair) for line, pair in enumerate(LETTERS, 3)),
    ],
    "Using reserved regex character | as quote character": [
        Kept(1, "too_few_fields", ("|a",)), Kept(2, None, ("a|", "b")),
        *(Kept(line, None, pair) for line, pair in enumerate(LETTERS, 3)),
    ],
}  # fmt: skip


def cases() -> list[dict[str, Any]]:
    if not SUITE.exists():
        return []
    command = ["node", str(Path(__file__).with_name("papaparse_cases.js")), "tests/test-cases.js"]
    return json.loads(subprocess.run(command, cwd=SUITE, capture_output=True, check=True).stdout)


ALL = cases()
COMPARED = [case for case in ALL if not NO_MATTER_OF_CSV & set(case["config"])]
BROKEN_QUOTES = [
    case for case in COMPARED if "Quotes" in {each["type"] for each in case["expected"]["errors"]}
]
WHOLE = [case for case in COMPARED if case not in BROKEN_QUOTES]


def named(case: dict[str, Any]) -> str:
    return f"{case['list']} {case['at']}"


def separator_of(case: dict[str, Any]) -> str:
    asked = case["config"].get("delimiter")
    if asked in ("\t", "|", "\x1e", "\x1f"):
        return asked
    return SEPARATORS.get(named(case), ",")


def rows_of(case: dict[str, Any]) -> list[list[str]]:
    """Rows that the suite expects, header and comments among them, for here they are rows like the others."""
    text, data, asked = case["input"], case["expected"]["data"], case["config"]
    rows = [each if isinstance(each, list) else _listed(each) for each in data]
    if asked.get("header"):
        line = next(each for each in text.removeprefix("\ufeff").splitlines() if not each.startswith("#"))
        rows = [next(csv.reader([line])), *rows[case["list"] == "core" :]]
    if isinstance(mark := asked.get("comments"), (bool, str)):
        left = iter(rows)
        return [
            [line] if line.startswith("#" if mark is True else mark) else next(left)
            for line in text.splitlines()
        ]
    return rows


def _listed(row: dict[str, Any]) -> list[str]:
    return [*(row[name] for name in row if name != "__parsed_extra"), *row.get("__parsed_extra", [])]


def width_of(case: dict[str, Any]) -> int:
    return next((len(row) for row in rows_of(case) if row != [""]), 1)


@pytest.fixture(scope="module")
def keep(tmp_path_factory: pytest.TempPathFactory) -> Any:
    with quick():
        yield keeper(tmp_path_factory.mktemp("papaparse"))


def kept_of(case: dict[str, Any], keep: Keep) -> list[Kept]:
    found = keep(case["input"], min(width_of(case), 9), separator_of(case))
    return [each for each in found if len(each.fields) > 1 or any(each.fields)]


def differs(case: dict[str, Any], kept: Sequence[Kept]) -> bool:
    """Say whether the loader keeps other records, or with other reasons or lines, than the suite expects."""
    wanted = OTHERWISE.get(case["description"]) or expected(rows_of(case), width_of(case))
    left_out = case["config"].get("skipEmptyLines")
    if left_out == "greedy":
        kept = [each for each in kept if any(each.fields)]
    if left_out:  # the suite does not tell on which lines the others stand
        return [each[1:] for each in kept] != [each[1:] for each in wanted]
    return list(kept) != wanted


def test_the_suite_is_whole() -> None:
    assert json.loads((SUITE / "package.json").read_text())["version"] == "5.7.1"
    assert (len(ALL), len(COMPARED), len(BROKEN_QUOTES)) == (161, 131, 5)
    assert not set(OTHERWISE) - {case["description"] for case in ALL}


@pytest.mark.parametrize("case", ALL, ids=named)
def test_nothing_gets_lost(case: dict[str, Any], keep: Keep) -> None:
    assert not lost(case["input"], kept_of(case, keep))


@pytest.mark.parametrize("case", WHOLE, ids=named)
def test_rows(case: dict[str, Any], keep: Keep) -> None:
    kept = kept_of(case, keep)
    assert not differs(case, kept), f"{case['description']}: {case['input']!r} read as {kept}"


@pytest.mark.parametrize("case", BROKEN_QUOTES, ids=named)
def test_a_row_of_broken_quotes_is_set_aside(case: dict[str, Any], keep: Keep) -> None:
    """The suite says which row; the loader sets it aside for its quotes, and it takes no other with it."""
    kept = kept_of(case, keep)
    row = case["expected"]["errors"][0]["row"]
    begins = 1 + sum(1 + "".join(map(str, each)).count("\n") for each in rows_of(case)[:row])
    assert [each.reason in QUOTE_REASONS for each in kept if each.line == begins] == [True]
    assert [each.line for each in kept] == list(range(1, case["input"].count("\n") + 2))
    assert not lost(case["input"], kept)


@pytest.mark.parametrize("case", [each for each in ALL if named(each) in SEPARATORS], ids=named)
def test_the_separator_is_told(case: dict[str, Any]) -> None:
    wanted = SEPARATORS[named(case)]
    if wanted in dialect.SEPARATORS:
        assert dialect.decide(case["input"]).separator == wanted


def naive(text: str, width: int, separator: str) -> list[Kept]:
    """Split at every separator and line end, as if there were no quotes."""
    rows = [tuple(each.strip() for each in line.split(separator)) for line in text.splitlines()]
    return [
        Kept(line, None if len(fields) == width else "too_few_fields", fields)
        for line, fields in enumerate(rows, 1)
        if any(fields)
    ]


def lossy(text: str, width: int, separator: str) -> list[Kept]:
    """Read the quotes, and pass over the last record that holds a letter or digit."""
    rows = csv.reader(text.splitlines(keepends=True), delimiter=separator)
    return expected([row for row in rows if any(map(str.isalnum, "".join(row)))][:-1], width)


def test_a_reader_that_knows_no_quotes_is_caught() -> None:
    """But where the quotes stand in the middle or at the end of a field, and so are none."""
    quoted = [case for case in WHOLE if '"' in case["input"] and case["description"] not in OTHERWISE]
    passed = [case["description"] for case in quoted if not differs(case, kept_of(case, naive))]
    assert len(quoted) == 48
    assert all("Misplaced quotes" in each or "quotes at end of field" in each for each in passed), passed


def test_a_reader_that_drops_the_last_record_is_caught() -> None:
    filled = [case for case in ALL if any(map(str.isalnum, case["input"]))]
    passed = [case["description"] for case in filled if not lost(case["input"], kept_of(case, lossy))]
    assert len(filled) == 155
    assert not passed
