"""Boxes to tick under one heading as one component, drawn by assets/ticks.js; its options are plain data."""

from collections.abc import Sequence

from dash.development.base_component import Component


class Ticks(Component):
    """A choice of any number of options, in a form that the browser itself sends.

    Parameters
    ----------
    id, name : str
        Unique id on the page; name of every box in the form.
    label : str
        Heading of the boxes.
    options : list of (value, label)
    ticked : list of str
        Values ticked at first.
    """

    _children_props: list[str] = []  # noqa: RUF012
    _base_nodes = ["children"]  # noqa: RUF012
    _namespace = "dashboard"
    _type = "Ticks"
    _prop_names = ["id", "name", "label", "options", "ticked"]  # noqa: RUF012
    _valid_wildcard_attributes: list[str] = []  # noqa: RUF012
    available_properties = _prop_names
    available_wildcard_properties: list[str] = []  # noqa: RUF012

    def __init__(
        self,
        id: str,
        name: str,
        label: str,
        options: Sequence[tuple[str, str]],
        ticked: Sequence[str] = (),
    ) -> None:
        super().__init__(id=id, name=name, label=label, options=options, ticked=list(ticked))
