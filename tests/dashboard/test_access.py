"""Signing in, sessions, roles on every route; each rule has a twin that breaks it and is caught."""

import logging
from collections.abc import Callable
from html import unescape
from pathlib import Path

import pytest
from flask import request
from flask.testing import FlaskClient
from werkzeug.test import TestResponse

from analytics import doors as doors_module
from analytics.doors import Doors
from dashboard import access
from dashboard.app import Settings, create_app
from dashboard.pages import PAGES
from tests.dashboard.conftest import ORIGIN, asked
from tests.dashboard.fake_doors import GOOD, ROLES, Clock, doors_with_everybody, quick_hashes
from tests.dashboard.fake_fleet import FakeFleet

UPDATE = "/_dash-update-component"
MARK = "/decisions?matter=reviewed&about=return&item=C1"
PLACES = [each.path.replace("<id>", "C40000") for each in PAGES]


@pytest.fixture
def clock() -> Clock:
    return Clock()


@pytest.fixture
def doors(tmp_path: Path, clock: Clock, monkeypatch: pytest.MonkeyPatch) -> Doors:
    quick_hashes(monkeypatch)
    return doors_with_everybody(tmp_path, clock)


@pytest.fixture
def closed(doors: Doors) -> FlaskClient:
    return client_of(doors)


def client_of(doors: Doors, behind_proxy: bool = False) -> FlaskClient:
    fleet = FakeFleet()
    fleet.kept_doors = doors
    return create_app(fleet, settings=Settings(behind_proxy)).server.test_client()  # type: ignore[arg-type]


def sign_in(client: FlaskClient, name: str = "look", password: str = GOOD, **more: str) -> TestResponse:
    return client.post("/sign-in", data={"name": name, "password": password, **more}, headers=ORIGIN)


def cookie(answer: TestResponse) -> str:
    return answer.headers["Set-Cookie"]


def test_without_an_account_everything_is_open(client: FlaskClient) -> None:
    assert client.get("/callbacks").status_code == 200
    assert client.post(UPDATE, json=asked(), headers=ORIGIN).status_code == 200
    assert client.get("/sign-in").headers["Location"] == "/"


def check_closed(client: FlaskClient) -> None:
    for place in PLACES:
        answer = client.get(place)
        assert (answer.status_code, answer.headers.get("Location", "")[:13]) == (303, "/sign-in?next")
    for place in (
        "/export.csv?table=calls",
        "/figure.json?chart=months",
        "/audit",
        "/audit.csv",
        "/_dash-layout",
    ):
        answer = client.get(place)
        assert answer.status_code == 401, place
    for place, body in (
        (UPDATE, {"json": asked()}),
        (MARK, {"data": {"value": "yes"}}),
        ("/password", {"data": {}}),
    ):
        answer = client.post(place, headers=ORIGIN, **body)  # type: ignore[arg-type]
        assert answer.status_code == 401, place
        assert "repairs" not in answer.text


def test_with_an_account_nothing_is_shown_to_strangers(closed: FlaskClient) -> None:
    check_closed(closed)


