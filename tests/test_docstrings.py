"""The examples in docstrings run, and give what they say."""

import doctest
from importlib import import_module
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]


def modules_with_examples() -> list[str]:
    paths = (
        path
        for package in ("analytics", "dashboard", "synthetic_data")
        for path in (ROOT / package).rglob("*.py")
    )
    with_examples = sorted(path for path in paths if ">>> " in path.read_text(encoding="utf-8"))
    return [".".join(path.relative_to(ROOT).with_suffix("").parts) for path in with_examples]


@pytest.mark.parametrize("name", modules_with_examples())
def test_examples(name: str) -> None:
    result = doctest.testmod(import_module(name), optionflags=doctest.NORMALIZE_WHITESPACE | doctest.ELLIPSIS)
    assert result.attempted > 0
    assert result.failed == 0
