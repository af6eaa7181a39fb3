"""A fresh demo shop for each test, with a clock that stands, and a client of its pages."""

from __future__ import annotations

import re
import shutil
from html import unescape
from html.parser import HTMLParser

import fake_kernel
import pytest
from starlette.testclient import TestClient

from collop.shop import StillClock, create_shop, open_shop
from collop.web import create_app


@pytest.fixture(scope="session")
def demo_file(tmp_path_factory):
    path = tmp_path_factory.mktemp("demo") / "shop.db"
    create_shop(f"sqlite:///{path}", demo=True, clock=StillClock()).close()
    return path


@pytest.fixture
def clock():
    return StillClock()


@pytest.fixture
def shop(demo_file, tmp_path, clock):
    path = tmp_path / "shop.db"
    shutil.copy(demo_file, path)
    opened = open_shop(f"sqlite:///{path}", clock)
    yield opened
    opened.close()


@pytest.fixture
def client(shop):
    app = create_app(shop, answer=fake_kernel.answer)
    with TestClient(app, follow_redirects=False) as made:
        yield made


class Page(HTMLParser):
    """The few facts of a page that the tests look at."""

    def __init__(self, html):
        super().__init__()
        self.labels, self.ids, self.fields, self.links, self.inline = set(), set(), [], [], []
        self.forms = {}
        self._form, self._in_label = None, False
        self.feed(html)

    def handle_starttag(self, tag, attrs):
        """Note what opens here."""
        facts = dict(attrs)
        self.ids.add(facts.get("id"))
        self.inline += [name for name in facts if name == "style" or name.startswith("on")]
        if tag in {"script", "style"} and not facts.get("src"):
            self.inline.append(tag)
        if tag == "label":
            self.labels.add(facts.get("for"))
            self._in_label = True
        if tag == "a":
            self.links.append(facts.get("href"))
        if tag == "form":
            self._form = facts.get("action") or facts.get("id") or ""
            self.forms.setdefault(self._form, [])
        if tag in {"input", "select"}:
            self.fields.append((tag, facts, self._in_label))
            if tag == "input":
                self._note(facts)

    def _note(self, facts):
        kind = facts.get("type", "text")
        chosen = kind not in {"radio", "checkbox"} or "checked" in facts
        if facts.get("name") and chosen and self._form is not None:
            self.forms[self._form].append((facts["name"], facts.get("value", "")))

    def handle_endtag(self, tag):
        """Note what ends here."""
        if tag == "label":
            self._in_label = False
        if tag == "form":
            self._form = None

    def form(self, action):
        """Return the texts of a form as a browser would send them (selects left out)."""
        sent = {}
        for name, value in self.forms[action]:
            sent.setdefault(name, []).append(value)
        return sent

    def unlabelled(self):
        """Return the fields that a screen reader could not name."""
        return [
            facts
            for tag, facts, inside in self.fields
            if not (tag == "input" and facts.get("type") == "hidden")
            and not inside
            and "aria-label" not in facts
            and facts.get("id") not in self.labels
        ]


def text_of(html):
    """Return the visible words of a page, in one line."""
    plain = re.sub(r"<(script|style)\b.*?</\1>|<[^>]+>", " ", html, flags=re.DOTALL)
    return re.sub(r"\s+", " ", unescape(plain))


@pytest.fixture
def read_page():
    return Page


@pytest.fixture
def words():
    return text_of
