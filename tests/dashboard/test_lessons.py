"""The pages on lessons: what hides until asked, no names unasked, and the one form that records."""

from datetime import date
from typing import Any

import pytest
from flask.testing import FlaskClient

from analytics.lessons import Lesson
from dashboard import guard
from dashboard.app import draw, head
from dashboard.components.lesson_case import questions
from dashboard.components.lesson_form import PATH
from dashboard.pages.lessons import points
from tests.dashboard.conftest import ORIGIN
from tests.dashboard.fake_fleet import HOSTILE, FakeFleet
from tests.dashboard.fake_lessons import CAUSE, case
from tests.dashboard.reading import links, nodes, plain, text


def shown(path: str, search: str = "", fleet: Any = None) -> list:
    return draw(fleet or FakeFleet(), path, search)[0]


def folded(page: list) -> list[dict[str, Any]]:
    return [node["props"] for node in nodes(plain(page)) if node.get("type") == "Details"]


def in_the_open(tree: Any) -> str:
    """Words of a page that stand there before anything is unfolded."""

    def cut(node: Any) -> Any:
        if isinstance(node, list):
            return [cut(each) for each in node]
        if isinstance(node, dict) and node.get("type") == "Details" and not node["props"].get("open"):
            return cut(node["props"]["children"][0])
        if isinstance(node, dict):
            return {name: cut(value) for name, value in node.items()}
        return node

    return text(cut(plain(tree)))


def test_steps_and_outcome_hide_until_asked_for() -> None:
    page = shown("/lesson", f"?cause={CAUSE}")
    sheets = [node for node in nodes(plain(page)) if node.get("type") == "Article"]
    assert len(sheets) == 3
    before, whole = in_the_open(sheets[1]), text(sheets[1])
    for hidden in ("8 drops", "inlet valve", "rang again", "Valve seeps", "look at the filter"):
        assert hidden in whole
        assert hidden not in before
    for there in ("What would you check next?", "No ice; product family", "Was it right?", HOSTILE):
        assert there in before


def test_everything_can_be_opened_for_paper() -> None:
    page = shown("/lesson", f"?cause={CAUSE}&unfold=all")
    play = [each for each in folded(page) if each.get("className") == "play"]
    assert play
    assert all(each["open"] for each in play)
    assert "8 drops" in in_the_open(page)


def test_no_technician_stands_on_a_sheet_and_cautions_do() -> None:
    words = text(shown("/lesson", f"?cause={CAUSE}"))
    assert "T01" not in words
    assert "Unplug the unit" in words
    assert "Read each sheet before you print" in words


def test_questions_come_from_the_case() -> None:
    asked = dict(questions(case()))
    assert "at most 0 drops" in asked["Which reading is healthy, and in which unit?"]
    assert "90 times in 100" in asked["Which check would have told it from this: filter clogged?"]
    assert "40 of 60" in asked["Which answer of the customer points somewhere?"]
    bare = case().__class__(**{**vars(case()), "sign": None, "shown": None, "apart": None})
    assert len(questions(bare)) == 1


def test_too_few_cases_are_said_and_none_is_a_state() -> None:
    assert "too few calls fit the rules" in text(shown("/lesson", f"?cause={CAUSE}"))
    assert "No call can be picked" in text(shown("/lesson", f"?cause={CAUSE}", FakeFleet(calls=0)))
    assert "There is no cause “nothing”" in text(shown("/lesson", "?cause=nothing"))


def test_neither_page_is_in_the_navigation_and_each_leads_to_the_other() -> None:
    shell = links(head(FakeFleet(), "/lesson", ""))  # type: ignore[arg-type]
    assert not [link for link in shell if link.startswith("/lesson")]
    assert "/lessons" in links(shown("/lesson", f"?cause={CAUSE}"))
    chosen = shown("/lessons", f"?lesson=2026-06-01:{CAUSE}")
    assert f"/lesson?cause={CAUSE}" in links(chosen)


