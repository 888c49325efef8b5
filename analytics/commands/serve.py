"""serve: the dashboard over a store, for this machine alone unless something else guards the door."""

import argparse
from importlib import import_module

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
        help="a reverse proxy in front speaks HTTPS; needed for any other --host, and needs accounts",
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
    start(arguments, arguments.host, arguments.behind_proxy)


def start(arguments: argparse.Namespace, host: str, behind_proxy: bool) -> None:
    """Hand over to the dashboard, which refuses addresses that nothing guards.

    A store that is still empty can be served: the first load shows at the next click.
    """
    from analytics.fleet import Fleet
    from analytics.store import Store

    server = import_module("dashboard.server")  # by name: the library does not depend on the dashboard
    server.serve(Fleet(Store(arguments.data)), host=host, port=arguments.port, behind_proxy=behind_proxy)


def _port(text: str) -> int:
    if not text.isdigit() or not 0 < int(text) < 65536:
        raise argparse.ArgumentTypeError(f"'{text}' is no port; ports are numbers from 1 to 65535")
    return int(text)
