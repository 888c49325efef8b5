"""The page This week: what it says, its forms, its files; and that hostile text stays text."""

import csv
import io

import pytest
from flask.testing import FlaskClient

from analytics.hand_sorting import hand_sorting
from dashboard.app import draw
from dashboard.pages.this_week import PARTS
from tests.dashboard.fake_fleet import FORMULA, HOSTILE, FakeFleet
from tests.dashboard.reading import links, nodes, plain, text


def shown(search: str = "", calls: int = 4480) -> list:
    return draw(FakeFleet(calls=calls), "/this-week", search)[0]  # type: ignore[arg-type]


def test_it_answers_in_numbers_and_says_since_when() -> None:
    words = text(shown()).replace(" ,", ",")
    assert "12 returns since Thursday, 12 third trips, 12 repairs to ring up, 12 open calls" in words
    assert "the working day before the last one in the records (Friday, 26 Jun 2026)" in words
    assert "1 group is worth a look" in words
    assert "44 of all still to review" in words, "of 49 rows one of each list is marked"


def test_it_opens_with_what_it_can_not_say_of_people() -> None:
    assert "not fit for pay or discipline" in text(plain(shown())[1])


def test_nothing_to_review_is_said_proudly() -> None:
    words = text(shown(calls=0))
    assert "Nothing to review this week among technicians, depots, parts and product families" in words
    assert "nothing is left to review" in words
    assert "Nobody rang again." in words


def forms(search: str) -> list[dict]:
    return [n["props"] for n in nodes(plain(shown(search))) if n.get("type") == "Form"][1:]


def test_a_return_can_be_sorted_remarked_on_and_marked() -> None:
    sort, remark, mark = forms("?mark=return:RC39999&within=60")
    for form in (sort, remark, mark):
        assert form["method"] == "post"
        assert form["action"].startswith("/decisions?within=60&matter=")
        assert form["action"].endswith("&about=return&item=RC39999")
    choice = next(n["props"] for n in nodes(sort) if n.get("type") == "Choice")
    assert choice["value"] == "our_work"
    assert [value for value, _ in choice["options"]] == ["", *hand_sorting().labels]
    assert "The technician's own remark" in {n.get("label") for n in nodes(remark)}


@pytest.mark.parametrize("kind", ["third_trip", "open_call", "no_proof"])
def test_other_things_are_marked_alone(kind: str) -> None:
    (form,) = forms(f"?mark={kind}:C39999")
    assert f"matter=reviewed&about={kind}" in form["action"]


@pytest.mark.parametrize("search", ["", "?mark=return:gone", "?mark=person:T01", "?mark=open_call:RC39999"])
def test_no_form_for_what_is_not_on_the_list(search: str) -> None:
    assert forms(search) == []


def test_each_row_leads_to_its_form_and_each_form_back() -> None:
    marks = [link for link in links(shown()) if "mark=" in link]
    assert len(marks) == 6 + 3 * 5 + 1
    assert all(link.endswith("#deciding") for link in marks)
    assert "/this-week" in links(shown("?mark=return:RC39999"))


def test_lists_are_shown_page_by_page() -> None:
    assert "7 to 12 of 12" in text(shown("?returns=2"))
    assert "7 to 12 of 12" in text(shown("?returns=999")), "a page beyond the last is the last"


def test_numbers_of_open_calls_open_those_calls() -> None:
    """Twelve open calls of 40 days, two of each thing to wait for, laid out by the stand-in."""
    to_parts = "/this-week?waiting=part_on_order%3A31#open-calls"
    assert to_parts in links(shown())
    assert "/this-week?waiting=%3A31#open-calls" in links(shown())
    words = text(shown("?waiting=part_on_order:31"))
    assert "Below: 2 open calls, waiting for a part on order, open over 30 days" in words
    assert "mark=open_call" in " ".join(links(shown("?waiting=part_on_order:31")))
    assert "Below: 0 open calls, waiting for a part on order, open 3 to 7 days" in text(
        shown("?waiting=part_on_order:3")
    )
    assert "Below:" not in text(shown("?waiting=nonsense:99")), "what is no such name leaves none out"


def test_what_people_typed_is_text() -> None:
    page = plain(shown())
    assert HOSTILE in text(page)
    assert not any("dangerously" in str(key).lower() for node in nodes(page) for key in node)


@pytest.mark.parametrize("table", [part.table for part in PARTS.values()])
def test_each_list_is_kept_with_its_marks_and_no_formula(client: FlaskClient, table: str) -> None:
    answer = client.get(f"/export.csv?table={table}")
    rows = list(csv.reader(io.StringIO(answer.text.removeprefix("\ufeff"), newline="")))
    head = next(row for row in rows if "reviewed_at" in row)
    marked = [dict(zip(head, row, strict=True)) for row in rows[rows.index(head) + 1 :]]
    assert {row["note"] for row in marked} <= {"", "'" + FORMULA}
    assert "'" + FORMULA in {row["note"] for row in marked}
    about_people = table in ("this_week_returns", "worth_a_look")
    assert ("not fit for pay" in answer.text.splitlines()[0]) == about_people


@pytest.mark.parametrize("table", ["this_week_returns", "returns"])
def test_a_list_of_returns_has_a_place_for_the_remark(client: FlaskClient, table: str) -> None:
    head = client.get(f"/export.csv?table={table}").text
    assert "remark,remark_by" in head
    assert "'" + FORMULA in head or HOSTILE in head
