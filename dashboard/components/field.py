"""A labelled field to type into as one component, drawn by assets/field.js; its text is only ever text."""

from dash.development.base_component import Component


class Field(Component):
    """A field of a form that the browser itself sends.

    Parameters
    ----------
    id, name : str
        Unique id on the page; name in the form.
    label : str
        Words above the field.
    value : str
        The text in it now.
    most : int
        Characters it takes.
    rows : int
        Lines; 1 for a single line.
    kind : str
        Of a single line: "text", or "date" for a day, written and sent as 2026-03-01.
    needed : bool
        Whether a single line must be filled in.
    """

    _children_props: list[str] = []  # noqa: RUF012
    _base_nodes = ["children"]  # noqa: RUF012
    _namespace = "dashboard"
    _type = "Field"
    _prop_names = ["id", "name", "label", "value", "most", "rows", "kind", "needed"]  # noqa: RUF012
    _valid_wildcard_attributes: list[str] = []  # noqa: RUF012
    available_properties = _prop_names
    available_wildcard_properties: list[str] = []  # noqa: RUF012

    def __init__(
        self,
        id: str,
        name: str,
        label: str,
        value: str = "",
        most: int = 2000,
        rows: int = 2,
        kind: str = "text",
        needed: bool = False,
    ) -> None:
        super().__init__(
            id=id, name=name, label=label, value=value, most=most, rows=rows, kind=kind, needed=needed
        )
