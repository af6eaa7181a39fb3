"""Documents lead somewhere, speak of every command and setting, and gather what is not known."""

from __future__ import annotations

import re
from dataclasses import MISSING, fields
from decimal import Decimal
from pathlib import Path

import pytest

from collop.cli import main
from collop.shop.settings_model import Settings

ROOT = Path(__file__).parents[2]
DOCS = ROOT / "docs"
PAGES = [ROOT / "README.md", ROOT / "CHANGELOG.md", *sorted(DOCS.rglob("*.md"))]
_LINK = re.compile(r"!?\[[^\]]*\]\(([^)\s]+)\)")
#: Sections in which a page says where its method stops.
_STOPS = re.compile(r"^## (?:What it does not know|What is not known|Limits)$", re.MULTILINE)


def _text(path):
    """Return a page without what is shown as typed."""
    return re.sub(r"```.*?```", "", path.read_text(encoding="utf-8"), flags=re.DOTALL)


def _places(path):
    """Return the places of a page that a link may name, as headings give them."""
    found = set()
    for title in re.findall(r"^#+ (.+)$", _text(path), re.MULTILINE):
        words = re.sub(r"[`*]|\[([^\]]*)\]\([^)]*\)", r"\1", title).lower()
        found.add(re.sub(r"[^\w\- ]", "", words).strip().replace(" ", "-"))
    return found


@pytest.mark.parametrize("path", PAGES, ids=lambda path: str(path.relative_to(ROOT)))
def test_links_of_a_page_lead_to_a_file_and_a_place(path):
    """Each link within the project ends at a file, and where it names one, at a heading of it."""
    for link in _LINK.findall(_text(path)):
        if re.match(r"[a-z]+:", link):
            continue
        target, _, place = link.partition("#")
        file = (path.parent / target).resolve() if target else path
        assert file.exists(), link
        if place:
            assert place in _places(file), link


def test_the_look_up_of_places_knows_headings():
    """A heading is found by its words, and nothing else is."""
    assert "what-comes-back" in _places(DOCS / "clearing.md")
    assert "what-never-was" not in _places(DOCS / "clearing.md")


def test_each_command_is_spoken_of():
    """Each command stands in a page of the documents, as it is typed or by a page of its name."""
    texts = [page.read_text(encoding="utf-8") for page in DOCS.rglob("*.md")]
    for name in main.commands:
        named = any(re.search(rf"`?collop {name}\b", text) for text in texts)
        assert named or (DOCS / f"{name}.md").is_file(), name


def test_each_setting_of_the_shop_is_told():
    """The page of settings names each one; a plain figure stands in its row as the code has it."""
    text = (DOCS / "settings.md").read_text(encoding="utf-8")
    for one in fields(Settings):
        row = next((line for line in text.splitlines() if f"`{one.name}`" in line), None)
        assert row is not None, one.name
        if isinstance(one.default, (Decimal, int)) and not isinstance(one.default, bool):
            assert re.search(rf"(?<![\d.]){re.escape(str(one.default))}(?![\d.]\d)", row), one.name
        if one.name in ("name", "worths"):
            assert one.default is MISSING


def test_what_is_not_known_is_gathered():
    """The page of what is not known leads to each page that says where its method stops."""
    gathered = (DOCS / "not-known.md").read_text(encoding="utf-8")
    stopping = [page.name for page in DOCS.glob("*.md") if _STOPS.search(_text(page))]
    assert len(stopping) >= 15
    for name in stopping:
        assert f"]({name})" in gathered, name


def test_what_is_not_known_begins_with_the_law():
    """Local codes come before any figure here, and rows from memory are named."""
    gathered = (DOCS / "not-known.md").read_text(encoding="utf-8")
    assert "local code and the inspector come first" in gathered
    assert "`memory`" in gathered
    assert "assumptions" in gathered