def test_doors_that_stand_open_are_caught(closed: FlaskClient, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(access, "_needed", lambda: access.FOR_EVERYBODY)
    with pytest.raises(AssertionError):
        check_closed(closed)


def test_scripts_and_styles_need_no_account(closed: FlaskClient) -> None:
    assert closed.get("/assets/b-page.css").status_code == 200


def test_signing_in_leads_to_the_page_asked_for(closed: FlaskClient) -> None:
    asked_for = closed.get("/callbacks?depot=north").headers["Location"]
    form = closed.get(asked_for)
    assert 'value="/callbacks?depot=north"' in unescape(form.text)
    answer = sign_in(closed, next="/callbacks?depot=north")
    assert (answer.status_code, answer.headers["Location"]) == (303, "/callbacks?depot=north")
    assert closed.get("/callbacks").status_code == 200
    update = closed.post(UPDATE, json=asked(), headers=ORIGIN)
    assert update.status_code == 200
    assert "Sign out" in update.text


@pytest.mark.parametrize(
    "place", ["//evil.example", "https://evil.example/", "/\\evil.example", "/nowhere", "x"]
)
def test_signing_in_leads_nowhere_else(closed: FlaskClient, place: str) -> None:
    assert sign_in(closed, next=place).headers["Location"] == "/"


def test_the_cookie_is_for_this_site_alone(closed: FlaskClient, doors: Doors) -> None:
    plain = cookie(sign_in(closed))
    assert plain.startswith("sign-in=")
    assert all(part in plain for part in ("HttpOnly", "SameSite=Strict", "Path=/"))
    proxied = client_of(doors, behind_proxy=True)
    safe = cookie(sign_in(proxied))
    assert safe.startswith("__Host-sign-in=")
    assert "Secure" in safe
    assert "Domain" not in safe


def test_what_is_shown_is_not_kept_by_browsers(closed: FlaskClient) -> None:
    sign_in(closed, "manage")
    for place in ("/", "/audit", "/export.csv?table=calls"):
        assert closed.get(place).headers["Cache-Control"] == "no-store"
    assert "no-store" in closed.post(UPDATE, json=asked(), headers=ORIGIN).headers["Cache-Control"]
    assert "no-store" not in closed.get("/assets/b-page.css").headers.get("Cache-Control", "")


def check_sessions_end(client: FlaskClient, clock: Clock) -> None:
    sign_in(client)
    for _ in range(3):
        clock.later(minutes=29)
        assert client.get("/").status_code == 200
    clock.later(minutes=31)
    assert client.get("/").status_code == 303, "half an hour without a click"
    sign_in(client)
    for _ in range(28):
        clock.later(minutes=25)
        assert client.get("/").status_code == 200
    clock.later(minutes=25)
    assert client.get("/").status_code == 303, "twelve hours"


def test_sessions_end(closed: FlaskClient, clock: Clock) -> None:
    check_sessions_end(closed, clock)


@pytest.mark.parametrize("limit", ["IDLE_S", "LONGEST_S"])
def test_sessions_without_an_end_are_caught(
    closed: FlaskClient, clock: Clock, limit: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(doors_module, limit, 1e12)
    with pytest.raises(AssertionError):
        check_sessions_end(closed, clock)


def test_signing_in_again_begins_another_session(closed: FlaskClient, doors: Doors) -> None:
    first = cookie(sign_in(closed)).split("=")[1].split(";")[0]
    second = cookie(sign_in(closed)).split("=")[1].split(";")[0]
    assert first != second
    assert doors.person(first) is None
    assert doors.person(second) is not None


def test_a_token_from_outside_is_not_taken_over(closed: FlaskClient, doors: Doors) -> None:
    closed.set_cookie("sign-in", "chosen-by-a-stranger")
    assert closed.get("/").status_code == 303
    sign_in(closed)
    assert doors.person("chosen-by-a-stranger") is None


def test_signing_out_ends_the_session_on_the_server(closed: FlaskClient, doors: Doors) -> None:
    token = cookie(sign_in(closed)).split("=")[1].split(";")[0]
    answer = closed.post("/sign-out", headers=ORIGIN)
    assert (answer.status_code, answer.headers["Location"]) == (303, "/sign-in")
    assert "storage" in answer.headers["Clear-Site-Data"]
    assert doors.person(token) is None
    assert closed.get("/").status_code == 303


@pytest.mark.parametrize("place", ["/sign-in", "/sign-out", "/password"])
def test_other_sites_can_not_send_these_forms(closed: FlaskClient, place: str) -> None:
    sign_in(closed)
    for headers in ({"Origin": "http://evil.example"}, {}, ORIGIN | {"Sec-Fetch-Site": "cross-site"}):
        data = {"name": "look", "password": GOOD}
        assert closed.post(place, data=data, headers=headers).status_code == 403
    assert closed.get("/").status_code == 200


def check_roles(client: FlaskClient, doors: Doors) -> None:
    needs: dict[str, tuple[str, Callable[[], TestResponse]]] = {
        "the page": ("look", lambda: client.post(UPDATE, json=asked(), headers=ORIGIN)),
        "the file": ("look", lambda: client.get("/export.csv?table=calls")),
        "rows set aside": ("settle", lambda: client.get("/export.csv?table=set_aside")),
        "rows to mend": ("settle", lambda: client.get("/export.csv?table=to_mend&file=1")),
        "the decision": ("settle", lambda: client.post(MARK, data={"value": "yes"}, headers=ORIGIN)),
        "the audit": ("manage", lambda: client.get("/audit")),
        "its file": ("manage", lambda: client.get("/audit.csv")),
    }
    for role in ROLES:
        sign_in(client, role)
        for what, (needed, ask) in needs.items():
            may = ROLES.index(role) >= ROLES.index(needed)
            assert (role, what, ask().status_code == 403) == (role, what, not may)


def test_each_role_may_do_what_is_its_own(closed: FlaskClient, doors: Doors) -> None:
    check_roles(closed, doors)


def test_roles_that_are_not_looked_at_are_caught(
    closed: FlaskClient, doors: Doors, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("analytics.accounts.Person.may", lambda self, role: True)
    with pytest.raises(AssertionError):
        check_roles(closed, doors)


def test_rows_set_aside_are_shown_to_those_who_load(closed: FlaskClient) -> None:
    for role, shown in (("look", False), ("settle", True)):
        sign_in(closed, role)
        page = closed.post(UPDATE, json=asked("/data"), headers=ORIGIN).text
        assert ("may hold names" not in page) == shown
        assert ("table=set_aside" in page) == shown


CHANGING_PAGES = ("/bring", "/settle", "/mend", "/take-back")


def check_pages_that_change(client: FlaskClient) -> None:
    for role, shown in (("look", False), ("settle", True)):
        sign_in(client, role)
        for path in CHANGING_PAGES:
            page = client.post(UPDATE, json=asked(path), headers=ORIGIN).text
            assert (role, path, "may look, and not change" not in page) == (role, path, shown)


def test_pages_that_change_records_are_for_those_who_load(closed: FlaskClient) -> None:
    check_pages_that_change(closed)


def test_a_page_that_forgot_its_role_is_caught(closed: FlaskClient, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("dashboard.app.access.may", lambda role: True)
    with pytest.raises(AssertionError):
        check_pages_that_change(closed)


def test_a_route_that_names_no_role_is_refused_to_everybody(doors: Doors) -> None:
    fleet = FakeFleet()
    fleet.kept_doors = doors
    app = create_app(fleet)  # type: ignore[arg-type]
    app.server.add_url_rule("/forgotten", "forgotten", lambda: "customers", methods=["GET", "POST"])
    client = app.server.test_client()
    sign_in(client, "manage")
    assert client.get("/forgotten").status_code == 404
    assert client.post("/forgotten", headers=ORIGIN).status_code == 404


def test_every_route_names_its_role_or_is_one_of_dash(doors: Doors) -> None:
    server = create_app(FakeFleet()).server  # type: ignore[arg-type]
    ours = [
        rule
        for rule in server.url_map.iter_rules()
        if not rule.rule.startswith(("/_", "/assets", "/static", "/<path"))
    ]
    silent = [rule.rule for rule in ours if not hasattr(server.view_functions[rule.endpoint], "_role_needed")]
    assert silent == ["/"], "the first page, which is one of the pages"


def test_a_decision_carries_the_name_of_the_account(doors: Doors) -> None:
    fleet = FakeFleet()
    fleet.kept_doors = doors
    client = create_app(fleet).server.test_client()  # type: ignore[arg-type]
    sign_in(client, "settle")
    client.post(MARK, data={"value": "yes", "who": "somebody else"}, headers=ORIGIN)
    assert [each.who for each in fleet.decided] == ["settle"]


def test_changing_the_password_needs_the_old_one_and_ends_all_sessions(
    closed: FlaskClient, doors: Doors
) -> None:
    elsewhere = client_of(doors)
    sign_in(closed)
    sign_in(elsewhere)
    wrong = closed.post("/password", data={"old": "not this one", "new": GOOD + "!"}, headers=ORIGIN)
    short = closed.post("/password", data={"old": GOOD, "new": "short"}, headers=ORIGIN)
    assert (wrong.status_code, short.status_code) == (400, 400)
    assert "at least 12" in short.text
    assert closed.post("/password", data={"old": GOOD, "new": GOOD + "!"}, headers=ORIGIN).status_code == 303
    assert elsewhere.get("/").status_code == 303
    assert sign_in(closed).status_code == 401
    assert sign_in(closed, password=GOOD + "!").status_code == 303


def test_behind_a_proxy_without_accounts_nobody_gets_in(tmp_path: Path) -> None:
    client = client_of(Doors(tmp_path), behind_proxy=True)
    assert client.get("/").status_code == 503
    assert client.post(UPDATE, json=asked(), headers=ORIGIN).status_code == 503


def test_a_damaged_file_of_accounts_opens_nothing(closed: FlaskClient, tmp_path: Path) -> None:
    for leftover in tmp_path.glob("decisions.sqlite-*"):
        leftover.unlink()
    (tmp_path / "decisions.sqlite").write_bytes(b"not a database at all" * 400)
    answer = closed.get("/")
    assert answer.status_code == 503
    assert "damaged" in answer.text
    assert closed.post(UPDATE, json=asked(), headers=ORIGIN).status_code == 503


def test_what_is_typed_comes_back_as_text(closed: FlaskClient) -> None:
    hostile = '"><script>alert(1)</script>'
    answer = sign_in(closed, hostile, next=hostile)
    assert answer.status_code == 401
    assert "<script>alert" not in answer.text
    assert "<script>alert" not in closed.get("/sign-in?next=" + hostile).text


def check_logs_tell_nothing(client: FlaskClient, caplog: pytest.LogCaptureFixture) -> None:
    caplog.set_level(logging.DEBUG)
    sign_in(client, password="a wrong password")
    answer = sign_in(client, "settle")
    token = cookie(answer).split("=")[1].split(";")[0]
    client.post(UPDATE, json=asked("/call/no-such-call"), headers=ORIGIN)
    client.post("/password", data={"old": "a wrong password", "new": "another good one"}, headers=ORIGIN)
    told = caplog.text + answer.headers["Location"]
    assert [
        secret for secret in (GOOD, "a wrong password", "another good one", token) if secret in told
    ] == []


def test_no_log_and_no_address_holds_a_password_or_token(
    closed: FlaskClient, caplog: pytest.LogCaptureFixture
) -> None:
    check_logs_tell_nothing(closed, caplog)


def test_a_log_of_what_was_sent_is_caught(closed: FlaskClient, caplog: pytest.LogCaptureFixture) -> None:
    def tell() -> None:
        logging.getLogger("careless").info("sent: %s", dict(request.form))

    closed.application.before_request_funcs[None].append(tell)
    with pytest.raises(AssertionError):
        check_logs_tell_nothing(closed, caplog)


def test_the_form_is_one_that_password_managers_fill(closed: FlaskClient) -> None:
    form = closed.get("/sign-in").text
    assert 'autocomplete="username"' in form
    assert 'autocomplete="current-password"' in form
    assert "Show what I type" in form
    assert not any(word in form.lower() for word in ("hint", "question?", "onpaste", 'autocomplete="off"'))


def test_behind_a_proxy_browsers_are_told_to_insist_on_https(doors: Doors, closed: FlaskClient) -> None:
    name = "Strict-Transport-Security"
    assert client_of(doors, behind_proxy=True).get("/sign-in").headers[name] == "max-age=31536000"
    assert name not in closed.get("/sign-in").headers, "on this machine there is no HTTPS to insist on"


def test_no_header_names_the_server(closed: FlaskClient) -> None:
    sign_in(closed, "manage")
    for place in ("/", "/audit", "/sign-in", "/export.csv?table=calls", "/nowhere"):
        headers = closed.get(place).headers
        assert [name for name, _ in headers if name in ("Server", "X-Powered-By")] == []
        assert not any(name.startswith("Access-Control") for name, _ in headers)
        assert "charset=utf-8" in headers["Content-Type"]
