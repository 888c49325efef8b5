"""Small fleets that several tests ask and none changes: built once, anew where what builds them is broken."""

import copy
from collections.abc import Callable
from functools import wraps
from importlib import resources

from analytics import queries
from analytics.fleet import Fleet
from tests.analytics.small_fleet import SmallFleet

_BUILD = sorted(
    f"{folder}/{file.name.removesuffix('.sql')}"
    for folder in ("schema", "marts")
    for file in resources.files("sql").joinpath(folder).iterdir()
    if file.name.endswith(".sql")
)
"""Every statement that takes part in building."""


def kept(make: Callable[..., SmallFleet]) -> Callable[..., SmallFleet]:
    """Keep what a function builds, for the statements as they stand: a broken twin gets a fleet of its own.

    The facade is a new one each time, so that no answer is kept from one test to the next.
    """
    built: dict[tuple[object, ...], SmallFleet] = {}

    @wraps(make)
    def asked(**how: object) -> SmallFleet:
        known = (*how.items(), *map(queries.statement, _BUILD))
        if known not in built:
            built[known] = make(**how)
        fleet = copy.copy(built[known])
        fleet.fleet = Fleet(fleet)
        return fleet

    return asked
