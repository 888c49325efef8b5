"""Every page, drawn from the stand-in: anatomy, links, empty states, hostile text, addresses gone wrong."""

from datetime import datetime
from typing import Any
from urllib.parse import parse_qs, urlsplit

import pytest

from analytics.questions.subsets import SUBSETS
from dashboard import pages
from dashboard.app import draw, head
from tests.dashboard.fake_fleet import FORMULA, HOSTILE, FakeFleet
from tests.dashboard.reading import links, nodes, plain, text

ADDRESSES = [
    "/",
    "/this-week",
    "/new-call",
    "/callbacks",
    "/over-time",
    "/compare",
    "/first-visit",
    "/checks",
    "/how-soon",
    "/silence",
    "/repeat-units",
    "/filter-age",
    "/costs",
    "/wrong-turns",
    "/model-card",
    "/calls",
    "/data",
    "/bring",
    "/call/C40000",
    "/unit/U1001",
    "/lesson",
    "/lessons",
]
FILTERED = [page.path for page in pages.PAGES if page.filtered]


def shown(path: str, search: str = "", fleet: Any = None) -> list:
    return draw(fleet or FakeFleet(), path, search)[0]


@pytest.mark.parametrize("path", ADDRESSES)
def test_page_has_its_question_its_answer_and_how_it_was_counted(path: str) -> None:
    page = plain(shown(path))
    assert page[0]["type"] == "H1"
    assert page[0]["props"]["children"].endswith("?")
    classes = [node["props"].get("className") for node in page]
    assert "answer" in classes
    assert classes.index("answer") < classes.index("evidence") < classes.index("counted")


def test_registry_finds_each_page_and_nothing_else() -> None:
    assert [pages.find(path)[0].path for path in ADDRESSES] == [  # type: ignore[index]
        "/", "/this-week", "/new-call", "/callbacks", "/over-time", "/compare", "/first-visit", "/checks",
        "/how-soon", "/silence", "/repeat-units", "/filter-age", "/costs", "/wrong-turns", "/model-card",
        "/calls", "/data", "/bring", "/call/<id>", "/unit/<id>", "/lesson", "/lessons",
    ]  # fmt: skip
    assert pages.find("/call/A/B") is not None, "an id may hold a slash"
    assert [pages.find(path) for path in ("/nowhere", "/call/", "/call", "/callbacks/x")] == [None] * 4


@pytest.mark.parametrize("path", FILTERED)
def test_filters_stand_in_the_sentence_and_travel_with_every_link(path: str) -> None:
    page = shown(path, "?depot=north&within=60&match=any&from=2025-01&by=symptom")
    chosen = {
        node["props"]["name"]: node["props"]["value"]
        for node in nodes(plain(page))
        if node.get("type") == "Choice"
    }
    assert {k: chosen[k] for k in ("depot", "within", "match", "from", "to")} == {
        "depot": "north", "within": "60", "match": "any", "from": "2025-01", "to": "",
    }  # fmt: skip
    to_calls = [
        parse_qs(urlsplit(link).query) for link in links(page) if "/calls?" in link and "subset" in link
    ]
    assert to_calls
    for query in to_calls:
        assert (query["depot"], query["within"]) == (["north"], ["60"])


@pytest.mark.parametrize("path", ADDRESSES)
def test_every_link_leads_to_a_page_and_every_subset_exists(path: str) -> None:
    for link in links(shown(path)):
        parts = urlsplit(link)
        assert link.startswith("#") or parts.path in ("/export.csv", "/figure.json") or pages.find(parts.path)
        if parts.path == "/calls" and "subset" in parse_qs(parts.query):
            assert parse_qs(parts.query)["subset"][0] in SUBSETS


def test_several_depots_in_an_address_are_one_choice_that_keeps_them() -> None:
    page = plain(shown("/", "?depot=north&depot=hills"))
    depot = next(n for n in nodes(page) if n.get("type") == "Choice" and n["props"]["name"] == "depot")
    label = {option[0]: option[1] for option in depot["props"]["options"]}[depot["props"]["value"]]
    assert label == "North or Hills"
    assert ["north", "hills"] in [option[2] for option in depot["props"]["options"] if len(option) > 2]


@pytest.mark.parametrize("path", FILTERED)
def test_wrong_address_is_said_and_the_page_still_answers(path: str) -> None:
    words = text(shown(path, "?depot=nowhere&within=45"))
    assert "There is no depot “nowhere”" in words
    assert "7, 14, 30, 60 or 90" in words
    assert "How this was counted" in words


@pytest.mark.parametrize("path", [path for path in ADDRESSES if path not in ("/data", "/bring")])
def test_before_the_first_load_a_page_says_how_to_load(path: str) -> None:
    page = shown(path, fleet=FakeFleet(loaded=False))
    assert "Nothing is loaded yet" in text(page)
    assert "service-calls load calls.csv" in text(page)
    assert "/bring" in links(page)


