"""`make docs`: built without a warning, asking no other host, with a page for everything."""

from __future__ import annotations

import re
import subprocess
import sys
from html.parser import HTMLParser
from pathlib import Path
from urllib.parse import unquote, urlsplit

import pytest

from collop.cli import main
from collop.cli.asks import _SCHEMA_MODULES
from collop.reference import listed_tables

ROOT = Path(__file__).parents[2]
SCRIPT = ROOT / "scripts" / "site"
#: Attributes by which a page makes the browser fetch something; an ordinary link does not.
_FETCHED = {("script", "src"), ("img", "src"), ("img", "srcset"), ("iframe", "src"),
            ("source", "src"), ("source", "srcset"), ("video", "src"), ("audio", "src"),
            ("embed", "src"), ("object", "data"), ("input", "src"), ("use", "href")}  # fmt: skip
_FETCHING_LINKS = {"stylesheet", "icon", "shortcut icon", "preload", "prefetch", "preconnect",
                   "dns-prefetch", "modulepreload", "manifest", "apple-touch-icon"}  # fmt: skip


class Built(HTMLParser):
    """What a built page fetches, where it leads, and the places in it."""

    def __init__(self, html):
        super().__init__()
        self.fetched, self.links, self.places = [], [], set()
        self.feed(html)

    def handle_starttag(self, tag, attrs):
        """Note what opens here."""
        facts = dict(attrs)
        self.places.add(facts.get("id"))
        self.fetched += [value for name, value in attrs if (tag, name) in _FETCHED and value]
        if tag == "link" and facts.get("rel") in _FETCHING_LINKS:
            self.fetched.append(facts["href"])
        if tag == "a" and facts.get("href"):
            self.links.append(facts["href"])


@pytest.fixture(scope="module")
def site(tmp_path_factory):
    """Build the site once; a warning ends it."""
    to = tmp_path_factory.mktemp("built")
    done = subprocess.run([sys.executable, SCRIPT, "--to", to], check=False, cwd=ROOT,
                          capture_output=True, text=True)  # fmt: skip
    assert done.returncode == 0, done.stdout + done.stderr
    assert "WARNING" not in done.stderr
    return to / "site"


@pytest.fixture(scope="module")
def pages(site):
    """Return every built page by its path."""
    found = {path: Built(path.read_text(encoding="utf-8")) for path in site.rglob("*.html")}
    assert len(found) > 100
    return found


def test_a_page_asks_no_other_host(pages):
    """No script, style, picture or frame comes from elsewhere."""
    asked = [(path.name, one) for path, page in pages.items() for one in page.fetched
             if urlsplit(one).netloc]  # fmt: skip
    assert asked == []
    assert any(page.fetched for page in pages.values())


def test_a_style_asks_no_other_host(site):
    """No style of the site loads another style, letter or picture from elsewhere."""
    styles = list(site.rglob("*.css"))
    assert styles
    for path in styles:
        text = path.read_text(encoding="utf-8")
        assert not re.findall(r"(?:url\(|@import)\s*[\"']?\s*(?:https?:)?//", text), path.name


def test_links_of_the_site_lead_somewhere(pages):
    """Each link within the site ends at a file that is there, and at a place in it."""
    lost = []
    for path, page in pages.items():
        for link in page.links:
            there = urlsplit(link)
            if there.scheme or there.netloc:
                continue
            target = (path.parent / unquote(there.path)).resolve() if there.path else path
            place = unquote(there.fragment)
            if not target.exists() or (
                place and target in pages and place not in pages[target].places
            ):
                lost.append((path.name, link))
    assert lost == []


def test_every_command_problem_and_table_has_its_page(site):
    """The reference is made from the code, so nothing is left out."""
    for name in main.commands:
        text = (site / "reference" / "commands" / f"{name}.html").read_text(encoding="utf-8")
        assert f"collop {name}" in text
        assert "Example:" in text, name
    for name in _SCHEMA_MODULES:
        text = (site / "reference" / "json" / f"{name}.html").read_text(encoding="utf-8")
        assert "The plan: the schema" in text, name
    for path in listed_tables():
        name = path.removesuffix(".csv").replace("/", "-")
        text = (site / "reference" / "figures" / f"{name}.html").read_text(encoding="utf-8")
        assert "Publications" in text, path


def test_a_memory_row_is_marked_in_the_reference(site):
    """As many cells say `memory` as the table has rows from memory."""
    name = "rules/tax_price.csv"
    rows = listed_tables()[name]
    text = (site / "reference" / "figures" / "rules-tax_price.html").read_text(encoding="utf-8")
    marked = re.findall(r"<td[^>]*><p>memory</p></td>", text)
    expected = sum(row.status().value == "memory" for row in rows)
    assert len(marked) == expected > 0


def test_the_first_page_tells_the_job_and_shows_it(pages, site):
    """The start is the README, with its pictures."""
    start = (site / "start.html").read_text(encoding="utf-8")
    assert "whole animals" in start
    assert sum(one.startswith("_images/") for one in pages[site / "start.html"].fetched) >= 3


def test_the_same_documents_give_the_same_pages(tmp_path):
    """No date and no chance is in what the site is made of: two layings out are the same."""
    sys.path.insert(0, str(SCRIPT.parent))
    try:
        from site_stage import stage
    finally:
        sys.path.remove(str(SCRIPT.parent))
    first, second = stage(tmp_path / "a"), stage(tmp_path / "b")
    files = {path.relative_to(first) for path in first.rglob("*") if path.is_file()}
    assert files == {path.relative_to(second) for path in second.rglob("*") if path.is_file()}
    for path in files:
        assert (first / path).read_bytes() == (second / path).read_bytes(), path
