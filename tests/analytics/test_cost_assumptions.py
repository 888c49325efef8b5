"""Assumptions of costs: described, replaceable, and refused in words where they can not be used."""

import re
from pathlib import Path

import pytest

from analytics.commands.costs import option
from analytics.cost_assumptions import CostAssumptions, described, from_file
from analytics.errors import BadQuestion

ROOT = Path(__file__).parents[2]


def test_each_says_what_it_is_and_where_it_comes_from() -> None:
    for each in described().values():
        assert each.least <= each.value <= each.most
        assert each.unit
        assert each.why
        assert each.standing in ("invented", "common practice, no source", "from memory")


def told(page: str) -> dict[str, tuple[str, str, str]]:
    rows = re.findall(r"^\| `(\w+)` \| ([^|]+) \| ([^|]+) \| ([^|]+) \|$", page, flags=re.MULTILINE)
    return {key: (value, unit, standing) for key, value, unit, standing in rows if key in described()}


def test_docs_have_them_as_they_are() -> None:
    page = (ROOT / "docs" / "metrics.md").read_text(encoding="utf-8")
    assert told(page) == {
        key: (f"{each.value:g}", each.unit, each.standing) for key, each in described().items()
    }
    assert told(page.replace("| `hour_price` | 60", "| `hour_price` | 61")) != told(page)


def test_prices_follow() -> None:
    usual = CostAssumptions.usual()
    assert usual.visit_price == pytest.approx(30 + 10)
    assert usual.call_price == pytest.approx(10)


def test_file_replaces_what_it_names(tmp_path: Path) -> None:
    file = tmp_path / "own.toml"
    file.write_text("travel_km = 0\n[hour_price]\nvalue = 75\nwhy = 'as agreed'\n")
    own = from_file(file)
    assert (own.hour_price, own.travel_km, own.km_price) == (75, 0, 0.5)
    assert own.changed() == {"hour_price": 75, "travel_km": 0}


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("hour_price = -1", "from 0 to 10000"),
        ("hour_price = 'much'", "'much'"),
        ("hour_price = nan", "from 0 to 10000"),
        ("hour_price = true", "from 0 to 10000"),
        ("hours_price = 60", "no assumption 'hours_price'. Choose from hour_price"),
        ("[hour_price]\nunit = 'x'", "has no value"),
        ("hour_price =", "can not be read"),
    ],
)
def test_what_can_not_be_used_is_said_with_file_and_key(tmp_path: Path, text: str, said: str) -> None:
    file = tmp_path / "own.toml"
    file.write_text(text)
    with pytest.raises(BadQuestion, match=re.escape(said)) as raised:
        from_file(file)
    assert "own.toml" in str(raised.value)


def test_missing_file_is_said(tmp_path: Path) -> None:
    with pytest.raises(BadQuestion, match="can not be read"):
        from_file(tmp_path / "none.toml")


def test_options_are_named_after_them() -> None:
    assert [option(key) for key in ("hour_price", "km_price")] == ["--hour-price", "--km-price"]
