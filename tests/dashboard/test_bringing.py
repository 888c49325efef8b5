"""The requests by which a file is brought: who may send them, how they come, and what they lead to."""

import json
import time
from collections.abc import Callable
from io import BytesIO
from pathlib import Path
from typing import Any

import pytest
from flask.testing import FlaskClient

from analytics.intake import bringing_work, uploads
from analytics.intake.bringing import ASKING, Bringing
from analytics.store import Store
from dashboard import bringing, guard
from dashboard.app import create_app
from dashboard.components.bringing import POSTS, PROGRESS
from tests.dashboard.conftest import ORIGIN, asked
from tests.dashboard.fake_fleet import FakeFleet

HOSTILE = "<script>window.hurt = 1</script>"
FILE = (
    "Auftrag,Gerät,Eingang,Kunde sagt,Ausgang\n"
    f"A1,G1,03/04/2026,{HOSTILE},2 = closed\nA2,G1,05/04/2026,no ice,erledigt\n"
)
RAW = ORIGIN | {"Content-Type": "application/octet-stream"}
UPDATE = "/_dash-update-component"


class FleetWithDesk(FakeFleet):
    """The stand-in, to which files can be brought; the work on them is done at once."""

    def __init__(self, folder: Path) -> None:
        super().__init__()
        self.desk = Bringing(Store(folder), start=lambda store, token, _: bringing_work.work(store, token))

    def bringing(self) -> Bringing:  # type: ignore[override]
        return self.desk


@pytest.fixture
def fleet(tmp_path: Path) -> FleetWithDesk:
    return FleetWithDesk(tmp_path / "store")


@pytest.fixture
def client(fleet: FleetWithDesk) -> FlaskClient:
    return create_app(fleet).server.test_client()  # type: ignore[arg-type]


def send(client: FlaskClient, raw: bytes = FILE.encode(), name: str = "march.csv", **headers: str) -> Any:
    return client.post(f"/bring?name={name}", data=raw, headers=RAW | headers)


def coming(stream: BytesIO, size: int) -> dict[str, Any]:
    """What the server hands on of a request whose bytes are still coming."""
    return {"wsgi.input": stream, "CONTENT_LENGTH": str(size)}


def page(client: FlaskClient, search: str = "") -> str:
    return client.post(UPDATE, json=asked("/bring", search), headers=ORIGIN).text


def brought(client: FlaskClient) -> str:
    return send(client).json["address"].removeprefix("/bring?file=")


def post(client: FlaskClient, path: str, token: str, **form: str) -> Any:
    return client.post(f"{path}?file={token}", data=form or {"sent": "yes"}, headers=ORIGIN)


def test_a_file_is_taken_in_chunks(client: FlaskClient, fleet: FleetWithDesk, tmp_path: Path) -> None:
    class Slow(BytesIO):
        sizes: list[int] = []  # noqa: RUF012

        def read(self, most: int | None = -1) -> bytes:
            self.sizes.append(most or -1)
            return super().read(most)

        def readinto(self, room: Any) -> int:
            self.sizes.append(len(room))
            return super().readinto(room)

    stream = Slow(FILE.encode() * 50_000)
    size = len(stream.getvalue())
    answer = client.post("/bring?name=big.csv", headers=RAW, environ_overrides=coming(stream, size))
    assert answer.status_code == 201
    (kept,) = fleet.desk.waiting()
    assert answer.json == {"address": f"/bring?file={kept.token}"}
    assert kept.size_bytes == size
    assert 0 < max(stream.sizes) <= 1024 * 1024


FROM_ELSEWHERE = [
    {"Origin": "http://evil.example"},
    {"Origin": "null"},
    {},
    ORIGIN | {"Sec-Fetch-Site": "cross-site"},
]


def refused_from(client: FlaskClient, path: str, headers: dict[str, str], fleet: FleetWithDesk) -> None:
    kind = "application/octet-stream" if path == "/bring" else bringing.FORM
    waiting = len(fleet.desk.waiting())
    token = fleet.desk.waiting()[0].token if waiting else ""
    answer = client.post(f"{path}?file={token}", data=b"a=b", headers=headers | {"Content-Type": kind})
    assert answer.status_code == 403
    assert len(fleet.desk.waiting()) == waiting


@pytest.mark.parametrize("path", POSTS)
@pytest.mark.parametrize("headers", FROM_ELSEWHERE)
def test_another_origin_is_refused(
    client: FlaskClient, fleet: FleetWithDesk, path: str, headers: dict[str, str]
) -> None:
    refused_from(client, path, headers, fleet)


