"""The page about mappings names every reason for which a row can be set aside, and no other."""

import re
import tomllib
from pathlib import Path

from analytics.intake.mapping import Mapping

ROOT = Path(__file__).parents[2]


def page() -> str:
    return (ROOT / "docs" / "mapping.md").read_text(encoding="utf-8")


def reasons() -> set[str]:
    text = (ROOT / "analytics" / "intake" / "reasons.toml").read_text(encoding="utf-8")
    return set(tomllib.loads(text))


def told(text: str) -> set[str]:
    return set(re.findall(r"^\| `([a-z_]+)` \|", text, flags=re.MULTILINE))


def test_every_reason_stands_in_both() -> None:
    assert told(page()) == reasons()


def test_a_reason_that_is_gone_is_caught() -> None:
    assert told(page().replace("| `too_old` |", "| `too_new` |")) != reasons()


def test_the_mapping_shown_is_one() -> None:
    (shown,) = re.findall(r"```toml\n(.+?)```", page(), flags=re.DOTALL)
    mapping = Mapping.from_toml(shown)
    assert mapping.sender == "north office"
    assert mapping.tables["calls"].dates == {"opened_at": "day first"}
    assert mapping.words["outcome"]["erledigt"] == ("repaired",)
