"""Same seed, same bytes; another seed, another fleet."""

from datetime import date
from pathlib import Path

import pytest

from synthetic_data import generate
from synthetic_data.dialects import dialects
from synthetic_data.streams import stream
from tests.synthetic_data.tables import read


def _bytes(folder: Path) -> dict[str, bytes]:
    return {str(file.relative_to(folder)): file.read_bytes() for file in folder.rglob("*") if file.is_file()}


def test_same_seed_gives_byte_identical_files(tmp_path: Path):
    first = _bytes(generate(tmp_path / "first", calls=400, seed=5, dialects=list(dialects())))
    second = _bytes(generate(tmp_path / "second", calls=400, seed=5, dialects=list(dialects())))
    assert len(first) > 30
    assert first == second


def test_writing_dialects_does_not_change_the_canonical_files(tmp_path: Path):
    plain = _bytes(generate(tmp_path / "plain", calls=200, seed=5))
    more = _bytes(generate(tmp_path / "more", calls=200, seed=5, dialects=["five_columns_dates_only"]))
    assert plain.items() <= more.items()


def test_another_seed_gives_another_fleet(tmp_path: Path):
    first = _bytes(generate(tmp_path / "first", calls=200, seed=5))
    second = _bytes(generate(tmp_path / "second", calls=200, seed=6))
    assert first.keys() == second.keys()
    assert all(first[name] != second[name] for name in first)


def test_the_last_day_can_be_moved(tmp_path: Path):
    folder = generate(tmp_path, calls=300, seed=5, until=date(2019, 3, 31))
    opened = [text[:10] for text in read(folder, "calls")["opened_at"]]
    assert min(opened) >= "2014-03-31"
    assert "2019-02" < max(opened) <= "2019-03-31"


def test_streams_of_different_purposes_differ():
    assert stream(1, "water").random() != stream(1, "callers").random()
    assert stream(1, "water").random() == stream(1, "water").random()


@pytest.mark.parametrize(
    ("options", "said"),
    [
        ({"calls": 0}, "at least 1"),
        ({"seed": -1}, "0 or more"),
        ({"dialects": ["klingon"]}, "semicolon_german_style"),
    ],
)
def test_nonsense_is_refused_with_what_is_legal(tmp_path: Path, options: dict, said: str):
    with pytest.raises(ValueError, match=said):
        generate(tmp_path, **options)
    assert not list(tmp_path.iterdir())
