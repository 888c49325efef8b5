"""The top level holds what the guide for contributors shows, and modules stay small."""

import re
import subprocess
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
TOP = {
    "README.md", "DEVELOPERS.md", "LICENSE", "pyproject.toml",
    "analytics", "dashboard", "docs", "sql", "synthetic_data", "tests",
}  # fmt: skip
LONGEST_MODULE = 300
LONGEST_TEST = 400
"""Tests may be longer: tables of cases, and stand-ins for whole interfaces."""

PERSONAL_PATH = re.compile(r"(?<![\w.])/(?:home|root|Users)/\w+")


def tracked() -> list[Path]:
    listed = subprocess.run(["git", "ls-files", "-z"], cwd=ROOT, capture_output=True, text=True, check=True)
    return [Path(name) for name in listed.stdout.split("\0") if name and (ROOT / name).exists()]


def test_top_level_holds_what_the_guide_shows() -> None:
    top = {path.parts[0] for path in tracked()}
    assert {name for name in top if not name.startswith(".")} == TOP
    guide = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    assert [name for name in TOP if name not in guide] == []


@pytest.mark.parametrize("path", [path for path in tracked() if path.suffix == ".py"], ids=str)
def test_module_is_small(path: Path) -> None:
    longest = LONGEST_TEST if path.parts[0] == "tests" else LONGEST_MODULE
    assert len((ROOT / path).read_text(encoding="utf-8").splitlines()) <= longest


def test_no_data_or_build_output_is_tracked() -> None:
    assert [path for path in tracked() if path.suffix in {".duckdb", ".pyc", ".sqlite", ".wal"}] == []


@pytest.mark.parametrize(
    "path", [path for path in tracked() if path.suffix in {".py", ".md", ".toml"}], ids=str
)
def test_no_path_of_one_machine(path: Path) -> None:
    assert PERSONAL_PATH.findall((ROOT / path).read_text(encoding="utf-8")) == []