def test_answer_says_each_standing_and_how_chance_was_dealt_with() -> None:
    words = text(shown("/lessons"))
    assert "3 lessons are recorded: after 1 the cause was missed at first less often" in words
    assert "after 1 there are too few calls to say and after 1 it is too soon to say" in words
    assert "would do better afterwards by chance alone: so the 3 months before a lesson are left out" in words
    assert "33% → 11% 30 of 90, 8 of 70; 6 technicians" in words.replace("  ", " ")
    assert "−18 −30 to −6" in words
    assert "not fit for pay or discipline" in words


def test_who_attended_is_named_on_request_alone() -> None:
    assert "Attended: T01" not in text(shown("/lessons"))
    assert "Attended: T01 and T02." in text(shown("/lessons", f"?lesson=2026-06-01:{CAUSE}"))


def test_no_lesson_yet_is_an_answer() -> None:
    class None_(FakeFleet):
        def lessons(self) -> list:
            return []

    words = text(shown("/lessons", fleet=None_()))
    assert "No lesson is recorded yet" in words
    assert "Record a lesson" in words


@pytest.mark.parametrize(("share", "said"), [(-0.126, "−13"), (0.004, "0"), (0.05, "+5"), (-0.004, "0")])
def test_points(share: float, said: str) -> None:
    assert points(share) == said


SENT = {"day": "2026-05-04", "cause": CAUSE, "attended": ["T02", "T01"], "note": HOSTILE, "who": "Ann"}


def kept(fleet: FakeFleet) -> list[Any]:
    return getattr(fleet, "recorded", [])


def test_a_form_of_the_dashboard_records_and_leads_back(client: FlaskClient, fleet: FakeFleet) -> None:
    answer = client.post(PATH, data=SENT, headers=ORIGIN)
    assert (answer.status_code, answer.headers["Location"]) == (303, "/lessons#recorded")
    assert kept(fleet) == [Lesson(date(2026, 5, 4), CAUSE, ("T01", "T02"), HOSTILE, "Ann")]
    client.post(PATH, data={"take_back": f"2026-05-04:{CAUSE}", "who": "Bo"}, headers=ORIGIN)
    assert kept(fleet)[1] == (f"2026-05-04:{CAUSE}", "Bo")


FROM_ELSEWHERE = [{}, {"Origin": "http://evil.example"}, ORIGIN | {"Sec-Fetch-Site": "cross-site"}]


def check_refused(client: FlaskClient, fleet: FakeFleet, headers: dict[str, str]) -> None:
    assert client.post(PATH, data=SENT, headers=headers).status_code == 403
    assert kept(fleet) == []


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


@pytest.mark.parametrize(
    "changed",
    [{"day": "4 May"}, {"day": ""}, {"attended": []}, {"cause": ""}, {"cause": "no"}, {"take_back": "1999"}],
)
def test_what_is_no_lesson_is_refused_in_words(
    client: FlaskClient, fleet: FakeFleet, changed: dict[str, Any]
) -> None:
    answer = client.post(PATH, data=SENT | changed, headers=ORIGIN)
    assert answer.status_code == 400
    assert "This was not kept" in answer.text
    assert "Back to the lessons" in answer.text
    assert HOSTILE not in answer.text, "what the message repeats is escaped"
    assert kept(fleet) == []


@pytest.mark.parametrize("method", ["get", "put", "delete"])
def test_no_other_method_records(client: FlaskClient, fleet: FakeFleet, method: str) -> None:
    assert getattr(client, method)(PATH, headers=ORIGIN).status_code in (404, 405)
    assert kept(fleet) == []


def test_another_shape_is_refused(client: FlaskClient, fleet: FakeFleet) -> None:
    assert client.post(PATH, data="{}", content_type="application/json", headers=ORIGIN).status_code == 415


def test_tables_can_be_kept_and_name_nobody_who_attended(client: FlaskClient) -> None:
    lessons = client.get("/export.csv?table=lessons").text
    assert "attended_before_wrong" in lessons
    assert "T01" not in lessons
    assert client.get("/export.csv?table=lesson_causes").status_code == 200
