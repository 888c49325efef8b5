"""The shell: one address in, one page out. Nothing is kept between requests; the pages are in pages/."""

import logging
import secrets
from dataclasses import dataclass
from importlib import resources

import dash
from dash import ClientsideFunction, Input, Output
from dash.development.base_component import Component

from analytics.errors import NotReady, ServiceCallError, UnknownRecord
from analytics.fleet import Fleet
from dashboard import (
    access,
    auditing,
    bringing,
    changing,
    deciding,
    export,
    guard,
    lesson_recording,
    pages,
    seeing,
    signing,
)
from dashboard.address import filters_only
from dashboard.components.page import page as whole_page
from dashboard.components.shell import INDEX, PRODUCT, frame, navigation
from dashboard.components.states import failed, not_found, nothing_loaded, notices, problem
from dashboard.pages.tables import Kept
from dashboard.pages.view import View, read_address
from dashboard.words import day

log = logging.getLogger(__name__)
AS_CODES = "technicians as codes"
NOT_ALLOWED = "Your account may look, and not change records. Ask whoever manages the accounts."


@dataclass(frozen=True)
class Settings:
    """How an application is served.

    Parameters
    ----------
    behind_proxy : bool
        Whether a proxy stands before it; then any Host is accepted, and the proxy answers for it.
    """

    behind_proxy: bool = False


def create_app(fleet: Fleet, *, settings: Settings | None = None) -> dash.Dash:
    """Make the application; one per process, since nothing but the address tells one view from another.

    Parameters
    ----------
    fleet : Fleet
        The facade that answers every question; it follows new loads by itself.
    settings : Settings, optional
        How it is served.
    """
    app = dash.Dash(
        __name__,
        title=PRODUCT,
        update_title="",
        assets_folder=str(resources.files("dashboard").joinpath("assets")),
        index_string=INDEX,
        serve_locally=True,
        compress=True,
    )
    app.layout = frame()
    _follow_the_address(app, fleet)
    settings, doors = settings or Settings(), fleet.doors()
    guard.protect(app, settings)
    access.protect(app.server, doors, settings)
    signing.register(app.server, doors, settings)
    auditing.register(app.server, doors)
    seeing.register(app.server)
    export.register(app.server, Kept(fleet))
    deciding.register(app.server, fleet)
    lesson_recording.register(app.server, fleet)
    bringing.register(app.server, fleet)
    changing.register(app.server, fleet.newest())
    return app


def _follow_the_address(app: dash.Dash, fleet: Fleet) -> None:
    @app.callback(
        Output("page", "children"),
        Output("navigation", "children"),
        Input("address", "pathname"),
        Input("address", "search"),
    )
    def show(path: str | None, search: str | None) -> tuple[list[Component], list[Component]]:
        return draw(fleet, path or "/", search or "")

    shell = "shell"
    app.clientside_callback(
        ClientsideFunction(shell, "settled"), Output("settled", "data"), Input("page", "children")
    )
    app.clientside_callback(
        ClientsideFunction(shell, "follow"),
        Output({"chart": dash.MATCH}, "className"),
        Input({"chart": dash.MATCH}, "clickData"),
        prevent_initial_call=True,
    )


def draw(fleet: Fleet, path: str, search: str) -> tuple[list[Component], list[Component]]:
    """Return the content of a page and its navigation, both of the generation that is current now.

    A problem becomes a page that says what it is and what to do next.

    Parameters
    ----------
    fleet : Fleet
        The facade.
    path, search : str
        Path and query string of the address.
    """
    navigation: list[Component] = []
    try:
        found = pages.find(path)
        fleet = seeing.for_whom(fleet)
        seen = (fleet.newest() if found and found[0].newest else fleet).for_one_page()
        navigation = head(seen, path, search)
        return _content(seen, path, search), navigation
    except UnknownRecord as error:
        content = whole_page("There is no such record", not_found("Nothing under this number", str(error)))
    except NotReady as error:
        content = whole_page("Not there yet", problem(str(error)))
    except ServiceCallError as error:
        content = whole_page("This can not be shown", problem(str(error)))
    except Exception:
        reference = secrets.token_hex(4)
        log.exception("page %s failed, reference %s", path, reference)
        content = whole_page("Something went wrong", failed(reference))
    return content, navigation


def head(fleet: Fleet, path: str, search: str) -> list[Component]:
    """Return the navigation: the pages with the filters carried along, and what data they stand on."""
    carried = filters_only(search)
    links = [
        (page.name, page.path + carried, page.record_id(path) is not None)
        for page in pages.PAGES
        if page.in_navigation
    ]
    made_at = fleet.generation().get("made_at")
    here = access.person()
    return navigation(
        links,
        f"Data as loaded on {day(made_at)}" if made_at else "",
        (here.name if access.sees_names() else f"{here.name}, {AS_CODES}", here.role) if here else None,
    )


def _content(fleet: Fleet, path: str, search: str) -> list[Component]:
    found = pages.find(path)
    if found is None:
        return whole_page(
            "There is no such page", not_found("Nothing lives at this address", "It may be mistyped.")
        )
    each, record_id = found
    if not access.may(each.role):
        return whole_page(each.question, problem(NOT_ALLOWED))
    if not fleet.generation() and not each.without_data:
        return whole_page(each.question, nothing_loaded())
    choices, address = read_address(fleet, search)
    content = each.content(View(fleet, address, choices, path, record_id))
    return [content[0], *notices([*_made_ready(fleet), *address.problems]), *content[1:]]


def _made_ready(fleet: Fleet) -> list[str]:
    newer = fleet.loaded_meanwhile()
    if newer is None:
        return []
    shown = fleet.generation().get("made_at")
    return [
        f"Newer data was loaded at {newer:%H:%M}, and its figures are being worked out. Until they are there "
        f"this page shows the data as loaded on {day(shown)} at {shown:%H:%M}."
    ]
