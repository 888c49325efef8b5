"""Serves a dashboard from this process on a free port, as the production server does."""

import threading
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

import waitress

from dashboard.app import create_app


@contextmanager
def served(fleet: Any) -> Iterator[str]:
    """Serve a fleet; gives the address to open."""
    server = waitress.create_server(create_app(fleet).server, host="127.0.0.1", port=0, threads=4)
    thread = threading.Thread(target=server.run, daemon=True)
    thread.start()
    try:
        yield f"http://127.0.0.1:{server.effective_port}"
    finally:
        server.close()
        thread.join(timeout=5)
