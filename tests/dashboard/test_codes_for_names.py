"""Whoever may only look sees no technician's name in any page, file or chart, where codes are asked for."""

import json
import re
import shutil
from collections.abc import Iterable, Iterator
from pathlib import Path
from types import ModuleType
from urllib.parse import quote, quote_plus, unquote_plus

import polars as pl
import pytest
from flask.testing import FlaskClient

from analytics.accounts import Accounts
from analytics.audit import Audit
from analytics.cli import main
from analytics.errors import ServiceCallError
from analytics.filters import Filters
from analytics.fleet import Fleet
from analytics.store import Store
from analytics.technician_codes import TechnicianCodes
from dashboard import seeing
from dashboard.app import create_app
from dashboard.pages import PAGES, tables
from dashboard.pages.tables import FIGURES, TABLES
from tests.analytics.causes.fitted_fleet import fit
from tests.analytics.named_store import build, every_name, found
from tests.building import built_once
from tests.dashboard.conftest import ORIGIN, asked
from tests.dashboard.fake_doors import GOOD, ROLES, quick_hashes

UPDATE = "/_dash-update-component"
STRANGER = "Nobody Qxq 999"
BY_PERSON = ("groups", "waits", "compared", "recording", "over_time", "funnel", "repeat_units", "first_visit")
"""Tables and charts that can be asked for by technician."""


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return built_once(tmp_path_factory, "named_fitted", lambda folder: fit(build(folder)))


@pytest.fixture(scope="module")
def names(made: Path) -> list[str]:
    return every_name(Store(made / "store"))


@pytest.fixture(scope="module")
def fleet(made: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Fleet]:
    """One fleet for all tests, so that what was answered once is kept; no test changes records."""
    folder = tmp_path_factory.mktemp("served") / "store"
    shutil.copytree(made / "store", folder)
    with pytest.MonkeyPatch.context() as patch:
        quick_hashes(patch)
        for role in ROLES:
            Accounts(folder).add(role, role, GOOD, "test")
        Accounts(folder).show_names_from("settle", "test")
        fleet = Fleet(Store(folder))
        assert fleet.keep_coded()
        yield fleet


def signed_in(fleet: Fleet, role: str) -> FlaskClient:
    client = create_app(fleet).server.test_client()
    assert client.post("/sign-in", data={"name": role, "password": GOOD}, headers=ORIGIN).status_code == 303
    return client


def page(client: FlaskClient, path: str, search: str = "") -> str:
    """Return all that a page says, links as they are read."""
    answer = client.post(UPDATE, json=asked(path, search), headers=ORIGIN)
    said = json.dumps(answer.json, ensure_ascii=False)
    assert (path, answer.status_code, "Something went wrong" in said) == (path, 200, False)
    return said + unquote_plus(said)


def everything(fleet: Fleet) -> list[str]:
    """Return all that can be asked for: every page, table and chart there is."""
    told = fleet.calls(Filters(), limit=10_000)[0]
    records = {
        "/call/<id>": told.filter(pl.col("call_id").str.starts_with("TOLD"))["call_id"].to_list()[:5],
        "/unit/<id>": told.filter(pl.col("visits") > 1)["unit_id"].to_list()[:3],
    }
    paths = [
        (each, each.path.replace("<id>", one)) for each in PAGES for one in records.get(each.path, ["x"])
    ]
    places = [path for _, path in paths]
    places += [f"{path}?by=technician" for each, path in paths if "by" in each.parameters]
    places += ["/lesson?cause=filter_restricted&unfold=all", "/this-week?depot=x"]
    files = [f"/export.csv?table={name}" for name in TABLES] + [
        f"/figure.json?chart={name}" for name in FIGURES
    ]
    places += files + [f"{address}&by=technician" for address in files if address.split("=")[1] in BY_PERSON]
    return [*places, "/export.csv?table=to_mend&file=1"]


def answered(client: FlaskClient, places: Iterable[str]) -> dict[str, str]:
    return {
        each: kept(client, each) if each.startswith(("/export", "/figure")) else page(client, *split(each))
        for each in places
    }


def split(address: str) -> tuple[str, str]:
    path, _, search = address.partition("?")
    return path, f"?{search}" if search else ""


def kept(client: FlaskClient, address: str) -> str:
    try:
        answer = client.get(address)
    except ServiceCallError as error:  # a chart of which there is nothing to draw
        return str(error)
    text = answer.text
    return text + json.dumps(answer.json, ensure_ascii=False) if answer.is_json else text


def named(names: list[str], answers: dict[str, str]) -> dict[str, list[str]]:
    """Return which answers hold names."""
    return {what: held for what, text in answers.items() if (held := found(names, text))}


def check_no_names(fleet: Fleet, names: list[str], places: Iterable[str]) -> None:
    answers = answered(signed_in(fleet, "look"), places)
    assert named(names, answers) == {}
    codes = list(TechnicianCodes(fleet._store.folder).all().values())
    assert len(named(codes, answers)) >= len(WHERE_NAMES_STAND) - 1, "codes stand where names would"


WHERE_NAMES_STAND = {
    "/compare?by=technician",
    "/this-week",
    "/lessons",
    "/data",
    "/teaching",
    "/export.csv?table=calls",
    "/export.csv?table=returns",
    "/export.csv?table=lessons",
    "/export.csv?table=phrases",
    "/figure.json?chart=groups&by=technician",
}


