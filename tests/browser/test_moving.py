"""Moving about by keyboard and by mouse: filters, numbers, calls, and back; the address holds the view."""

from collections.abc import Callable

import pytest
from playwright.sync_api import Page

from tests.browser.watching import DESK, PHONE, Watched

pytestmark = pytest.mark.browser


def tab_to(page: Page, selector: str, most: int = 60) -> None:
    """Press Tab until an element has the focus, as somebody without a mouse would."""
    for _ in range(most):
        page.keyboard.press("Tab")
        if page.evaluate("s => document.activeElement.matches(s)", selector):
            return
    raise AssertionError(f"{selector} is not reached by {most} presses of Tab")


def value(page: Page, name: str) -> str:
    return str(page.locator(f"select[name='{name}']").first.input_value())


def test_filter_number_call_and_back_by_keyboard(visit: Callable[..., Watched]) -> None:
    watched = visit(DESK)
    page = watched.open("/")
    tab_to(page, "#filter-within")
    page.keyboard.press("ArrowDown")
    watched.arrive("within=60")
    assert page.evaluate("document.activeElement.id") == "filter-within", "the focus stays on the filter"
    assert value(page, "within") == "60"
    tab_to(page, ".answer a")
    page.keyboard.press("Enter")
    watched.arrive("/calls?")
    assert "within=60" in page.url
    assert page.evaluate("document.activeElement.id") == "question", "a new page begins at its title"
    tab_to(page, "th a[href^='/call/']")
    page.keyboard.press("Enter")
    watched.arrive("/call/")
    assert page.locator("h1").inner_text().startswith("What happened on call")
    page.go_back()
    watched.arrive("/calls?")
    page.go_back()
    watched.arrive("within=60")
    page.go_back()
    page.wait_for_url(lambda url: "within" not in url)
    watched.settle()
    assert value(page, "within") == ""


def test_arrow_keys_through_a_filter_are_one_change(visit: Callable[..., Watched]) -> None:
    watched = visit(DESK)
    page = watched.open("/callbacks")
    updates: list[str] = []
    page.on("request", lambda request: updates.append(request.url) if "_dash-update" in request.url else None)
    page.focus("#filter-within")
    for _ in range(2):
        page.keyboard.press("ArrowDown")
    watched.arrive("within=90")
    assert len(updates) == 1


def test_address_restores_the_view(visit: Callable[..., Watched]) -> None:
    watched = visit(DESK)
    page = watched.open("/callbacks")
    for name in ("depot", "kind"):
        option = page.locator(f"select[name='{name}'] option").nth(1).get_attribute("value")
        page.select_option(f"select[name='{name}']", option)
        watched.arrive(f"{name}=")
    page.select_option("select[name='by']", "symptom")
    watched.arrive("by=symptom")
    answer, address = page.locator(".answer").inner_text(), page.url
    other = visit(PHONE)
    again = other.open(address.removeprefix(other.site))
    assert again.locator(".answer").inner_text() == answer
    for name in ("depot", "kind", "by"):
        assert value(again, name) == value(page, name)


def test_number_in_the_answer_is_the_number_of_calls_behind_it(visit: Callable[..., Watched]) -> None:
    watched = visit(DESK)
    page = watched.open("/callbacks")
    link = page.locator(".answer a").first
    count = link.inner_text()
    link.click()
    watched.arrive("/calls?")
    assert page.locator(".answer strong").inner_text() == f"{count} calls"


def test_mark_of_a_chart_opens_its_calls(visit: Callable[..., Watched]) -> None:
    watched = visit(DESK)
    page = watched.open("/callbacks?within=90")
    dots = page.locator(".chart .scatterlayer .points path")
    dot = dots.nth(dots.count() // 2)
    dot.scroll_into_view_if_needed()  # the head may take two lines, and the chart then begins further down
    box = dot.bounding_box()
    assert box
    page.mouse.move(box["x"] + box["width"] / 2, box["y"] + box["height"] / 2)
    page.mouse.click(box["x"] + box["width"] / 2, box["y"] + box["height"] / 2)
    watched.arrive("/calls?")
    assert "from=" in page.url
    assert "subset=judged" in page.url


def test_long_table_is_paged_by_the_server(visit: Callable[..., Watched]) -> None:
    watched = visit(DESK)
    page = watched.open("/calls")
    assert page.locator("main tbody tr").count() == 50
    first = page.locator("tbody th").first.inner_text()
    page.get_by_role("link", name="Next page").click()
    watched.arrive("page=2")
    assert page.locator("tbody th").first.inner_text() != first
    page.get_by_role("link", name="Opened").click()
    watched.arrive("sort=opened_at")
    assert page.locator("th[aria-sort]").inner_text().startswith("Opened")


def test_navigation_folds_on_a_phone_and_works_by_keyboard(visit: Callable[..., Watched]) -> None:
    watched = visit(PHONE)
    page = watched.open("/?within=60")
    assert not page.locator(".head nav").is_visible()
    tab_to(page, ".menu")
    page.keyboard.press("Enter")
    assert page.locator(".menu").get_attribute("aria-expanded") == "true"
    tab_to(page, ".head nav a[href^='/callbacks']")
    page.keyboard.press("Enter")
    watched.arrive("/callbacks?within=60")
    assert page.title().startswith("Which repairs come back?")


def test_call_is_opened_by_its_number(visit: Callable[..., Watched]) -> None:
    watched = visit(DESK)
    page = watched.open("/calls")
    number = page.locator("tbody th a").first.inner_text()
    page.fill("#find-id", number)
    page.keyboard.press("Enter")
    watched.arrive("/call/")
    assert number in page.locator("h1").inner_text()


def test_skip_link_leads_to_the_page(visit: Callable[..., Watched]) -> None:
    page = visit(DESK).open("/")
    page.keyboard.press("Tab")
    page.keyboard.press("Enter")
    assert page.evaluate("document.activeElement.id") == "question"
