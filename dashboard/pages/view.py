"""What a page module is given, and what it says about itself."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from urllib.parse import unquote

import polars as pl
from dash.development.base_component import Component

from analytics.filters import Filters
from analytics.fleet import Fleet
from dashboard.address import LIST_PARAMETERS, Address, href, parse


@dataclass(frozen=True)
class View:
    """One request for a page.

    Parameters
    ----------
    fleet : Fleet
        The facade that answers every question.
    address : Address
        Filters and options asked for.
    choices : mapping of str to DataFrame
        What the filters can be set to, as from `Fleet.choices`.
    path : str
        Path of the page asked for.
    record_id : str
        The call or unit in the path; "" for other pages.
    """

    fleet: Fleet
    address: Address
    choices: Mapping[str, pl.DataFrame] = field(default_factory=dict)
    path: str = "/"
    record_id: str = ""

    @property
    def filters(self) -> Filters:
        """The filters of the address."""
        return self.address.filters

    def here(self, **options: str | int | None) -> str:
        """Address of this page with the same filters and these options."""
        return href(self.path, self.filters, **options)


def read_address(fleet: Fleet, search: str) -> tuple[Mapping[str, pl.DataFrame], Address]:
    """Return what the filters can be set to, and what a query string sets them to."""
    choices = fleet.choices() if fleet.generation() else {}
    known = {name: set(choices[name]["value"]) for name in LIST_PARAMETERS.values() if name in choices}
    return choices, parse(search, known)


Content = list[Component]


@dataclass(frozen=True)
class Page:
    """A page: one question.

    Parameters
    ----------
    path : str
        Path; "<id>" at its end stands for the id of a record.
    name : str
        Short name for the navigation.
    question : str
        The question it answers, its title.
    content : callable
        View -> components below the navigation.
    parameters : tuple of str
        Parameters of the address beyond the filters.
    filtered : bool
        Whether the filters apply to it.
    in_navigation : bool
        Whether the navigation lists it.
    without_data : bool
        Whether it has something to show before anything is loaded.
    newest : bool
        Whether it shows the records as they are now, also while figures of them are still being worked out.
    role : str
        The role that somebody who is signed in needs to see it, see `dashboard.access`.
    """

    path: str
    name: str
    question: str
    content: Callable[[View], Content]
    parameters: tuple[str, ...] = ()
    filtered: bool = True
    in_navigation: bool = True
    without_data: bool = False
    newest: bool = False
    role: str = "look"

    def record_id(self, path: str) -> str | None:
        """Return the id in the path ("" where the page has none), or None when the path is another page's."""
        if not self.path.endswith("<id>"):
            return "" if path.rstrip("/") == self.path.rstrip("/") else None
        stem = self.path.removesuffix("<id>")
        return unquote(path.removeprefix(stem)) or None if path.startswith(stem) else None