def test_whoever_may_only_look_sees_no_name_anywhere(fleet: Fleet, names: list[str]) -> None:
    places = everything(fleet)
    assert WHERE_NAMES_STAND - set(places) == set()
    assert len(places) > 100
    check_no_names(fleet, names, places)


@pytest.mark.parametrize("role", ["settle", "manage"])
def test_whoever_does_more_sees_names(fleet: Fleet, names: list[str], role: str) -> None:
    held = named(names, answered(signed_in(fleet, role), WHERE_NAMES_STAND))
    assert held.keys() == WHERE_NAMES_STAND


def test_without_the_setting_everybody_sees_names(fleet: Fleet, names: list[str]) -> None:
    accounts = Accounts(fleet._store.folder)
    accounts.show_names_from("look", "test")
    try:
        held = named(names, answered(signed_in(fleet, "look"), WHERE_NAMES_STAND))
        assert held.keys() == WHERE_NAMES_STAND
    finally:
        accounts.show_names_from("settle", "test")


@pytest.mark.parametrize(("module", "place"), [(seeing, "/teaching"), (tables, "/export.csv?table=calls")])
def test_a_route_that_does_not_ask_whom_it_is_for_is_caught(
    fleet: Fleet, names: list[str], module: ModuleType, place: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(module, "for_whom", lambda fleet: fleet)
    with pytest.raises(AssertionError, match=re.escape(place)):
        check_no_names(fleet, names, [place])


def test_decisions_that_are_not_translated_are_caught(
    fleet: Fleet, names: list[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("analytics.coded_fleet.CodedFleet._decisions", Fleet._decisions)
    with pytest.raises(AssertionError, match="this-week"):
        check_no_names(fleet, names, ["/this-week"])


def test_what_was_decided_stands_beside_its_code(fleet: Fleet) -> None:
    named_fleet, coded = fleet, fleet.in_codes()
    codes = TechnicianCodes(fleet._store.folder).all()
    lesson, in_codes = named_fleet.lessons_recorded()[0], coded.lessons_recorded()[0]
    assert set(in_codes.attended) == {codes[name] for name in lesson.attended}
    assert in_codes.who == ""
    assert in_codes.note == f"held by {codes[sorted(lesson.attended)[0]]}"
    outcomes = [each.lessons()[0].wrong_first for each in (named_fleet, coded)]
    assert outcomes[0] == outcomes[1]
    group = "technician:{}:2026-W44"
    marks = coded._decisions().current("group", [group.format(code) for code in codes.values()])
    assert set(marks["key"]) == {group.format(codes[name]) for name in lesson.attended}
    assert set(marks["note"]) == {codes[name] for name in lesson.attended}


def test_a_name_that_is_typed_is_as_unknown_as_any_other(fleet: Fleet, names: list[str]) -> None:
    client = signed_in(fleet, "look")
    for path in ("/calls", "/compare", "/teaching"):
        real, none = (page(client, path, f"?technician={name}") for name in (names[0], STRANGER))
        assert "There is no technician" in real
        for written in (str, quote, quote_plus):
            real = real.replace(written(names[0]), written(STRANGER))
        assert real == none
    asked_for = f"/export.csv?table=calls&technician={names[0]}"
    assert client.get(asked_for).status_code == 400


def test_nothing_is_shown_while_the_copy_is_not_there(
    fleet: Fleet, names: list[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("analytics.coded_fleet.coded_copies", lambda folder: {})
    client = signed_in(fleet, "look")
    assert "is being made" in page(client, "/teaching")
    for place in ("/export.csv?table=calls", "/figure.json?chart=groups"):
        answer = client.get(place)
        assert (answer.status_code, "is being made" in answer.text) == (503, True)
    assert named(names, answered(client, ["/teaching", "/export.csv?table=calls"])) == {}
    assert named(names, answered(signed_in(fleet, "settle"), ["/teaching"])) != {}


def test_the_page_says_that_codes_are_shown(fleet: Fleet) -> None:
    for role, said in (("look", True), ("settle", False)):
        assert ("technicians as codes" in page(signed_in(fleet, role), "/")) == said


def test_whoever_may_only_look_decides_nothing(fleet: Fleet) -> None:
    client = signed_in(fleet, "look")
    own = {"/sign-in", "/sign-out", "/password"}
    sent_to = {
        rule.rule
        for rule in client.application.url_map.iter_rules()
        if "POST" in (rule.methods or ()) and not rule.rule.startswith("/_")
    } - own
    assert len(sent_to) >= 9
    answers = {place: client.post(place, data={}, headers=ORIGIN).status_code for place in sent_to}
    assert set(answers.values()) == {403}


def test_the_setting_is_changed_at_the_terminal_and_audited(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    accounts, users = Accounts(tmp_path), ["--data", str(tmp_path), "users", "names"]
    assert accounts.names_from() == "look"
    assert main(users) == 0
    assert "Everybody who may look sees" in capsys.readouterr().out
    assert main([*users, "settle", "--json"]) == 0
    assert json.loads(capsys.readouterr().out) == {"names_from": "settle"}
    assert accounts.names_from() == "settle"
    assert main([*users, "manage"]) == 2
    event = Audit(tmp_path).events().row(0, named=True)
    assert (event["what"], event["about"]) == (
        "setting changed",
        "technicians' names are shown to settle and above",
    )
