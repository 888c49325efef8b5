"""What only a person can say: units of measure, the comma; what a missing column switches off; the sample."""

from collections.abc import Mapping
from pathlib import Path
from typing import Any

import pytest

from analytics.intake import sampling, sheets
from analytics.intake.contract import tables
from analytics.intake.looking import look, suggest
from analytics.intake.mapping import Mapping as FileMapping
from analytics.intake.switched_off import switched_off

CHECKS = "visit_id;check;reading;minutes\n" + "".join(
    f"V{n};supply pressure;{30 + n};{price}\n" for n, price in enumerate(["1,250", "2,500", "1,125"] * 5)
)


def asked(tmp_path: Path, text: str) -> dict[str, Any]:
    path, sample = tmp_path / "received", tmp_path / "sample.csv"
    path.write_text(text, encoding="utf-8")
    return suggest(sample, look(path, "checks.csv", sample)["sign"])


def test_numbers_without_a_unit_are_asked_about(tmp_path: Path) -> None:
    found = asked(tmp_path, CHECKS)
    assert found["table"] == "checks"
    assert {"psi", "kPa"} <= set(found["units"]["reading"])
    assert "psi" not in found["units"]["minutes"], "minutes are a time"
    assert asked(tmp_path, CHECKS.replace("reading", "reading (psi)"))["units"].get("reading") is None
    assert (
        asked(tmp_path, CHECKS.replace("supply pressure;3", "supply pressure;3 psi "))["units"].get("reading")
        is None
    )


def test_a_comma_that_can_be_two_things_is_asked_about(tmp_path: Path) -> None:
    found = asked(tmp_path, CHECKS)["decimals"]["minutes"]
    assert found == {"example": "1,250", "comma": "1.250", "point": "1250"}
    assert asked(tmp_path, CHECKS.replace("1,125", "1,5"))["decimals"] == {}, "1,5 settles it"


def strangers(said: Mapping[str, Mapping[str, str]]) -> list[str]:
    """What is said about columns that are not there, or that a table can not do without."""
    return [
        f"{table}.{column}"
        for table, columns in said.items()
        for column in columns
        if table not in tables()
        or column not in tables()[table].columns
        or tables()[table].columns[column].required
    ]


def test_what_is_switched_off_is_said_of_columns_that_can_be_missing() -> None:
    assert strangers(switched_off()) == []


@pytest.mark.parametrize(
    "wrong", [{"calls": {"call_id": "x"}}, {"calls": {"colour": "x"}}, {"cars": {"depot": "x"}}]
)
def test_a_column_that_is_not_there_is_caught(wrong: dict[str, dict[str, str]]) -> None:
    assert strangers(wrong) != []


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "cp1252", "utf-16"])
def test_a_sample_holds_whole_lines_from_all_over_the_file(
    tmp_path: Path, encoding: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(sampling, "HEAD_BYTES", 2_000)
    monkeypatch.setattr(sampling, "STRETCH_BYTES", 500)
    lines = [
        "call_id;unit_id;opened_at;complaint",
        *(f"A{n};G{n};2026-01-01;kühl – nö" for n in range(3_000)),
    ]
    path = tmp_path / "received"
    path.write_bytes(("\n".join(lines) + "\n").encode(encoding))
    whole = sampling.write_sample(sheets.look_at(path, FileMapping()), tmp_path / "sample.csv")
    found = (tmp_path / "sample.csv").read_text(encoding="utf-8").splitlines()
    assert not whole
    assert found[0].lstrip("\ufeff") == lines[0]
    assert set(found[1:]) <= set(lines)
    if encoding != "utf-16":  # of that the head alone
        assert any(line in found for line in lines[-30:])
        assert len(found) > 100
