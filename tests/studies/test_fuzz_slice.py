"""Any bytes as a file: it loads with its rows adding up, or is refused by name; what fails is caught."""

from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, Phase, given, settings

from analytics.errors import BadFile
from analytics.intake import encodings, sheets
from analytics.intake.loading import load_files
from tests.studies import fuzzing
from tests.studies.fuzzing import ANY_FILE, CORPUS, LOADED, Finding, outcome, quick, seeds

KEPT = sorted(CORPUS.glob("*.bin"))


@settings(
    max_examples=40,
    deadline=None,
    phases=[Phase.explicit, Phase.reuse, Phase.generate],
    suppress_health_check=list(HealthCheck),
)
@given(content=ANY_FILE)
def test_any_file(content: bytes, tmp_path: Path) -> None:
    with quick():
        outcome(content, tmp_path)


@pytest.mark.parametrize("name", seeds())
def test_files_to_begin_from_load(name: str, tmp_path: Path) -> None:
    with quick():
        assert outcome(seeds()[name], tmp_path) == LOADED


@pytest.mark.parametrize("path", KEPT, ids=lambda path: path.stem)
def test_what_was_found_stays_mended(path: Path, tmp_path: Path) -> None:
    """The name of a file begins with what becomes of it."""
    with quick():
        assert outcome(path.read_bytes(), tmp_path) == path.stem.partition("_")[0]


def test_the_corpus_is_there_and_small() -> None:
    assert KEPT
    assert sum(path.stat().st_size for path in KEPT) < 100_000


@pytest.mark.parametrize("text", ["call\nno", "Date\r\n(day,\nmonth)"])
def test_a_name_over_two_lines_is_no_unclosed_quote(text: str, tmp_path: Path) -> None:
    header = f'call_id,unit_id,opened_at,complaint,"{text}"\n'
    with quick():
        assert outcome((header + "Q0001Q,U1,2026-03-01,no ice,x\n").encode(), tmp_path) == LOADED


def believing(path: Path, scanned: Any, wanted: str | None = None) -> encodings.Encoding:
    """Believe a mark of UTF-8, whatever follows."""
    return (
        encodings.Encoding("utf-8-sig") if path.read_bytes()[:3] == b"\xef\xbb\xbf" else decide(path, scanned)
    )


decide = encodings.decide


def test_a_loader_that_believes_the_mark_is_caught(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(encodings, "decide", believing)
    with quick(), pytest.raises(Finding, match="UnicodeDecodeError"):
        outcome((CORPUS / "loaded_mark_of_utf8_and_stray_byte.bin").read_bytes(), tmp_path)


def test_a_loader_that_takes_rows_for_the_header_is_caught(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(sheets, "_swallows_rows", lambda *_: False)
    with quick(), pytest.raises(Finding, match="lost without a word"):
        outcome((CORPUS / "refused_quote_open_in_header.bin").read_bytes(), tmp_path)


def test_a_quote_of_the_header_that_a_row_closes_leaves_the_lines_in_doubt(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Otherwise every row between them is taken for a part of the header, and counted nowhere."""
    monkeypatch.setattr(sheets, "_swallows_rows", lambda *_: False)
    content = (CORPUS / "refused_quote_open_in_header.bin").read_bytes()
    with quick(), pytest.raises(Finding, match=r"lost without a word: \['Q0000Q'\].*\n.* 7 set aside"):
        outcome(content, tmp_path)


def test_a_loader_that_passes_over_a_row_is_caught(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Its sums agree, since it never saw the row; the number of the call is missed."""

    def without_the_last(store: Any, files: list[Path], **named: Any) -> Any:
        files[0].write_bytes(b"\n".join(files[0].read_bytes().split(b"\n")[:-2]) + b"\n")
        return load_files(store, files, **named)

    monkeypatch.setattr(fuzzing, "load_files", without_the_last)
    with quick(), pytest.raises(Finding, match=r"lost without a word: \['Q0007Q'\]"):
        outcome(seeds()["plain"], tmp_path)


def test_a_refusal_that_names_no_file_is_caught(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def nameless(*_: Any, **__: Any) -> Any:
        raise BadFile("It can not be read.")

    monkeypatch.setattr(fuzzing, "load_files", nameless)
    with pytest.raises(Finding, match="does not name the file"):
        outcome(b"", tmp_path)
