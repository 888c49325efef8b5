from typing import Any

import pytest
from flask.testing import FlaskClient

from dashboard.app import create_app
from tests.dashboard.fake_fleet import FakeFleet

ORIGIN = {"Origin": "http://localhost"}


@pytest.fixture
def fleet() -> FakeFleet:
    return FakeFleet()


@pytest.fixture
def client(fleet: FakeFleet) -> FlaskClient:
    return create_app(fleet).server.test_client()  # type: ignore[arg-type]


def asked(path: str = "/", search: str = "") -> dict[str, Any]:
    """The body of the request that Dash sends when the address changes."""
    return {
        "output": "..page.children...navigation.children..",
        "outputs": [{"id": "page", "property": "children"}, {"id": "navigation", "property": "children"}],
        "inputs": [
            {"id": "address", "property": "pathname", "value": path},
            {"id": "address", "property": "search", "value": search},
        ],
        "changedPropIds": ["address.pathname"],
    }
