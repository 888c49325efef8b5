"""A proposal says what is certain, what is likely and why, and what only a person can say."""

from pathlib import Path

import pytest

from analytics.errors import BadFile, BadQuestion
from analytics.intake.mapping import Mapping
from analytics.intake.propose import Proposal, propose
from tests.analytics.intake.conftest import Load, Rows, load_catalogue_once

GERMAN = """Auftragsnr;Gerät;Eingang;Erledigt am;Beschwerd;Befund;Ergebnis;Wetter
1001;U7;01.03.2026 08:15;25.03.2026 11:00;no ice;filter clogged;erl.;sunny
1002;U8;25.03.2026 08:15;;water on floor;drain frozen;repaired;rain
"""


@pytest.fixture
def proposal(tmp_path: Path) -> Proposal:
    path = tmp_path / "march.csv"
    path.write_text(GERMAN, encoding="cp1252")
    return propose(path, catalogue=load_catalogue_once())


def by_header(proposal: Proposal) -> dict[str, tuple[str | None, bool]]:
    return {each.header: (each.column, each.certain) for each in proposal.columns}


def test_certain_likely_and_unused_columns(proposal: Proposal) -> None:
    assert proposal.table == "calls"
    assert by_header(proposal) == {
        "Auftragsnr": ("call_id", True),
        "Gerät": ("unit_id", True),
        "Eingang": ("opened_at", True),
        "Erledigt am": ("closed_at", True),
        "Beschwerd": ("complaint", False),
        "Befund": ("root_cause", True),
        "Ergebnis": ("outcome", True),
        "Wetter": (None, False),
    }
    assert not proposal.certain


def test_every_column_has_a_reason(proposal: Proposal) -> None:
    reasons = {each.header: each.because for each in proposal.columns}
    assert reasons["Auftragsnr"] == "its header says so"
    assert (
        reasons["Beschwerd"]
        == "its header is close to 'beschwerde', and 100% of its words are known as complaint"
    )


def test_decided_dates_and_unknown_words_are_in_it(proposal: Proposal) -> None:
    assert proposal.orders == {"opened_at": "day first", "closed_at": "day first"}
    assert proposal.unknown_words["outcome"] == ("erl.",)
    assert '# "erl." = ""' in proposal.to_toml()


def test_it_is_a_mapping_that_holds_what_is_certain(proposal: Proposal) -> None:
    mapping = Mapping.from_toml(proposal.to_toml())
    assert mapping == proposal.to_mapping()
    assert "complaint" not in mapping.tables["calls"].columns


def test_once_confirmed_it_loads_the_file(proposal: Proposal, load: Load, rows: Rows) -> None:
    confirmed = (
        proposal.to_toml()
        .replace("# complaint =", "complaint =")
        .replace('# "erl." = ""', '"erl." = "repaired"')
    )
    confirmed = confirmed.replace("# [words.outcome]", "[words.outcome]")
    report = load(GERMAN.encode("cp1252"), mapping=confirmed)
    assert (report.loaded, report.set_aside) == (2, 0)
    assert rows("select codes, how from texts.codings where text = 'erl.'") == [(["repaired"], "settled")]


def test_an_ambiguous_column_is_a_question(tmp_path: Path) -> None:
    path = tmp_path / "calls.csv"
    path.write_text("call_id,unit_id,opened_at,complaint\n1,U,01/02/2026,no ice\n")
    found = propose(path, catalogue=load_catalogue_once())
    assert not found.certain
    assert 'opened_at = "day first"' in found.questions[0]
    assert Mapping.from_toml(found.to_toml()) == found.to_mapping()


def test_canonical_headers_are_certain(tmp_path: Path) -> None:
    path = tmp_path / "x.csv"
    path.write_text("visit_id,call_id,arrived_at,result\nV,C,2026-03-01,done\n")
    found = propose(path, catalogue=load_catalogue_once())
    assert (found.table, found.certain) == ("visits", True)


def test_values_alone_can_suggest(tmp_path: Path) -> None:
    path = tmp_path / "x.csv"
    path.write_text("Ref,What,When,Technician\n1,no ice,2026-03-01,T\n2,lkg,2026-03-02,T\n")
    found = propose(path, catalogue=load_catalogue_once())
    assert found.table == "calls"
    assert by_header(found) == {
        "Ref": ("call_id", False),
        "What": ("complaint", False),
        "When": ("opened_at", False),
        "Technician": ("technician_id", True),
    }
    assert '# unit_id = "?"' in found.to_toml()


def test_malformed_rows_do_not_stop_it(tmp_path: Path) -> None:
    path = tmp_path / "x.csv"
    path.write_text('call_id,unit_id,opened_at,complaint\n1,U\n2,U,2026-03-01,"open\n3,U,2026-03-01,no ice\n')
    assert propose(path, catalogue=load_catalogue_once()).certain


def test_what_can_not_be_proposed(tmp_path: Path) -> None:
    (tmp_path / "x.csv").write_text("")
    with pytest.raises(BadFile, match="is empty"):
        propose(tmp_path / "x.csv")
    (tmp_path / "x.csv").write_text("a,b\n1,2\n")
    with pytest.raises(BadQuestion, match="is no table"):
        propose(tmp_path / "x.csv", table="call")
