"""The catalogue: what it must hold, and what it refuses, by the name of file and key."""

import dataclasses

import duckdb
import pytest

from analytics import queries
from analytics.catalogue import ICE_AND_WATER, load_catalogue
from analytics.errors import BadCatalogue

# The codes that the data contract fixes.
CONTRACT = {
    "outcome": "repaired adjusted explained fixed_by_phone no_fault_found temporary cancelled no_access "
    "referred_on estimate_declined part_on_order duplicate",
    "job_kind": "repair install filter_visit maintenance estimate inspection",
    "visit_result": "done no_access part_on_order inconclusive declined referred_on",
    "payer": "warranty contract customer goodwill unknown",
    "finding": "fault no_fault inconclusive",
    "check_state": "still flowing",
    "follow_up_answer": "works partly no not_reached",
    "filter_kind": "in_unit bypass_or_none in_line whole_house reverse_osmosis dont_know",
    "mould_state": "empty small_cubes hollow layered normal_full stuck slab_overfilled never_looked "
    "dont_know",
}
FIELDS = (
    "complaint root_cause outcome job_kind payer callback_flag visit_result check part check_state "
    "finding follow_up_answer ice_maker_kind supply_type shutoff_valve filter_kind where_it_stands "
    "filter_last_changed unit_age problem_duration mould_state dispenser_flow fill_tube_ice switch_on "
    "freezer_temperature what_changed already_tried"
)


@pytest.fixture(scope="module")
def catalogue():
    return load_catalogue()


@pytest.mark.parametrize("field", CONTRACT)
def test_codes_of_the_contract(catalogue, field):
    assert list(catalogue.coded(field)) == CONTRACT[field].split()


def test_every_coding_field_is_there(catalogue):
    assert sorted(catalogue.fields) == sorted(FIELDS.split())


def test_size_follows_the_trade(catalogue):
    assert len(catalogue.symptoms) == 27
    assert len(catalogue.causes) == 31
    assert len(catalogue.checks) == 28
    assert len(catalogue.parts) == 19
    assert {k.code for k in catalogue.causes.values() if k.flow_linked} == {
        "filter_restricted",
        "filter_fit_wrong",
        "water_quality",
    }
    assert [k.code for k in catalogue.causes.values() if not k.can_be_final] == ["no_fault_found"]
    assert [k.code for k in catalogue.causes.values() if k.consequence] == ["fill_tube_frozen"]
    assert {o.code for o in catalogue.outcomes.values() if not o.work_done} == {
        "cancelled",
        "no_access",
        "referred_on",
        "estimate_declined",
        "part_on_order",
        "duplicate",
    }


def test_every_cause_is_revealed_by_a_check_or_needs_none(catalogue):
    revealed = {cause for check in catalogue.checks.values() for cause in check.reveals}
    # Water quality is tasted, and no fault is what no check reveals.
    assert catalogue.causes.keys() - revealed == {"water_quality", "no_fault_found"}


def test_coil_limit_is_the_one_of_the_trade(catalogue):
    coil = catalogue.limits["valve_coil"]  # common practice, no source
    assert (coil.low, coil.high, coil.unit) == (200, 500, "ohm")


def test_records_can_not_be_changed(catalogue):
    with pytest.raises(dataclasses.FrozenInstanceError):
        catalogue.symptoms["no_ice"].label = "x"
    with pytest.raises(TypeError):
        catalogue.symptoms["other"] = catalogue.symptoms["no_ice"]


def test_frames_fit_the_tables_of_the_schema(catalogue):
    connection = duckdb.connect()
    queries.run(connection, "schema/catalogue")
    tables = {name for (name,) in connection.sql("select table_name from duckdb_tables()").fetchall()}
    frames = catalogue.frames()
    assert frames.keys() == tables
    for name, frame in frames.items():
        want = connection.sql(
            f"select column_name, data_type from duckdb_columns() where table_name = '{name}'"
        )
        have = connection.sql("describe select * from frame").fetchall()
        assert [(column, kind) for column, kind, *_ in have] == want.fetchall(), name
        assert frame.height > 0, name


def test_hash_follows_the_file(catalogue, tmp_path):
    copy = tmp_path / "copy.toml"
    copy.write_bytes(ICE_AND_WATER.read_bytes())
    assert load_catalogue(copy).hash == catalogue.hash
    copy.write_bytes(copy.read_bytes() + b"\n# a remark\n")
    assert load_catalogue(copy).hash != catalogue.hash


# What was written, what stands there instead, and what the message must name.
BROKEN = {
    "unknown key": (
        'family = "leak"',
        'family = "leak"\ncolour = "red"',
        "symptoms.leak_floor: unknown key 'colour'",
    ),
    "unknown family": ('family = "leak"', 'family = "leek"', "symptoms.leak_floor.family: 'leek'"),
    "missing key": ('whose = ["us"]\n', "", "causes.fill_set_wrong: the key 'whose' is missing"),
    "wrong type": ("\nminutes = 25", '\nminutes = "25"', "checks.thaw_fill_tube.minutes: found '25'"),
    "unknown cause revealed": (
        "{ switched_off = 0.9 }",
        "{ swiched_off = 0.9 }",
        "checks.switch_arm_bin.reveals",
    ),
    "no share": ("{ switched_off = 0.9 }", "{ switched_off = 9 }", "9.0 is no share"),
    "unknown cause answered": (
        'answers = ["filter_restricted"',
        'answers = ["filter_x"',
        "parts.water_filter.answers",
    ),
    "unknown caution": ('caution = "c"', 'caution = "d"', "checks.forced_harvest.caution: 'd'"),
    "unknown standing": ('standing = "FM"', 'standing = "XX"', "standing: 'XX'"),
    "unknown unit": ('unit = "drops"', 'unit = "drips"', "limits.seep.unit: 'drips'"),
    "low above high": ("low = 200", "low = 900", "limits.valve_coil"),
    "double bit": ("bit = 2 }", "bit = 1 }", "families.ice_making.bit"),
    "no power of two": ("bit = 64 }", "bit = 65 }", "65 is not a power of two"),
    "phrase under two codes": ('"tiny cubes",', '"tiny cubes", "no ice",', "complaint: the phrase"),
    "unknown class": ('"<stop> .. <ice>"', '"<halt> .. <ice>"', "the class <halt>"),
    "pattern that can not occur": (
        '"<stop> .. <ice>"',
        '"<stop> .. the <ice>"',
        "which no folded text holds",
    ),
    "unknown code of a rule": ('code = "little_ice"\nany', 'code = "litle_ice"\nany', "'litle_ice'"),
    "other format": ("format = 1", "format = 2", "format: found 2"),
    "not TOML": ("format = 1", "format = ", "not valid TOML"),
    "unknown table": ("[outcomes]", "[ends]", "unknown key 'ends'"),
}


@pytest.mark.parametrize("case", BROKEN)
def test_broken_catalogue_is_refused_by_name(tmp_path, case):
    written, instead, named = BROKEN[case]
    text = ICE_AND_WATER.read_text(encoding="utf-8")
    assert written in text
    file = tmp_path / "broken.toml"
    file.write_text(text.replace(written, instead, 1), encoding="utf-8")
    with pytest.raises(BadCatalogue) as refused:
        load_catalogue(file)
    assert str(file) in str(refused.value)
    assert named in str(refused.value)


def test_missing_file_is_named(tmp_path):
    with pytest.raises(BadCatalogue, match=r"nowhere\.toml"):
        load_catalogue(tmp_path / "nowhere.toml")
