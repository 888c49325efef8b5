"""The New call page as the server sends it: the unit's last calls, the pack as plain data, or none yet."""

import json
from pathlib import Path
from typing import Any

import polars as pl
import pytest

from analytics.catalogue import load_catalogue
from analytics.catalogues.new_call import sayings
from analytics.errors import BadCatalogue
from dashboard.app import draw
from dashboard.components.new_call import known_answers
from tests.dashboard.fake_fleet import HOSTILE, FakeFleet
from tests.dashboard.fake_pack import fake_pack
from tests.dashboard.reading import nodes, plain, text


def shown(search: str = "", fleet: Any = None) -> Any:
    return plain(draw(fleet or FakeFleet(), "/new-call", search)[0])


def sent(page: Any) -> dict[str, Any]:
    return next(node["props"] for node in nodes(page) if node.get("type") == "NewCall")


def test_whole_pack_goes_along_unharmed() -> None:
    class Hostile(FakeFleet):
        def new_call_pack(self) -> dict[str, Any]:
            pack = fake_pack()
            pack["made_of"]["note"] = HOSTILE
            pack["causes"]["filter_restricted"]["signs"] = HOSTILE
            return pack

    pack = Hostile().new_call_pack()
    page = shown(fleet=Hostile())
    assert sent(page)["pack"] == pack
    assert HOSTILE in text(page)


def test_pack_has_the_size_of_a_page() -> None:
    assert len(json.dumps(fake_pack())) < 200_000


def test_last_calls_of_the_unit_come_before_the_questions() -> None:
    page = shown("?unit=U1001")
    titles = [node["props"]["children"] for node in nodes(page) if node.get("type") == "H2"]
    assert titles[0] == "Last calls of unit U1001, latest first"
    table = next(node["props"] for node in nodes(page) if node.get("type") == "Table")
    assert [each["label"] for each in table["columns"]] == [
        "Opened",
        "Complaint",
        "Found",
        "Fitted",
        "Read",
        "By",
    ]
    assert len(table["rows"]) == 3
    assert table["rows"][1][3] == "inlet valve"
    assert sent(page)["unit_id"] == "U1001"


def test_readings_of_a_call_stand_in_its_line() -> None:
    class Read(FakeFleet):
        def unit(self, unit_id: str) -> Any:
            story = super().unit(unit_id)
            first = story.calls["call_id"][0]
            told = story.timeline.with_columns(call_id=pl.lit(first))
            return type(story)(**{**vars(story), "timeline": told})

    table = next(n["props"] for n in nodes(shown("?unit=U1001", Read())) if n.get("type") == "Table")
    assert table["rows"][0][4] == "valve coil ohms: 260 ohm, no fault"
    assert table["rows"][1][4] == "nothing recorded"


def test_what_the_records_know_is_sent_as_answers() -> None:
    story = FakeFleet().unit("U1001")
    story.facts.update(water_supply="well", location="built_in")
    answers, days = known_answers(story)
    assert answers == {
        "supply_type": "well",
        "where_it_stands": "built_in",
        "product_family": "side_by_side",
    }
    assert days == {"unit_age_days": "2019-04-02"}
    assert known_answers(None) == ({}, {})


def test_unknown_unit_is_said_and_the_call_goes_on() -> None:
    page = shown("?unit=X9")
    assert "There is no unit 'X9'" in text(page)
    assert sent(page)["pack"]
    assert sent(page)["unit_id"] == ""


def test_without_a_model_the_page_says_how_to_make_one_and_shows_the_unit() -> None:
    page = shown("?unit=U1001", FakeFleet(fitted=False))
    words = text(page)
    assert "service-calls fit" in words
    assert "Last calls of unit U1001" in words
    assert sent(page)["pack"] is None
    assert sent(page)["sayings"]["leave"]


def test_rule_of_not_enough_is_stated() -> None:
    words = text(shown())
    assert "less than 60%" in words
    assert "fewer than two questions" in words


def test_units_of_measure_go_along() -> None:
    units = sent(shown())["units"]
    assert units["kohm"] == {"quantity": "resistance", "scale": 1000.0, "offset": 0.0}
    assert units["degF"]["offset"] == pytest.approx(-160 / 9)


def test_sayings_are_about_what_the_catalogue_has() -> None:
    catalogue, said = load_catalogue(), sayings()
    owned = {code for code, cause in catalogue.causes.items() if "owner" in cause.whose}
    assert owned - {"freezer_warm"} <= set(said.telephone) <= set(catalogue.causes)
    assert set(said.in_range) <= set(catalogue.limits)
    leave = " ".join(said.leave).lower()
    for wanted in ("prove the repair", "date on the filter", "water on", "tell the customer"):
        assert wanted in leave


@pytest.mark.parametrize(
    ("written", "message"),
    [
        ("[phone]\na = 'b'", "unknown key 'phone'"),
        ("[telephone]\na = 3", "telephone.a"),
        ("[[leave]]\nx = 'y'", "leave.1"),
    ],
)
def test_wrong_sayings_are_named(tmp_path: Path, written: str, message: str) -> None:
    file = tmp_path / "new_call.toml"
    file.write_text(written, encoding="utf-8")
    with pytest.raises(BadCatalogue, match=message):
        sayings(file)
