"""serve: the dashboard over a store, for this machine alone unless something else guards the door."""

import argparse
import ipaddress
import sys
from importlib import import_module

from analytics.errors import BadQuestion

NAME = "serve"
HELP = "serve the dashboard"
DEFAULT_PORT = 8050


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add the options."""
    parser.add_argument("--host", default="127.0.0.1", help="address to listen on (default: 127.0.0.1)")
    add_port(parser)
    parser.add_argument(
        "--behind-proxy",
        action="store_true",
        help="a reverse proxy in front asks for passwords and speaks HTTPS; needed for any other --host",
    )


def add_port(parser: argparse.ArgumentParser) -> None:
    """Add --port, which `demo` takes too."""
    parser.add_argument(
        "--port",
        metavar="N",
        type=_port,
        default=DEFAULT_PORT,
        help=f"port to listen on (default: {DEFAULT_PORT})",
    )


def run(arguments: argparse.Namespace) -> None:
    """Serve until interrupted."""
    refuse_open_door(arguments.host, arguments.behind_proxy)
    start(arguments, arguments.host, arguments.behind_proxy)


def start(arguments: argparse.Namespace, host: str, behind_proxy: bool) -> None:
    """Check that there is something to show, then hand over to the dashboard.

    Raises
    ------
    StoreProblem
        When nothing was loaded yet.
    BadQuestion
        When the address can not be listened on.
    """
    from analytics.fleet import Fleet
    from analytics.store import Store

    store = Store(arguments.data)
    store.reader().generation()
    server = import_module(
        "dashboard.server"
    )  # by name, because the library does not depend on the dashboard
    print(
        f"Serving {arguments.data} on http://{host}:{arguments.port}/ (stop with Ctrl-C)",
        file=sys.stderr,
        flush=True,
    )
    try:
        server.serve(Fleet(store), host=host, port=arguments.port, behind_proxy=behind_proxy)
    except OSError as error:
        raise BadQuestion(
            f"Could not listen on {host} port {arguments.port}: {error.strerror or error}. Choose another "
            f"--port or --host."
        ) from error


def refuse_open_door(host: str, behind_proxy: bool) -> None:
    """Refuse to show customer records to a network that nothing guards.

    Raises
    ------
    BadQuestion
        When the host is not this machine's own and no proxy is said to stand in front.
    """
    if behind_proxy or is_loopback(host):
        return
    raise BadQuestion(
        f"Listening on {host} would show customer records to everybody who reaches this machine: the "
        f"dashboard has no password of its own yet. Put a reverse proxy in front that asks for one and "
        f"speaks HTTPS, and start with --behind-proxy; or leave --host out to serve this machine alone."
    )


def is_loopback(host: str) -> bool:
    """Say whether the address is reached from this machine only."""
    try:
        return ipaddress.ip_address(host).is_loopback
    except ValueError:
        return host == "localhost"


def _port(text: str) -> int:
    if not text.isdigit() or not 0 < int(text) < 65536:
        raise argparse.ArgumentTypeError(f"'{text}' is no port; ports are numbers from 1 to 65535")
    return int(text)
