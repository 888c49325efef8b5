"""From a text to what it means: the steps, their order, and what must not be recognised."""

import duckdb
import polars as pl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from analytics import queries
from analytics.catalogue import load_catalogue
from analytics.intake.normalising import CHUNK, code_texts


@pytest.fixture(scope="module")
def catalogue():
    return load_catalogue()


def read(catalogue, field, text, **options):
    return code_texts(catalogue, field, [text], **options).row(0, named=True)


def test_columns_are_those_of_the_table(catalogue):
    connection = duckdb.connect()
    queries.run(connection, "schema/texts")
    frame = code_texts(catalogue, "complaint", ["no ice", "tube is frozen", "8 months"])
    connection.execute("insert into texts.codings select * from frame")
    back = connection.sql("select * from texts.codings").pl()
    assert back.columns == frame.columns
    assert back.rows() == frame.rows()


def test_no_texts(catalogue):
    assert code_texts(catalogue, "complaint", []).shape == (0, 11)


def test_one_row_per_distinct_text_in_the_order_given(catalogue):
    frame = code_texts(catalogue, "complaint", ["zzz", "no ice", "zzz", "No Ice", "no_ice"])
    assert frame["text"].to_list() == ["zzz", "no ice", "No Ice", "no_ice"]
    assert frame["how"].to_list() == ["not recognised", "phrase", "phrase", "code"]


def test_unknown_field(catalogue):
    with pytest.raises(KeyError):
        code_texts(catalogue, "colour", ["red"])


def test_every_code_stands_for_itself_in_every_field(catalogue):
    for field in catalogue.fields:
        codes = list(catalogue.coded(field))
        frame = code_texts(catalogue, field, codes)
        assert frame["codes"].to_list() == [[code] for code in codes]
        assert set(frame["how"]) == {"code"}


def test_every_phrase_of_the_catalogue_stands_for_its_code(catalogue):
    for field, declared in catalogue.fields.items():
        if declared.reads:  # there a quantity in a phrase comes first
            continue
        rows = [(p, c) for c in catalogue.coded(field) for p in catalogue.phrases(field, c)]
        frame = code_texts(catalogue, field, [phrase for phrase, _ in rows])
        meant = dict(zip(frame["text"], frame["codes"].to_list(), strict=True))
        assert [(p, c) for p, c in rows if meant[p] != [c]] == []


@pytest.mark.parametrize(
    "text", ["NO ICE!", "  no   ice ", "No-ice", "nó íce", "customer states: no ice", "the ice? no ice"]
)
def test_case_accents_marks_spaces_and_fillers_do_not_matter(catalogue, text):
    assert read(catalogue, "complaint", text)["codes"] == ["no_ice"]


@pytest.mark.parametrize(
    ("text", "codes"),
    [
        ("making ice fine, no water", ["water_none"]),
        ("ice ok no water", ["water_none"]),
        ("no ice but water works", ["no_ice"]),
        ("not making ice, no leaks", ["no_ice"]),
        ("ice is good, water just trickles", ["water_slow"]),
        ("no water or ice", ["no_ice", "water_none"]),
        ("leaking on the floor and not making ice", ["leak_floor", "no_ice"]),
        ("bin is full but no ice comes out of the door", ["ice_not_dispensed"]),
        ("ice cream soft and no ice", ["freezer_warm", "no_ice"]),
        ("hasn't made ice in two weeks", ["no_ice"]),
        ("won't stop making ice", ["never_stops"]),
        ("tray is full of ice and it won't drop", ["stuck_cubes"]),
        ("crushed comes out when set to cubes", ["wrong_crush"]),
        ("IM inop", ["no_ice"]),
        ("WD slow", ["water_slow"]),
    ],
)
def test_complaints(catalogue, text, codes):
    assert sorted(read(catalogue, "complaint", text)["codes"]) == codes


@pytest.mark.parametrize(
    "text", ["ice maker nto makin any ice", "smal cubs", "watr dispenser not workin", "icemakr ded"]
)
def test_misspelt_complaints_are_fuzzy(catalogue, text):
    row = read(catalogue, "complaint", text)
    assert row["codes"]
    assert row["how"] == "fuzzy"
    assert 0 < row["score"] <= 100


@pytest.mark.parametrize(
    "text",
    [
        "dishwasher leaking on the floor",
        "oven will not heat",
        "please call before you come",
        "question about the invoice",
        "call back after 5",
        "mon or thurs only",
        "door handle loose",
        "xkcd qwerty",
        "12345",
        "....",
        "水漏れ",
        "x" * 100_000,
    ],
)
def test_strangers_are_not_recognised(catalogue, text):
    row = read(catalogue, "complaint", text)
    assert (row["codes"], row["how"], row["same_again"]) == ([], "not recognised", False)


