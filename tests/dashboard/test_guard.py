from pathlib import Path

import pytest
from flask.testing import FlaskClient

from analytics.doors import SignedIn
from dashboard.app import Settings, create_app
from tests.dashboard.conftest import ORIGIN, asked
from tests.dashboard.fake_doors import GOOD, Clock, doors_with_everybody, quick_hashes
from tests.dashboard.fake_fleet import FakeFleet

UPDATE = "/_dash-update-component"


def test_update_from_the_dashboard_itself_is_answered(client: FlaskClient) -> None:
    answer = client.post(UPDATE, json=asked(), headers=ORIGIN)
    assert answer.status_code == 200
    assert "How are our repairs doing?" in answer.text


@pytest.mark.parametrize(
    "headers", [{"Origin": "http://evil.example"}, {}, {"Origin": "null"}, {"Origin": "http://localhost:9"}]
)
def test_update_from_elsewhere_is_refused(client: FlaskClient, headers: dict[str, str]) -> None:
    answer = client.post(UPDATE, json=asked(), headers=headers)
    assert answer.status_code == 403
    assert "repairs" not in answer.text


@pytest.mark.parametrize("host", ["evil.example", "127.0.0.1.evil.example", "10.0.0.7:8050"])
def test_another_name_for_this_machine_is_refused(client: FlaskClient, host: str) -> None:
    assert client.get("/", headers={"Host": host}).status_code == 400


@pytest.mark.parametrize("host", ["127.0.0.1:8050", "localhost", "[::1]:8050"])
def test_names_of_this_machine_are_answered(client: FlaskClient, host: str) -> None:
    assert client.get("/", headers={"Host": host}).status_code == 200


def test_behind_a_proxy_any_host_is_answered_but_no_other_origin(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    quick_hashes(monkeypatch)
    fleet = FakeFleet()
    fleet.kept_doors = doors_with_everybody(tmp_path, Clock())
    client = create_app(fleet, settings=Settings(behind_proxy=True)).server.test_client()  # type: ignore[arg-type]
    came = fleet.kept_doors.sign_in("look", GOOD, "10.0.0.1")
    assert isinstance(came, SignedIn)
    client.set_cookie("__Host-sign-in", came.token, domain="calls.example", secure=True)
    assert client.get("/", headers={"Host": "calls.example"}).status_code == 200
    good = {"Host": "calls.example", "Origin": "https://calls.example"}
    bad = good | {"Origin": "https://evil.example"}
    assert client.post(UPDATE, json=asked(), headers=good).status_code == 200
    assert client.post(UPDATE, json=asked(), headers=bad).status_code == 403


@pytest.mark.parametrize("path", ["/", "/callbacks", "/call/C40000", "/export.csv?table=calls", "/nowhere"])
def test_every_answer_carries_the_headers(client: FlaskClient, path: str) -> None:
    headers = client.get(path).headers
    policy = dict(part.strip().split(" ", 1) for part in headers["Content-Security-Policy"].split(";"))
    assert policy["default-src"] == "'self'"
    assert "unsafe" not in policy["script-src"]
    assert policy["frame-ancestors"] == policy["object-src"] == policy["base-uri"] == "'none'"
    assert "http" not in headers["Content-Security-Policy"]
    assert headers["X-Content-Type-Options"] == "nosniff"
    assert headers["Referrer-Policy"] == "same-origin"


@pytest.mark.parametrize(
    "path", ["/nowhere", "/callbacks/x", "/call/", "/call", "/.env", "/assets/../app.py"]
)
def test_unknown_path_is_a_real_404(client: FlaskClient, path: str) -> None:
    answer = client.get(path)
    assert answer.status_code == 404
    assert "Traceback" not in answer.text


def test_unknown_page_says_where_to_go(client: FlaskClient) -> None:
    assert 'href="/calls"' in client.get("/nowhere").text


def test_answers_are_compressed(client: FlaskClient) -> None:
    answer = client.get("/_dash-layout", headers={"Accept-Encoding": "gzip"})
    assert answer.headers.get("Content-Encoding") == "gzip" or len(answer.data) < 500
    update = client.post(UPDATE, json=asked(), headers=ORIGIN | {"Accept-Encoding": "gzip"})
    assert update.headers.get("Content-Encoding") == "gzip"
