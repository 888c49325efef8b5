"""A labelled native select as one component, drawn by assets/choice.js; its options are plain data."""

from collections.abc import Sequence

from dash.development.base_component import Component

Option = tuple[str, str] | tuple[str, str, list[str]]


class Choice(Component):
    """A choice among options, named by its label.

    Parameters
    ----------
    id, name : str
        Unique id on the page; name of the parameter in the address.
    options : list of (value, label) or (value, label, values)
        The value "" means the default, and is not written into the address. `values` stand for several at
        once.
    value : str
        The value chosen now.
    before : str
        Words of the label that are shown, before the select.
    spoken : str
        Words of the label that only screen readers need.
    layout : str
        "clause": in a sentence; "block": label above.
    """

    _children_props: list[str] = []  # noqa: RUF012
    _base_nodes = ["children"]  # noqa: RUF012
    _namespace = "dashboard"
    _type = "Choice"
    _prop_names = ["id", "name", "options", "value", "before", "spoken", "layout"]  # noqa: RUF012
    _valid_wildcard_attributes: list[str] = []  # noqa: RUF012
    available_properties = _prop_names
    available_wildcard_properties: list[str] = []  # noqa: RUF012

    def __init__(
        self,
        id: str,
        name: str,
        options: Sequence[Option],
        value: str,
        before: str = "",
        spoken: str = "",
        layout: str = "clause",
    ) -> None:
        super().__init__(
            id=id, name=name, options=options, value=value, before=before, spoken=spoken, layout=layout
        )
