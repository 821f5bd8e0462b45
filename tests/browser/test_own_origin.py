"""Nothing that this program shows or runs asks any other server for anything."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from urllib.parse import urlsplit

from playwright.sync_api import BrowserContext, Request, expect

from tests.browser.conftest import MakeOffice, MakeTablet
from tests.browser.office_pages import office_paths
from tests.browser.tour import Tour
from tests.support.checkout import ROOT
from tests.support.server import Server

ADDRESS = re.compile(r"""(?:https?:)?//[a-z0-9-]+(?:\.[a-z0-9-]+)+[^\s"'<>)\\]*""", re.IGNORECASE)
# Names of languages, which nobody fetches.
NAMES = (
    "http://www.w3.org/2000/svg",
    "http://www.w3.org/1999/xlink",
    "http://www.w3.org/1999/xhtml",
)
OWN_FILES = (
    "bench.js",
    "office.js",
    "recover.js",
    "sw.js",
    "bench.css",
    "office.css",
    "docs/init.js",
)


@dataclass
class Asked:
    """Every request of a browser, wherever it went and whoever in it asked."""

    context: BrowserContext
    addresses: list[str] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.context.on("request", self._take)

    def _take(self, request: Request) -> None:
        self.addresses.append(request.url)

    def elsewhere(self, own: str) -> list[str]:
        here = ("data", ""), ("blob", ""), (urlsplit(own).scheme, urlsplit(own).netloc)
        parts = [(one, urlsplit(one)) for one in self.addresses]
        return [
            one
            for one, split in parts
            if (split.scheme, split.netloc) not in here and not one.startswith(f"blob:{own}")
        ]


def test_a_tour_of_the_office_and_of_the_documentation_asks_only_this_server(
    office_shop: Server, office: MakeOffice
) -> None:
    desk = office(office_shop.url)
    asked = Asked(desk.context)
    desk.sign_in("B-05")
    for path in office_paths(office_shop.url):
        desk.open(path)
    desk.open("/api/docs")
    expect(desk.page.locator("#docs .opblock").first).to_be_visible()
    desk.expect_refusals()
    desk.open("/nowhere")
    assert asked.elsewhere(office_shop.url) == []
    paths = {urlsplit(one).path for one in asked.addresses}
    assert {"/static/office.js", "/static/docs/swagger-ui-bundle.js", "/nowhere"} <= paths


def test_a_whole_setup_at_the_bench_asks_only_this_server(shop: Server, tablet: MakeTablet) -> None:
    bench = tablet(shop.url)
    asked = Asked(bench.context)
    bench.open()
    Tour(bench, lambda _: None).whole_setup("SAD-20-001", "T-05", "I-01", "B-01", "4101")
    assert asked.elsewhere(shop.url) == []
    paths = {urlsplit(one).path for one in asked.addresses}
    assert {"/static/bench.js", "/api/sync/push", "/api/sync/shop"} <= paths


def test_what_we_wrote_names_no_other_server() -> None:
    files = [ROOT / "web/dist" / name for name in OWN_FILES]
    for folder in ("web/templates", "web/styles", "web/src"):
        files += [path for path in (ROOT / folder).rglob("*") if path.is_file()]
    found = {
        f"{path.relative_to(ROOT)}: {one}"
        for path in files
        for one in ADDRESS.findall(path.read_text(encoding="utf-8"))
        if one not in NAMES
    }
    assert len(files) > 100
    assert found == set()


def test_an_address_of_another_server_would_be_found() -> None:
    for text in (
        'src="https://cdn.test/x.js"',
        "url(//fonts.test/a.woff2)",
        "@import 'HTTP://a.test'",
    ):
        assert ADDRESS.search(text), text
    for text in ("// a comment. Then more", "path//file", "http://localhost:8000/bench"):
        assert not ADDRESS.search(text), text
