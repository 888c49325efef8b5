"""Serves the dashboard with a production server, on this machine alone unless told otherwise."""

import ipaddress
import logging
import sys
import threading
import time
from typing import Any

import waitress

from analytics.errors import BadQuestion
from analytics.fleet import Fleet
from analytics.intake.uploads import MOST_BYTES
from dashboard.app import Settings, create_app

THREADS = 4
LOOKS_EVERY_S = 1.0
MOST_SENT_BYTES = MOST_BYTES + 1
"""A file of the greatest size is taken; the server answers what is larger without reading it."""
PROXY: dict[str, Any] = {
    "trusted_proxy": "*",  # the proxy alone can reach the port
    "trusted_proxy_count": 1,
    "trusted_proxy_headers": {"x-forwarded-for"},
    "clear_untrusted_proxy_headers": True,
}
"""Behind a proxy the address that a request comes from is the one that the proxy names."""


def serve(fleet: Fleet, host: str = "127.0.0.1", port: int = 8050, behind_proxy: bool = False) -> None:
    """Serve until interrupted.

    Parameters
    ----------
    fleet : Fleet
        The facade that answers every question.
    host : str
        Address to listen on; other than loopback only behind a proxy.
    port : int
        TCP port.
    behind_proxy : bool
        Whether a proxy that speaks HTTPS stands before the dashboard.

    Raises
    ------
    BadQuestion
        When asked to be reached from elsewhere without a proxy or accounts, or when the port is taken.
    """
    check_host(host, behind_proxy, fleet.doors().accounts.exist() if behind_proxy else False)
    logging.getLogger("waitress.queue").setLevel(logging.ERROR)  # a short queue is no news
    fleet = fleet.holding()
    app = create_app(fleet, settings=Settings(behind_proxy=behind_proxy))
    try:
        server = waitress.create_server(
            app.server,
            host=host,
            port=port,
            threads=THREADS,
            ident=None,
            max_request_body_size=MOST_SENT_BYTES,
            **(PROXY if behind_proxy else {}),
        )
    except OSError as error:
        raise BadQuestion(
            f"The dashboard can not listen on {host}, port {port} ({error.strerror or error}). Another "
            "program, perhaps another dashboard, may use the port: stop it, or choose another port with "
            "--port."
        ) from error
    fleet.bringing().tidy()
    threading.Thread(target=keep_ready, args=(fleet,), name="keep-ready", daemon=True).start()
    print(f"The dashboard is at http://{host}:{port}/ (stop it with Ctrl+C)", file=sys.stderr, flush=True)
    server.run()


def keep_ready(fleet: Fleet, looks: int | None = None) -> None:
    """Whenever other data was loaded, have its answers worked out, and then have it shown.

    Parameters
    ----------
    fleet : Fleet
        The facade, holding what it shows until then.
    looks : int, optional
        How often to look for other data; without end unless given.
    """
    ready: object = None
    while looks is None or (looks := looks - 1) >= 0:
        try:
            newest = fleet.newest().generation().get("number")
            if newest is not None and newest != ready:
                ready = newest
                fleet.make_ready()
        except Exception:  # whoever asks for a page gets the problem in words
            logging.getLogger(__name__).exception("Answers could not be prepared")
        try:
            fleet.keep_coded()
        except Exception:  # whoever sees codes gets the problem in words
            logging.getLogger(__name__).exception(
                "Answers with codes in place of names could not be prepared"
            )
        time.sleep(LOOKS_EVERY_S)


def check_host(host: str, behind_proxy: bool, has_accounts: bool) -> None:
    """Refuse to be reached from beyond this machine without accounts, or with no proxy before the dashboard.

    Raises
    ------
    BadQuestion
        When `host` is not a loopback address and no proxy stands before, or one does without accounts.
    """
    if not behind_proxy and not _is_loopback(host):
        raise BadQuestion(
            f"Listening on {host} would send customers' calls and passwords over the network for everybody "
            "to read: the dashboard speaks no HTTPS. Leave out --host to serve this machine alone "
            "(127.0.0.1), or put a proxy that speaks HTTPS before it and say --behind-proxy."
        )
    if behind_proxy and not has_accounts:
        raise BadQuestion(
            "Behind a proxy the dashboard can be reached by others, and nobody has an account: everybody "
            "could look. Make one first: service-calls users add NAME --role manage"
        )


def _is_loopback(host: str) -> bool:
    if host == "localhost":
        return True
    try:
        return ipaddress.ip_address(host).is_loopback
    except ValueError:
        return False
