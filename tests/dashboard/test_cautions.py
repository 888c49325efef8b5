from pathlib import Path

import polars as pl
import pytest

from dashboard.components.cautions import ALWAYS, CAUTIONS, caution_classes, caution_list
from tests.dashboard.reading import text

SAFETY = Path(__file__).parents[2] / "docs" / "safety.md"


def test_guide_to_safety_has_the_words_of_the_pages() -> None:
    guide = " ".join(SAFETY.read_text(encoding="utf-8").split())
    for words in (*CAUTIONS.values(), *ALWAYS):
        assert words in guide


def test_unknown_class_counts_as_the_strictest() -> None:
    assert caution_classes(["b", None, "z"]) == ["b", "c"]


@pytest.mark.parametrize(
    "frame", [pl.DataFrame({"check": ["line_look"]}), pl.DataFrame({"check": ["x"], "caution": ["c"]})]
)
def test_live_voltage_is_said_where_the_class_is_c_or_not_known(frame: pl.DataFrame) -> None:
    assert "only a qualified technician" in text(caution_list(frame))


def test_no_check_no_caution() -> None:
    assert caution_list(pl.DataFrame({"check": []})) is None