@pytest.mark.parametrize("path", ["/data", "/bring"])
def test_before_the_first_load_a_file_can_be_brought(path: str) -> None:
    page = shown(path, fleet=FakeFleet(loaded=False))
    assert [node for node in nodes(plain(page)) if node.get("type") == "FileChooser"]


@pytest.mark.parametrize("path", FILTERED)
def test_no_calls_is_a_state_with_a_next_step(path: str) -> None:
    page = shown(path, fleet=FakeFleet(calls=0))
    assert "No calls fit these choices" in text(page)
    assert "nan" not in text(page)


def test_few_calls_get_no_percentage_anywhere() -> None:
    words = text(shown("/callbacks", fleet=FakeFleet(calls=4)))
    assert "too few" in words
    assert "25%" not in words


def test_unknown_call_and_unit_are_said() -> None:
    assert "There is no call 'X1'" in text(shown("/call/X1"))
    assert "There is no unit 'X1'" in text(shown("/unit/X1"))
    assert "no such page" in text(shown("/nowhere"))


def test_fault_becomes_a_page_without_its_trace(caplog: pytest.LogCaptureFixture) -> None:
    class Broken(FakeFleet):
        def figures(self, *_: Any, **__: Any) -> Any:
            raise ZeroDivisionError("secret of the house")

    words = text(shown("/", fleet=Broken()))
    assert "This page could not be made" in words
    assert "secret" not in words
    reference = words.split("reference ")[1].split(".")[0]
    assert reference in caplog.text
    assert "secret of the house" in caplog.text


def test_hostile_text_stays_text() -> None:
    """Nothing on a page is ever set as HTML: no component that could do it is used."""
    for path in [*ADDRESSES, f"/call/{FORMULA}"]:
        page = plain(shown(path))
        assert {node["type"] for node in nodes(page) if "type" in node} & {
            "Markdown",
            "Iframe",
            "Script",
        } == set()
        assert not any("dangerously" in str(key).lower() for node in nodes(page) for key in node)
    assert HOSTILE in text(shown("/call/C40000"))


@pytest.mark.parametrize("search", ["?by=technician", "?technician=T01"])
def test_view_about_people_opens_with_what_it_can_not_say(search: str) -> None:
    page = plain(shown("/callbacks", search))
    assert "not fit for pay or discipline" in text(page[1])
    assert "pay or discipline" not in text(shown("/callbacks"))


def test_people_are_ordered_by_calls_and_not_singled_out() -> None:
    words = text(shown("/callbacks", "?by=technician"))
    assert "Returns by technician" in words
    assert "Most returns by technician" not in words


def test_same_kind_and_any_complaint_stand_side_by_side() -> None:
    words = text(shown("/callbacks"))
    assert "for the same kind of complaint" in words
    assert "for any complaint" in words
    assert "Any complaint" in words


def test_calls_are_shown_page_by_page() -> None:
    first, second = (text(shown("/calls", search)) for search in ("", "?page=2"))
    assert "1 to 50 of 4,480" in first
    assert "51 to 100 of 4,480" in second
    assert "Last" in first


def test_heading_that_sorts_turns_round_and_says_so() -> None:
    page = plain(shown("/calls", "?sort=opened_at&order=down"))
    columns = next(n["props"]["columns"] for n in nodes(page) if n.get("type") == "Table")
    opened = next(each for each in columns if each["label"] == "Opened")
    assert opened["sorted"] == "descending"
    assert "order=up" in opened["href"]


def test_cautions_stand_where_checks_are_shown() -> None:
    assert "Unplug the unit" in text(shown("/call/C40000"))


def test_navigation_carries_the_filters_and_marks_the_page() -> None:
    shell = plain(head(FakeFleet(), "/callbacks", "?depot=north&by=cause&page=2"))  # type: ignore[arg-type]
    assert "/data?depot=north" in links(shell)
    current = [node["href"] for node in nodes(shell) if node.get("aria-current") == "page"]
    assert current == ["/callbacks?depot=north"]
    assert "Data as loaded on 3 Jul 2026" in text(shell)


@pytest.mark.parametrize("path", ["/", "/callbacks", "/calls", "/call/C40000", "/unit/U1001"])
def test_links_to_calls_and_units_carry_the_filters(path: str) -> None:
    records = [link for link in links(shown(path, "?within=60")) if link.startswith(("/call/", "/unit/"))]
    assert records
    assert all(link.endswith("?within=60") for link in records)


def test_while_newer_data_is_made_ready_the_page_says_what_it_shows() -> None:
    fleet = FakeFleet()
    assert "Newer data" not in text(shown("/", fleet=fleet))
    fleet.newer = datetime(2026, 6, 29, 14, 5)
    assert "Newer data was loaded at 14:05" in text(shown("/", fleet=fleet))
    assert "as loaded on" in text(shown("/", fleet=fleet))
