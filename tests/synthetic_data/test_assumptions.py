"""The assumptions: checked when read, shown in docs/, and each of them used."""

from pathlib import Path

import pytest

from synthetic_data.assumptions import STANDINGS, BadAssumption, Group, as_table, load, read

ROOT = Path(__file__).parents[2]
SOUND = '[a.b]\nvalue = 0.5\nunit = "share of calls"\nstanding = "invented"\nwhy = "because"\n'


def test_every_assumption_has_a_standing_and_a_reason():
    entries = [entry for group in load().values() for entry in group.entries.values()]
    assert len(entries) > 200
    assert {entry["standing"] for entry in entries} == set(STANDINGS)


def test_a_sound_file_is_read(tmp_path: Path):
    (tmp_path / "some.toml").write_text(SOUND)
    group = read(tmp_path / "some.toml")
    assert group["a.b"] == 0.5
    assert group.under("a") == {"b": 0.5}


@pytest.mark.parametrize(
    ("found", "instead", "said"),
    [
        ('why = "because"\n', "", "exactly value, unit, standing and why"),
        ('why = "because"', 'why = " "', "why must be a sentence"),
        ('"invented"', '"certain"', "legal are common practice, from memory, invented"),
        ("0.5", "1.5", "a share lies between 0 and 1"),
        ('unit = "share of calls"', 'unit = "share of calls"\nsource = "x"', "found source, standing"),
        ("value = 0.5", "value =", "not readable as TOML"),
    ],
)
def test_an_unsound_file_is_refused_by_name_and_key(tmp_path: Path, found: str, instead: str, said: str):
    (tmp_path / "some.toml").write_text(SOUND.replace(found, instead))
    with pytest.raises(BadAssumption, match=r"some\.toml") as problem:
        read(tmp_path / "some.toml")
    assert said in str(problem.value)


def test_the_page_in_docs_is_the_one_written_from_the_files():
    assert (ROOT / "docs" / "demo_assumptions.md").read_text(encoding="utf-8") == as_table()


def test_the_page_shows_a_change_of_any_value():
    groups = load()
    entries = groups["filters"].entries | {
        "advised_interval": groups["filters"].entries["advised_interval"] | {"value": 90}
    }
    assert as_table(groups | {"filters": Group("filters", entries)}) != as_table()


def test_every_assumption_is_used():
    code = "\n".join(file.read_text(encoding="utf-8") for file in (ROOT / "synthetic_data").glob("*.py"))
    named = {key.split(".")[0] for group in load().values() for key in group.entries}
    unused = [
        key for key in named if f'"{key}"' not in code and f'"{key}.' not in code and f'f"{key}.' not in code
    ]
    pressures = {"town_pressure", "well_pressure", "osmosis_pressure"}  # put together from the kind of supply
    assert set(unused) <= pressures


@pytest.mark.parametrize(
    ("group", "key"),
    [
        ("households", "shutoff_share"),
        ("households", "location_share"),
        ("households", "family_share"),
        ("households", "ice_maker_share"),
        ("households", "filter_kind_share"),
        ("symptoms", "of_empty"),
        ("symptoms", "of_very_small"),
        ("symptoms", "of_small"),
        ("symptoms", "of_over"),
        ("symptoms", "of_screen"),
        ("callers", "tried"),
        ("callers", "off_how"),
        ("wear", "leak_where"),
    ],
)
def test_shares_of_a_whole_add_up_to_one(group: str, key: str):
    assert sum(load()[group][key].values()) == pytest.approx(1)


def test_shares_of_depots_and_of_what_a_fault_shows_add_up_to_one():
    assert sum(depot["share"] for depot in load()["households"].under("depot").values()) == pytest.approx(1)
    for code, shares in load()["symptoms"].under("shows").items():
        assert sum(shares.values()) == pytest.approx(1), code
    for code, repair in load()["parts"].under("repair").items():
        assert sum(repair["fits"].values()) == pytest.approx(1), code
