"""Views over the records with one passage of their text replaced: twins that the tests must catch."""

from importlib import resources

from tests.analytics.small_fleet import SmallFleet

VIEWS = resources.files("sql").joinpath("schema/views_intake.sql").read_text(encoding="utf-8")
_BEGINS = {name: VIEWS.index(f"create view {name}") for name in ("marts.intake", "marts.training")}
_TEXTS = {
    "marts.intake": VIEWS[_BEGINS["marts.intake"] : _BEGINS["marts.training"]],
    "marts.training": VIEWS[_BEGINS["marts.training"] :],
}


def break_view(fleet: SmallFleet, name: str, passage: str, other: str) -> None:
    """Make a view anew with a passage of its text, which is to stand in it once, replaced."""
    view = _TEXTS[name]
    assert view.count(passage) == 1, passage
    fleet.connection.execute(view.replace("create view", "create or replace view").replace(passage, other))
