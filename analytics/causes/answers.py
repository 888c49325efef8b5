"""Names of what is known when the telephone rings; no heavy imports, since the command line lists them."""

from collections.abc import Mapping

ANSWERS = (
    "mould_state",
    "dispenser_flow",
    "fill_tube_ice",
    "switch_on",
    "freezer_temperature",
    "filter_last_changed",
    "filter_kind",
    "problem_duration",
    "what_changed",
    "already_tried",
    "supply_type",
    "shutoff_valve",
    "where_it_stands",
)
"""Intake answers that hold levels, in the order in which they are asked."""
UNIT_FACTS = ("product_family", "ice_maker_kind")
"""Levels known from the list of units, not asked for."""
COMPLAINT = "complaint"
"""The symptoms of a call as one level; each of them is a level of its own besides."""
TOLD_BY: Mapping[str, tuple[str, ...]] = {
    "filter_last_changed": ("filter_age_days", "filter_age_began_days"),
    "problem_duration": ("problem_duration_days",),
    "freezer_temperature": ("freezer_celsius",),
}
"""Quantities that go with an answer."""