@pytest.mark.parametrize(
    "text", ["same thing again", "you were just here", "c/b", "C.B.", "recall", "still not working"]
)
def test_same_again_carries_no_symptom_of_its_own(catalogue, text):
    row = read(catalogue, "complaint", text)
    assert (row["codes"], row["same_again"]) == ([], True)
    assert row["how"] != "not recognised"


def test_same_again_beside_a_symptom(catalogue):
    row = read(catalogue, "complaint", "recall, still no ice")
    assert (row["codes"], row["same_again"]) == (["no_ice"], True)


@pytest.mark.parametrize(
    ("text", "field", "code"),
    [
        ("tube is frozen", "fill_tube_ice", "yes"),
        ("no ice since it was installed", "what_changed", "new_install"),
        ("stopped making ice when I changed the filter", "what_changed", "new_filter"),
        ("no ice since power outage", "what_changed", "power_cut"),
        ("no ice", None, None),
    ],
)
def test_answers_that_a_complaint_gives_away(catalogue, text, field, code):
    row = read(catalogue, "complaint", text)
    assert row["codes"] == ["no_ice"]
    assert (row["implied_field"], row["implied_code"]) == (field, code)


@pytest.mark.parametrize(
    ("text", "codes"),
    [
        ("WV seeping, fill tube froze", ["inlet_valve_seeping"]),  # the deeper of the two
        ("saddle valve restricted, valve seeping", ["saddle_valve_clogged"]),
        ("coil OL", ["inlet_valve_open_coil"]),
        ("valve coil ok, filter plugged", ["filter_restricted"]),
        ("NFF", ["no_fault_found"]),
        ("auger motor bad and drain frozen", []),  # two causes, neither behind the other
        ("see notes", []),
        ("replaced inlet valve", []),  # the part does not say which of its faults
    ],
)
def test_causes(catalogue, text, codes):
    assert read(catalogue, "root_cause", text)["codes"] == codes


@pytest.mark.parametrize(
    ("field", "text", "codes"),
    [
        ("outcome", "replaced valve, all working", ["repaired"]),
        ("outcome", "N/A", []),
        ("outcome", "NA", []),
        ("visit_result", "NA", []),
        ("filter_kind", "N/A", []),
        ("visit_result", "cust not home, left card", ["no_access"]),
        ("part", "valve and filter", ["inlet_valve", "water_filter"]),
        ("check", "ohmed inlet valve", ["valve_coil_ohms"]),
        ("payer", "C.O.D.", ["customer"]),
        ("follow_up_answer", "not working", ["no"]),
        ("follow_up_answer", "works but slow", ["partly"]),
        ("switch_on", "it was off", ["off"]),
        ("supply_type", "we are on a well", ["well"]),
        ("supply_type", "not city water", []),
        ("shutoff_valve", "idk", ["dont_know"]),
        ("mould_state", "???", ["dont_know"]),
        ("callback_flag", "Y", ["yes"]),
        ("callback_flag", "0", ["no"]),
        ("already_tried", "changed the filter and unplugged it", ["filter_changed", "reset"]),
    ],
)
def test_other_fields(catalogue, field, text, codes):
    assert sorted(read(catalogue, field, text)["codes"]) == codes


def test_negation_is_never_bridged_by_likeness(catalogue):
    for text in ("not wrking", "isnt fixxed", "not fixd yet"):
        assert "works" not in read(catalogue, "follow_up_answer", text)["codes"]


def test_chunks_read_alike(catalogue, monkeypatch):
    texts = [
        f"{start} {rest}"
        for start in ("no ice", "smal cubs", "watr slow", "leek")
        for rest in map(str, range(40))
    ]
    whole = code_texts(catalogue, "complaint", texts)
    monkeypatch.setattr("analytics.intake.normalising.CHUNK", 7)
    parts = code_texts(catalogue, "complaint", texts)
    assert len(texts) < CHUNK
    assert parts.equals(whole)
    assert parts.schema["codes"] == pl.List(pl.String)


@settings(max_examples=25, deadline=None)
@given(st.lists(st.text(st.characters(exclude_categories=["Cs"]), max_size=60), max_size=12))
def test_any_text_gets_one_row_and_legal_codes(catalogue, texts):
    for field in ("complaint", "filter_last_changed", "freezer_temperature", "outcome"):
        frame = code_texts(catalogue, field, texts)
        assert frame["text"].to_list() == list(dict.fromkeys(texts))
        assert set(frame["codes"].explode().drop_nulls()) <= catalogue.coded(field).keys()
        assert set(frame["how"]) <= {"code", "phrase", "rule", "fuzzy", "not recognised"}
