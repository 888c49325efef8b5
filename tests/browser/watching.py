"""One browser page that is watched: what it asks the network for, what it complains of, how wide it is."""

from dataclasses import dataclass, field
from urllib.parse import urlsplit

from playwright.sync_api import Browser, Page

PHONE, DESK = 360, 1440
FLAGS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]


MARKED = """() => {
    const links = [...document.querySelectorAll("#navigation nav a")];
    const here = links.find(link => link.pathname === location.pathname);
    const marked = links.find(link => link.hasAttribute("aria-current"));
    return marked === here;
}"""
"""Whether the link to the page at this address, if there is one, is the one marked as current."""


@dataclass
class Watched:
    """A page with the requests that left this machine and the complaints of its console."""

    page: Page
    site: str
    outside: list[str] = field(default_factory=list)
    complaints: list[str] = field(default_factory=list)

    def open(self, address: str = "/") -> Page:
        self.page.goto(self.site + address)
        self.settle()
        return self.page

    def settle(self) -> None:
        """Wait until the page is drawn and nothing is being fetched for it.

        The address changes at a click and the page when its answer comes. A page and the link that is marked
        as the current one come in the same answer, so that the mark says whose page is drawn.
        """
        self.page.wait_for_selector("#question")
        self.page.wait_for_function(MARKED)
        self.page.wait_for_selector("#page:not([data-dash-is-loading])", state="attached")
        self.page.wait_for_load_state("networkidle")

    def arrive(self, pattern: str) -> None:
        """Wait until the address holds a text, and its page is drawn."""
        self.page.wait_for_url(lambda url: pattern in url)
        self.settle()


def watch(browser: Browser, site: str, width: int, scheme: str = "light") -> Watched:
    height = 800 if width == PHONE else 900
    context = browser.new_context(
        viewport={"width": width, "height": height},
        color_scheme=scheme,
        reduced_motion="reduce",  # type: ignore[arg-type]
    )
    watched = Watched(context.new_page(), site)
    own = urlsplit(site).netloc

    def note_request(url: str) -> None:
        parts = urlsplit(url)
        if parts.scheme in ("http", "https", "ws", "wss") and parts.netloc != own:
            watched.outside.append(url)

    watched.page.on("request", lambda request: note_request(request.url))
    watched.page.on(
        "console",
        lambda line: watched.complaints.append(line.text) if line.type in ("error", "warning") else None,
    )
    watched.page.on("pageerror", lambda error: watched.complaints.append(str(error)))
    return watched