@pytest.mark.parametrize("path", POSTS)
def test_a_guard_that_lets_everybody_in_is_caught(
    client: FlaskClient, fleet: FleetWithDesk, path: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(guard, "_same_origin", lambda: True)
    with pytest.raises(AssertionError):
        refused_from(client, path, {"Origin": "http://evil.example"}, fleet)


@pytest.mark.parametrize("path", [*POSTS, PROGRESS])
def test_each_request_asks_for_the_role_of_those_who_load(client: FlaskClient, path: str) -> None:
    server = client.application
    rules = [rule for rule in server.url_map.iter_rules() if rule.rule == path and rule.methods]
    views = [server.view_functions[rule.endpoint] for rule in rules]
    assert {getattr(view, "_role_needed", None) for view in views} == {"settle"}


@pytest.mark.parametrize("path", POSTS[1:])
def test_looking_changes_nothing(client: FlaskClient, fleet: FleetWithDesk, path: str) -> None:
    token = brought(client)
    assert client.get(f"{path}?file={token}").status_code in (404, 405)
    assert len(fleet.desk.waiting()) == 1


def test_too_large_is_refused_unread(client: FlaskClient, fleet: FleetWithDesk) -> None:
    too_much = coming(BytesIO(b""), uploads.MOST_BYTES + 1)
    answer = client.post("/bring?name=x.csv", headers=RAW, environ_overrides=too_much)
    assert answer.status_code == 413
    assert fleet.desk.waiting() == []


@pytest.mark.parametrize("kind", ["text/csv", "multipart/form-data", bringing.FORM, ""])
def test_another_kind_of_content_is_refused(client: FlaskClient, kind: str) -> None:
    assert send(client, **{"Content-Type": kind}).status_code == 415


def test_a_transfer_that_breaks_off_leaves_nothing(client: FlaskClient, fleet: FleetWithDesk) -> None:
    breaks_off = coming(BytesIO(FILE.encode()), 5_000)
    answer = client.post("/bring?name=x.csv", headers=RAW, environ_overrides=breaks_off)
    assert answer.status_code >= 400
    assert list(fleet.desk.uploads.folder.iterdir()) == []


@pytest.mark.parametrize("name", ["../../x.csv", "..%2F..%2Fx.csv", "%00/etc/x.csv", "C:%5Cx.csv"])
def test_no_name_leads_out_of_the_folder(client: FlaskClient, tmp_path: Path, name: str) -> None:
    assert send(client, name=name).status_code == 201
    outside = [path for path in tmp_path.rglob("*") if path.is_file() and "uploads" not in path.parts]
    assert outside == []
    assert "x.csv" in page(client)


@pytest.mark.parametrize("token", ["", "../..", "a" * 32, "..%2Fmappings"])
@pytest.mark.parametrize("path", [*POSTS[1:], PROGRESS])
def test_a_token_that_is_none_is_not_found(client: FlaskClient, path: str, token: str) -> None:
    answer = client.get(f"{path}?file={token}") if path == PROGRESS else post(client, path, token)
    assert answer.status_code == 404 or (path == "/bring/drop" and answer.status_code == 303)


def test_an_empty_file_is_said(client: FlaskClient) -> None:
    answer = send(client, b"")
    assert answer.status_code in (411, 422)


def test_from_the_file_to_the_rows(client: FlaskClient, fleet: FleetWithDesk, tmp_path: Path) -> None:
    token = brought(client)
    drawn = page(client, f"?file={token}")
    assert "What do its columns mean?" in drawn
    assert "3 April 2026" in drawn
    assert "4 March 2026" in drawn
    answers = {"date.opened_at": "day first", "word.outcome.unknown.0": "repaired", "name": "North"}
    columns = fleet.desk.stage(token).suggested["columns"]
    sent = {f"column.{name}": str(place) for name, place in columns.items()}
    open_ = post(client, "/bring/answer", token, **sent)
    assert open_.headers["Location"] == f"/bring?file={token}&step=map&open=1"
    assert "Say whether day or month comes first" in page(
        client, open_.headers["Location"].removeprefix("/bring")
    )
    assert (
        post(client, "/bring/answer", token, **sent, **answers).headers["Location"] == f"/bring?file={token}"
    )
    assert "2 new" in page(client, f"?file={token}")
    assert client.get(f"{PROGRESS}?file={token}").json["goes_on"] is False
    assert post(client, "/bring/keep", token).status_code == 303
    assert "Which repairs come back?" in page(client, f"?file={token}")
    assert Store(tmp_path / "store").reader().cursor().sql(
        "select count(*) from records.calls"
    ).fetchall() == [(2,)]


def test_what_stands_in_the_file_stays_text(client: FlaskClient) -> None:
    drawn = page(client, f"?file={brought(client)}")
    assert HOSTILE in str(json.loads(drawn)), "a text among the cells, which the browser sets as text"
    assert "dangerously" not in drawn.lower()


def test_a_refusal_is_escaped(client: FlaskClient) -> None:
    token = brought(client)
    answer = post(client, "/bring/answer", token, name=HOSTILE * 5)
    assert answer.status_code == 400
    assert "<script>" not in answer.text.replace("<script src", "")


def test_dropped_it_is_gone(client: FlaskClient, fleet: FleetWithDesk) -> None:
    token = brought(client)
    assert post(client, "/bring/drop", token).headers["Location"] == "/bring"
    assert list(fleet.desk.uploads.folder.iterdir()) == []
    assert "not here any more" in page(client, f"?file={token}")


def test_no_page_says_what_a_data_type_is(client: FlaskClient) -> None:
    words = page(client, f"?file={brought(client)}").lower()
    for jargon in ("varchar", "string", "integer", "float", "timestamp", "boolean", "data type", "datatype"):
        assert f" {jargon}" not in words, jargon


def slow(condition: Callable[[], bool]) -> None:
    until = time.monotonic() + 60
    while not condition():
        assert time.monotonic() < until
        time.sleep(0.1)


def test_a_dashboard_that_is_started_anew_finds_the_file_again(tmp_path: Path) -> None:
    fleet = FleetWithDesk(tmp_path / "store")
    token = brought(create_app(fleet).server.test_client())  # type: ignore[arg-type]
    again = Bringing(Store(tmp_path / "store"))
    slow(lambda: again.stage(token).step == ASKING)
