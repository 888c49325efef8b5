import socket
from typing import Any

import pytest

from analytics.errors import ServiceCallError
from dashboard import server
from dashboard.server import check_host, keep_ready, serve
from tests.dashboard.fake_fleet import FakeFleet


@pytest.mark.parametrize("host", ["127.0.0.1", "127.0.0.9", "localhost", "::1"])
def test_this_machine_alone_is_allowed(host: str) -> None:
    check_host(host, behind_proxy=False, has_accounts=False)


@pytest.mark.parametrize("host", ["0.0.0.0", "::", "192.168.1.4", "calls.example", ""])
def test_open_address_is_refused_without_a_proxy(host: str) -> None:
    with pytest.raises(ServiceCallError, match="--behind-proxy"):
        check_host(host, behind_proxy=False, has_accounts=True)
    check_host(host, behind_proxy=True, has_accounts=True)


@pytest.mark.parametrize("host", ["0.0.0.0", "127.0.0.1"])
def test_behind_a_proxy_somebody_must_have_an_account(host: str) -> None:
    with pytest.raises(ServiceCallError, match="users add"):
        check_host(host, behind_proxy=True, has_accounts=False)
    with pytest.raises(ServiceCallError, match="users add"):
        serve(FakeFleet(), host=host, behind_proxy=True)  # type: ignore[arg-type]


def test_serve_refuses_before_it_listens() -> None:
    with pytest.raises(ServiceCallError, match="--behind-proxy"):
        serve(FakeFleet(), host="0.0.0.0")  # type: ignore[arg-type]


def test_taken_port_is_said() -> None:
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        with pytest.raises(ServiceCallError, match="another port with --port"):
            serve(FakeFleet(), port=taken.getsockname()[1])  # type: ignore[arg-type]


class Prepared(FakeFleet):
    """Counts how often it was prepared, over generations as they become current."""

    def __init__(self, numbers: list[int | None], broken: bool = False) -> None:
        super().__init__()
        self.numbers, self.broken, self.times, self.times_coded = iter(numbers), broken, 0, 0

    def generation(self) -> dict[str, Any]:
        number = next(self.numbers)
        return {} if number is None else {"number": number}

    def make_ready(self) -> None:
        self.times += 1
        if self.broken:
            raise ZeroDivisionError

    def keep_coded(self) -> bool:
        self.times_coded += 1
        if self.broken:
            raise ZeroDivisionError
        return True


@pytest.mark.parametrize("broken", [False, True])
def test_each_generation_is_prepared_once(broken: bool, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(server, "LOOKS_EVERY_S", 0.0)
    fleet = Prepared([None, 1, 1, 2, 2, 2], broken)
    keep_ready(fleet, looks=6)  # type: ignore[arg-type]
    assert (fleet.times, fleet.times_coded) == (2, 6)
