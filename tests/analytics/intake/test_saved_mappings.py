"""Mappings that are kept: known again by exactly their header, in versions."""

from datetime import date
from pathlib import Path

import pytest

from analytics.intake import saved_mappings
from analytics.intake.mapping import Mapping, TableMapping
from analytics.intake.saved_mappings import SavedMappings

HEADER = ["Auftrag", "Gerät", "Datum", "Klage"]
MAPPING = Mapping(
    sender="north",
    extracted=date(2026, 3, 1),
    tables={"calls": TableMapping(columns={"call_id": "Auftrag", "opened_at": "Datum"}, ignored=("Gerät",))},
    words={"outcome": {"2 = closed": ("repaired",), "?": ()}},
)
OTHER_HEADERS = [
    HEADER[:-1],
    [*HEADER, "Ort"],
    ["Auftrag", "Gerät", "Datum", "klage"],
    ["Auftrag", "Gerät", "Datum", "Datum"],
    ["AuftragGerät", "", "Datum", "Klage"],
    [],
]


@pytest.fixture
def kept(tmp_path: Path) -> SavedMappings:
    mappings = SavedMappings(tmp_path)
    mappings.save(HEADER, "North", MAPPING)
    return mappings


@pytest.mark.parametrize("header", [HEADER, HEADER[::-1], [f" {each} " for each in HEADER]])
def test_the_same_columns_are_known_again(kept: SavedMappings, header: list[str]) -> None:
    found = kept.recognise(header)
    assert found is not None
    assert (found.name, found.version) == ("North", 1)
    assert found.mapping.tables["calls"] == MAPPING.tables["calls"]
    assert found.mapping.words == MAPPING.words
    assert found.mapping.extracted is None, "the next file was taken on another day"


def not_known(kept: SavedMappings, header: list[str]) -> None:
    assert kept.recognise(header) is None


@pytest.mark.parametrize("header", OTHER_HEADERS)
def test_other_columns_are_not_known(kept: SavedMappings, header: list[str]) -> None:
    not_known(kept, header)


@pytest.mark.parametrize("header", OTHER_HEADERS)
def test_a_header_taken_for_another_is_caught(
    kept: SavedMappings, header: list[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    place = saved_mappings.signature(HEADER)
    monkeypatch.setattr(saved_mappings, "signature", lambda _: place)
    not_known(kept, header)  # two headers of one signature: the columns themselves still tell them apart
    monkeypatch.setattr(saved_mappings, "_named", lambda header: sorted(HEADER))
    with pytest.raises(AssertionError):
        not_known(kept, header)


def test_a_change_makes_a_version_and_the_same_makes_none(kept: SavedMappings) -> None:
    assert kept.save(HEADER, "North", MAPPING).version == 1
    assert kept.save(HEADER, "North", Mapping(tables=MAPPING.tables)).version == 2
    found = kept.recognise(HEADER)
    assert found is not None
    assert (found.version, dict(found.mapping.words)) == (2, {})


def test_a_version_that_can_not_be_read_leaves_the_one_before(kept: SavedMappings) -> None:
    kept.save(HEADER, "Edited", MAPPING)
    (newest,) = kept.folder.glob("*/0002.toml")
    newest.write_text("[calls.columns]\nno_such_column = 'x'\n", encoding="utf-8")
    found = kept.recognise(HEADER)
    assert found is not None
    assert (found.name, found.version) == ("North", 1)
