import socket

import pytest

from analytics.errors import ServiceCallError
from dashboard.server import check_host, serve
from tests.dashboard.fake_fleet import FakeFleet


@pytest.mark.parametrize("host", ["127.0.0.1", "127.0.0.9", "localhost", "::1"])
def test_this_machine_alone_is_allowed(host: str) -> None:
    check_host(host, behind_proxy=False)


@pytest.mark.parametrize("host", ["0.0.0.0", "::", "192.168.1.4", "calls.example", ""])
def test_open_address_is_refused_without_a_proxy(host: str) -> None:
    with pytest.raises(ServiceCallError, match="--behind-proxy"):
        check_host(host, behind_proxy=False)
    check_host(host, behind_proxy=True)


def test_serve_refuses_before_it_listens() -> None:
    with pytest.raises(ServiceCallError, match="--behind-proxy"):
        serve(FakeFleet(), host="0.0.0.0")  # type: ignore[arg-type]


def test_taken_port_is_said() -> None:
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        with pytest.raises(ServiceCallError, match="another port with --port"):
            serve(FakeFleet(), port=taken.getsockname()[1])  # type: ignore[arg-type]
