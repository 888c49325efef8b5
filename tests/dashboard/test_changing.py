"""The requests that change records: their shape, what is refused, whom they are for, and the audit."""

from pathlib import Path
from typing import Any

import pytest
from flask.testing import FlaskClient

from analytics.doors import Doors
from dashboard.components.changes import MEND, POSTS, PROGRESS, SETTLE, TAKE_BACK, TRY
from tests.dashboard.conftest import ORIGIN
from tests.dashboard.fake_changing import Asked
from tests.dashboard.fake_fleet import HOSTILE, FakeFleet


@pytest.fixture
def fleet(tmp_path: Path) -> FakeFleet:
    """Return a fleet with a folder for the audit."""
    found = FakeFleet()
    found.kept_doors = Doors(tmp_path)
    return found


@pytest.fixture
def asked(fleet: FakeFleet, monkeypatch: pytest.MonkeyPatch) -> list[tuple[str, dict[str, Any]]]:
    queue = Asked()
    monkeypatch.setattr(FakeFleet, "changing", lambda self: queue)
    return queue.asked


def post(client: FlaskClient, path: str, **sent: str) -> tuple[int, str]:
    answer = client.post(path, data=sent, headers=ORIGIN)
    return answer.status_code, answer.headers.get("Location", answer.get_data(as_text=True))


def test_a_phrase_is_settled_and_undone(client: FlaskClient, asked: list[Any]) -> None:
    assert post(client, SETTLE + "?phrase=k&page=2", code="no_ice", chosen="")[0] == 303
    assert post(client, SETTLE + "?phrase=k&page=2", chosen="leak_floor") == (303, "/settle?page=2")
    assert post(client, SETTLE + "?phrase=k", chosen="-")[0] == 303
    assert post(client, SETTLE + "?phrase=k", undo="yes")[0] == 303
    phrase = {"field": "complaint", "text": HOSTILE}
    codes: list[list[str] | None] = [["no_ice"], ["leak_floor"], [], None]
    assert asked == [("settle", phrase | {"codes": each}) for each in codes]


def test_a_meaning_that_is_none_is_refused_in_words(client: FlaskClient, asked: list[Any]) -> None:
    for chosen in ("", "<script>", "nothing_such"):
        status, text = post(client, SETTLE + "?phrase=k", chosen=chosen)
        assert status == 400
        assert "Choose what the phrase means" in text
    assert asked == []


def test_rows_are_taken_by_their_places(client: FlaskClient, asked: list[Any]) -> None:
    sent = {"3.12.1": "b\r\nc", "3.12.0": "a", "3.x.0": "no", "4.1.0": HOSTILE, "order": "day first"}
    assert post(client, MEND, **sent) == (303, "/mend")
    rows = [[3, 12, ["a", "b\nc"]], [4, 1, [HOSTILE]]]
    assert asked == [("mend", {"rows": rows, "order": "day first"})]
    assert post(client, MEND, **{"order": "year first"})[0] == 400
    assert post(client, MEND, **{f"1.{line}.0": "x" for line in range(26)})[0] == 400


def test_taking_back_names_one_file_or_load(client: FlaskClient, asked: list[Any]) -> None:
    assert post(client, TRY + "?file=7", go="on") == (303, "/take-back?file=7")
    assert post(client, TAKE_BACK + "?load=2&later=1", go="on") == (303, "/take-back?load=2")
    assert post(client, TAKE_BACK, go="on")[0] == 400
    assert asked == [
        ("try", {"files": [7], "load": None, "with_later": False}),
        ("take_back", {"files": [], "load": 2, "with_later": True}),
    ]


@pytest.mark.parametrize("path", POSTS)
def test_other_origins_shapes_and_methods_are_refused(
    client: FlaskClient, asked: list[Any], path: str
) -> None:
    assert client.post(path, data={"code": "no_ice"}).status_code == 403
    assert client.post(path, json={}, headers=ORIGIN).status_code == 415
    assert client.get(path, headers=ORIGIN).status_code in (404, 405)
    assert asked == []


@pytest.mark.parametrize("path", [*POSTS, PROGRESS])
def test_each_request_asks_for_the_role_of_those_who_load(client: FlaskClient, path: str) -> None:
    server = client.application
    rules = [rule for rule in server.url_map.iter_rules() if rule.rule == path]
    views = [server.view_functions[rule.endpoint] for rule in rules]
    assert {getattr(view, "_role_needed", None) for view in views} == {"settle"}


def test_each_change_leaves_a_line_in_the_audit(
    client: FlaskClient, fleet: FakeFleet, asked: list[Any]
) -> None:
    post(client, SETTLE + "?phrase=k", chosen="-")
    post(client, TRY + "?file=7", go="on")
    post(client, TAKE_BACK + "?file=7", go="on")
    lines = fleet.doors().audit.events().select("what", "about").rows()
    assert [what for what, _ in lines] == ["went back", "settled"]
    assert lines[0][1] == "taken back: file 7"
