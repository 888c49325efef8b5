"""The one request that changes something: who may send it, its shape; and reading changes nothing."""

import pytest
from flask.testing import FlaskClient

from analytics.decisions import Decision
from dashboard import guard
from dashboard.deciding import MOST_BYTES
from tests.dashboard.conftest import ORIGIN
from tests.dashboard.fake_fleet import HOSTILE, FakeFleet

MARK = "/decisions?within=60&matter=reviewed&about=return&item=C1"


def decided(fleet: FakeFleet) -> list[Decision]:
    return getattr(fleet, "decided", [])


def test_a_form_of_the_dashboard_is_kept_and_leads_back(client: FlaskClient, fleet: FakeFleet) -> None:
    answer = client.post(MARK, data={"value": "yes", "note": HOSTILE, "who": "Ann"}, headers=ORIGIN)
    assert (answer.status_code, answer.headers["Location"]) == (303, "/this-week?within=60#returns")
    assert decided(fleet) == [Decision("reviewed", "return", "C1", "yes", HOSTILE, "Ann")]
    assert "script-src 'self'" in answer.headers["Content-Security-Policy"]


FROM_ELSEWHERE = [
    {"Origin": "http://evil.example"},
    {"Origin": "null"},
    {"Origin": "http://localhost:9"},
    {},
    ORIGIN | {"Sec-Fetch-Site": "cross-site"},
    ORIGIN | {"Sec-Fetch-Site": "same-site"},
]


def check_refused(client: FlaskClient, fleet: FakeFleet, headers: dict[str, str]) -> None:
    answer = client.post(MARK, data={"value": "yes"}, headers=headers)
    assert answer.status_code == 403
    assert decided(fleet) == []


@pytest.mark.parametrize("headers", FROM_ELSEWHERE)
def test_another_origin_is_refused(client: FlaskClient, fleet: FakeFleet, headers: dict[str, str]) -> None:
    check_refused(client, fleet, headers)


@pytest.mark.parametrize("headers", FROM_ELSEWHERE)
def test_a_guard_that_lets_everybody_in_is_caught(
    client: FlaskClient, fleet: FakeFleet, headers: dict[str, str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(guard, "_same_origin", lambda: True)
    with pytest.raises(AssertionError):
        check_refused(client, fleet, headers)


@pytest.mark.parametrize("method", ["get", "head", "options", "put", "delete"])
def test_no_other_method_decides(client: FlaskClient, fleet: FakeFleet, method: str) -> None:
    answer = getattr(client, method)(MARK + "&value=yes", headers=ORIGIN)
    assert answer.status_code in (404, 405)
    assert decided(fleet) == []


@pytest.mark.parametrize(
    "path", ["/", "/this-week?mark=return:RC39999&value=yes", "/export.csv?table=open_calls"]
)
def test_looking_decides_nothing(client: FlaskClient, fleet: FakeFleet, path: str) -> None:
    assert client.get(path, headers=ORIGIN).status_code == 200
    assert decided(fleet) == []


@pytest.mark.parametrize(
    ("body", "kind", "status"),
    [
        ('{"value": "yes"}', "application/json", 415),
        ("value=yes", "text/plain", 415),
        ("value=yes", "", 415),
        ("note=" + "x" * MOST_BYTES, "application/x-www-form-urlencoded", 413),
    ],
)
def test_another_shape_is_refused(
    client: FlaskClient, fleet: FakeFleet, body: str, kind: str, status: int
) -> None:
    assert client.post(MARK, data=body, content_type=kind, headers=ORIGIN).status_code == status
    assert decided(fleet) == []


@pytest.mark.parametrize(
    "changed",
    [
        ("item=C1", "item=NO"),
        ("item=C1", "item="),
        ("about=return", "about=person"),
        ("matter=reviewed", "matter=pay"),
    ],
)
def test_what_is_not_there_is_refused_in_words(
    client: FlaskClient, fleet: FakeFleet, changed: tuple[str, str]
) -> None:
    answer = client.post(MARK.replace(*changed), data={"value": "yes"}, headers=ORIGIN)
    assert answer.status_code == 400
    assert "This was not kept" in answer.text
    assert HOSTILE not in answer.text, "what the message repeats is escaped"
    assert decided(fleet) == []


def test_a_note_too_long_is_refused(client: FlaskClient, fleet: FakeFleet) -> None:
    answer = client.post(MARK, data={"value": "yes", "note": "x" * 2001}, headers=ORIGIN)
    assert (answer.status_code, decided(fleet)) == (400, [])


def test_the_way_back_leads_nowhere_else(client: FlaskClient) -> None:
    answer = client.post(
        MARK + "&next=//evil.example&depot=//evil.example", data={"value": "yes"}, headers=ORIGIN
    )
    assert answer.headers["Location"] == "/this-week?within=60&depot=%2F%2Fevil.example#returns"
