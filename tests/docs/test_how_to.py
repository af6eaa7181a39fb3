"""The pages of docs/how-to say the words on the buttons, and name pages that are there."""

from __future__ import annotations

import ast
import re
from functools import cache
from pathlib import Path

import pytest
from starlette.routing import Match

from collop.shop import StillClock, create_shop
from collop.web import create_app

ROOT = Path(__file__).parents[2]
WEB = ROOT / "src" / "collop" / "web"
HOW_TO = sorted(path for path in (ROOT / "docs" / "how-to").glob("*.md") if path.stem != "index")
#: Where a value stands in a text of a template.
VALUE = "\0"
_STEP = re.compile(r"^(\d+)\. ", re.MULTILINE)


def _told(text):
    """Return a text with its values marked and its spaces made one."""
    text = re.sub(r"%\(\w+\)s|%%|{{.*?}}", VALUE, text, flags=re.DOTALL)
    return " ".join(text.split())


def _in_template(text):
    """Yield every text that a template may show: messages, text nodes, spoken names."""
    text = re.sub(r"{#.*?#}", "", text, flags=re.DOTALL)
    for found in re.findall(r"""_\(\s*(?:"([^"]*)"|'([^']*)')""", text):
        yield _told("".join(found))
    for body in re.findall(r"{%-? *trans.*?%}(.*?){%-? *endtrans", text, re.DOTALL):
        yield from (_told(part) for part in re.split(r"{%-? *pluralize.*?%}", body))
    yield from (_told(name) for name in re.findall(r'(?:aria-label|title)="([^"]+)"', text))
    for node in re.split(r"<[^>]*>", re.sub(r"{%.*?%}", "<>", text, flags=re.DOTALL)):
        yield _told(node)


def _in_module(path):
    """Yield the texts of a module of pages: names that its tables hold."""
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if (
            isinstance(node, ast.Constant)
            and isinstance(node.value, str)
            and node.value[:1].isupper()
        ):
            yield _told(node.value)


@cache
def _shown():
    """Return the whole texts that pages may show, and patterns of those with values."""
    texts = {text for path in (WEB / "templates").glob("*.html")
             for text in _in_template(path.read_text(encoding="utf-8"))}  # fmt: skip
    texts |= {text for path in WEB.glob("*.py") for text in _in_module(path)}
    # before the first value a text names the button just as well: "Release" of "Release %(name)s"
    plain = {text.split(VALUE)[0].strip(".,:; ") for text in texts} - {""}
    # a pattern says something only if it has words of its own; a value is a number, a name or lb
    solid = [text for text in texts if VALUE in text and len(re.findall(r"[A-Za-z]", text)) >= 3]
    value = r"(?:lb|(?![a-z]).+)"
    patterns = [
        re.compile(value.join(re.escape(part) for part in text.split(VALUE))) for text in solid
    ]
    return plain, patterns


def _stands(word):
    """Tell whether a word stands on a page: as it is, or with a value in it."""
    plain, patterns = _shown()
    return word in plain or any(pattern.fullmatch(word) for pattern in patterns)


def _text(path):
    return path.read_text(encoding="utf-8")


@pytest.fixture(scope="module")
def routes(tmp_path_factory):
    """Return the routes of the pages of a shop."""
    path = tmp_path_factory.mktemp("routes") / "shop.db"
    shop = create_shop(f"sqlite:///{path}", demo=True, clock=StillClock())
    yield create_app(shop).routes
    shop.close()


def test_a_word_that_stands_nowhere_is_found_out():
    """The look-up knows a word of a button, one with a value in it, and one that is nowhere."""
    assert _stands("Book spread")
    assert _stands("Cleaned down 08:00")
    assert not _stands("Book the spreads")


@pytest.mark.parametrize("path", HOW_TO, ids=lambda path: path.stem)
def test_words_in_bold_stand_on_the_pages(path):
    """Each word in bold is a text of a template or of a table of the pages."""
    words = [
        " ".join(word.split()) for word in re.findall(r"\*\*(.+?)\*\*", _text(path), re.DOTALL)
    ]
    assert len(words) >= 2
    assert [word for word in words if not _stands(word)] == []


@pytest.mark.parametrize("path", HOW_TO, ids=lambda path: path.stem)
def test_addresses_lead_to_pages(path, routes):
    """Each address in quotes is one that the shop answers."""
    named = re.findall(r"`(/[^`\s]*)`", _text(path))
    assert named
    for address in named:
        scope = {"type": "http", "method": "GET", "path": address, "root_path": "", "headers": []}
        assert any(route.matches(scope)[0] is Match.FULL for route in routes), address


@pytest.mark.parametrize("path", HOW_TO, ids=lambda path: path.stem)
def test_a_task_is_told_in_steps(path):
    """A task has three to seven steps, counted from one, and leads to its reference."""
    text = _text(path)
    numbers = [int(number) for number in _STEP.findall(text)]
    assert numbers == list(range(1, len(numbers) + 1))
    assert 3 <= len(numbers) <= 7
    assert "More: [" in text
    assert len(text.splitlines()) <= 40


def test_every_task_is_in_the_list():
    """The list of tasks has each page once."""
    listed = _text(ROOT / "docs" / "how-to" / "index.md").split("```{toctree}")[1]
    names = re.findall(r"^([a-z-]+)$", listed, re.MULTILINE)
    assert sorted(names) == [path.stem for path in HOW_TO]
