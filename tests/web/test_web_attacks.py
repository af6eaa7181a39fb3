"""Attacks tried by hand, kept: markup in every stored text, formulas in tables, paths that climb.

The texts are put into the database itself, past every check of what may be typed, so that what is
shown is safe even if a check is forgotten. Where the rule comes from: OWASP ASVS 5.0, 3.2.2 (text
is put into pages as text) and 1.2.10 (formulas in tables; from memory, not checked).
"""

from __future__ import annotations

import csv
import io
import json
import re
import shutil
import sqlite3
import zipfile
from collections import deque
from contextlib import closing
from html.parser import HTMLParser

import fake_kernel
import pypdfium2
import pytest
from sqlalchemy import String
from starlette.testclient import TestClient

from collop.shop import StillClock, open_shop
from collop.shop.access_tables import PRIVATE
from collop.shop.tables import metadata
from collop.web import create_app

MARKUP = "\"'><x-evil onevil=1>{{7*7}}</x-evil><b>evil</b>&amp;"
FORMULA = '=HYPERLINK("evil")'
#: Free text of the shop's tables: longer than any code or id, and no digest, key or unit.
SHORTEST = 80
NOT_FREE = {"key", "digest", "hash", "chain", "token", "token_hash", "answer", "id", "lot_id",
            "who"}  # fmt: skip
CONTROLLED = {("audit", "what"), ("bookings", "phone_end")}
STARTS = ("/ask", "/case", "/hook", "/rail", "/knife", "/bench", "/chalk", "/reckoning",
          "/learning", "/long-list", "/yields", "/styles", "/tickets", "/daybook", "/lockup",
          "/standing",
          "/buying", "/farm", "/flow", "/works", "/papers", "/exchange", "/sell", "/takings",
          "/freezer", "/rules", "/board", "/free-by", "/recall", "/put-away", "/chalk/choices",
          "/hook/to-tell", "/replay", "/trace")  # fmt: skip
MOST_PAGES = 260


def free_texts():
    """Return table and column of every free text of the shop."""
    for table in metadata.sorted_tables:
        if table in PRIVATE or table.name in {"acts", "settings", "setting_changes"}:
            continue
        for column in table.columns:
            is_text = isinstance(column.type, String) and (column.type.length or 0) >= SHORTEST
            is_key = column.primary_key or column.foreign_keys or column.name in NOT_FREE
            if is_text and not is_key and (table.name, column.name) not in CONTROLLED:
                yield table.name, column.name


def spoiled(demo_file, path, before="", after=""):
    """Copy the demo shop and put text around every free text that is there."""
    shutil.copy(demo_file, path)
    with closing(sqlite3.connect(path)) as raw, raw:
        guards = "SELECT name FROM sqlite_master WHERE type = 'trigger'"
        for (name,) in raw.execute(guards).fetchall():
            raw.execute(f"DROP TRIGGER {name}")
        for table, column in free_texts():
            raw.execute(
                f"UPDATE {table} SET {column} = ? || {column} || ?"  # noqa: S608 -- our own names
                f" WHERE {column} IS NOT NULL",
                [before, after],
            )
        name = json.dumps(f"{before}<x-evil>Tollebank</x-evil>{before}")
        raw.execute("UPDATE settings SET value = ? WHERE name = 'name'", [name])
    return open_shop(f"sqlite:///{path}", StillClock())


@pytest.fixture(scope="module")
def marked(demo_file, tmp_path_factory):
    """Yield a client of a shop whose every text ends in markup."""
    shop = spoiled(demo_file, tmp_path_factory.mktemp("marked") / "shop.db", after=MARKUP)
    app = create_app(shop, answer=fake_kernel.answer)
    with shop, TestClient(app, follow_redirects=True) as client:
        yield client


@pytest.fixture(scope="module")
def reckoned(demo_file, tmp_path_factory):
    """Yield a client of a shop whose every text begins as a formula."""
    shop = spoiled(demo_file, tmp_path_factory.mktemp("sums") / "shop.db", before=FORMULA)
    app = create_app(shop, answer=fake_kernel.answer)
    with shop, TestClient(app, follow_redirects=True) as client:
        yield client


class Looked(HTMLParser):
    """The links of a page, and whether stored text became part of its markup."""

    def __init__(self, html):
        super().__init__()
        self.links, self.evil, self.text = [], [], []
        self.feed(html)

    def handle_starttag(self, tag, attrs):
        """Note links and what must not be there."""
        facts = dict(attrs)
        if tag == "x-evil" or any(name.startswith("on") for name in facts):
            self.evil.append((tag, facts))
        if tag == "a" and facts.get("href"):
            self.links.append(facts["href"])

    def handle_data(self, data):
        """Keep what is read."""
        self.text.append(data)


def pages_of(client):
    """Yield address and answer of every page that links lead to, each path once."""
    waiting, known = deque(STARTS), set(STARTS)
    while waiting and len(known) <= MOST_PAGES + len(waiting):
        address = waiting.popleft()
        answer = client.get(address)
        yield address, answer
        if "text/html" not in answer.headers.get("content-type", ""):
            continue
        for link in Looked(answer.text).links:
            path = link.partition("#")[0]
            if path.startswith("/") and path.partition("?")[0] not in known:
                known.add(path.partition("?")[0])
                waiting.append(path)


def test_texts_enough_are_spoiled():
    """The list of free texts has the ones a customer or a farm can give."""
    found = set(free_texts())
    assert {("bookings", "name"), ("bookings", "note"), ("case_lines", "name"), ("lots", "farm"),
            ("people", "name"), ("standing_orders", "name")} <= found  # fmt: skip
    assert len(found) > 40


def test_markup_in_a_stored_text_is_text_on_every_page(marked):
    """No page has an element or handler that came from stored text; several show it as typed."""
    shown, seen = 0, 0
    for address, answer in pages_of(marked):
        assert answer.status_code < 500, address
        if "text/html" in answer.headers.get("content-type", ""):
            page = Looked(answer.text)
            assert page.evil == [], address
            shown += "<x-evil onevil=1>{{7*7}}</x-evil><b>evil</b>&amp;" in "".join(page.text)
            seen += 1
    assert seen > 80
    assert shown > 40


def test_pictures_take_text_as_text(marked):
    """A drawing that is served as a file holds no element from stored text."""
    answers = [one for _, one in pages_of(marked) if "svg" in one.headers.get("content-type", "")]
    for answer in answers:
        assert "<x-evil" not in answer.text


def text_of_pdf(data):
    """Return the words of a PDF."""
    paper = pypdfium2.PdfDocument(data)
    return re.sub(r"\s+", "", "".join(page.get_textpage().get_text_range() for page in paper))


def test_markup_in_a_stored_text_is_text_on_paper(marked):
    """Papers and tickets print what was typed, to the letter; nothing is set in bold by it."""
    paper = text_of_pdf(marked.get("/papers/set.pdf").content)
    assert "<x-evilonevil=1>{{7*7}}</x-evil><b>evil</b>&amp;" in paper
    new = {"case": "C02", "lot": "C02-0609", "tare": f"Small tray, pad and film{MARKUP}",
           "gross": "4.87", "size": "4x6", "by": "ines", "key": "marked"}  # fmt: skip
    made = marked.post("/tickets", data=new, follow_redirects=False)
    assert made.status_code == 303, made.text
    name = made.headers["location"].partition("?")[0]
    ticket = text_of_pdf(marked.get(f"{name}.pdf").content)
    assert "<x-evilonevil=1>{{7*7}}</x-evil><b>evil</b>&amp;" in ticket


def tables_of(client):
    """Yield name and text of every table that leaves the shop."""
    links = Looked(client.get("/exchange").text).links
    csvs = [link for link in links if link.endswith(".csv")]
    for address in [*csvs, "/daybook/export.csv", "/takings.csv"]:
        answer = client.get(address)
        assert answer.status_code == 200, address
        yield address, answer.text
    everything = client.get("/exchange/everything.zip")
    with zipfile.ZipFile(io.BytesIO(everything.content)) as found:
        for name in found.namelist():
            if name.endswith(".csv"):
                yield name, found.read(name).decode("utf-8")


def is_figure(cell):
    """Tell whether a cell is a plain number, perhaps with its unit, and so no formula."""
    return re.fullmatch(r"-[0-9.]+( (lb|oz|kg|g|degF|[A-Z]{3}))?", cell) is not None


def test_no_cell_of_any_table_is_a_formula(reckoned):
    """Each cell that would be worked out has a guard before it; the text is still there."""
    guarded = 0
    for name, text in tables_of(reckoned):
        for row in csv.reader(io.StringIO(text)):
            for cell in row:
                assert not cell.startswith(("=", "+", "@", "\t", "\r")), (name, cell)
                assert not cell.startswith("-") or is_figure(cell), (name, cell)
                guarded += cell.startswith((f"'{FORMULA}", f"\\{FORMULA}"))
    assert guarded > 100


CLIMBS = ("../../etc/passwd", "..%2f..%2fetc%2fpasswd", "%2e%2e/%2e%2e/etc/passwd",
          "..\\..\\etc\\passwd", "....//....//etc/passwd", "%00", "a%00.png", "/etc/passwd",
          "..%252f..%252fetc%252fpasswd", "%c0%ae%c0%ae/etc/passwd")  # fmt: skip
PLACES = ("/static/", "/static/vendor/", "/tickets/", "/exchange/", "/fire/", "/fire/x/",
          "/calendar/", "/sell/", "/hook/", "/knife/", "/rules/", "/lockup/line/",
          "/daybook/mince/", "/buying/", "/standing/", "/chalk/line/")  # fmt: skip


@pytest.mark.parametrize("climb", CLIMBS)
def test_no_path_climbs_out_of_its_folder(client, climb):
    """No address with dots, backslashes or a null byte gives a file of the machine."""
    for place in PLACES:
        for end in ("", ".csv", ".png", ".pdf"):
            answer = client.get(f"{place}{climb}{end}")
            assert answer.status_code in {200, 303, 307, 400, 404, 405, 409, 422}, (place, climb)
            assert "root:" not in answer.text
            assert "Traceback" not in answer.text


def test_a_path_sent_raw_does_not_climb_either(client):
    """The client library tidies paths up; this one goes to the application as it is."""
    for raw in ("/static/../app.py", "/static/%2e%2e/app.py", "/static//etc/passwd",
                "/static/..%5c..%5capp.py", "/static/vendor/../../app.py"):  # fmt: skip
        answer = client.request("GET", "http://testserver" + raw)
        assert answer.status_code == 404
        assert "create_app" not in answer.text


@pytest.mark.parametrize("back", ["//evil.example", "/\\evil.example", "https://evil.example",
                                  "javascript:alert(1)", "\t//evil.example", "/\t/evil.example",
                                  "/%0d%0aSet-Cookie:x=1", "/\r\nSet-Cookie: x=1"])  # fmt: skip
def test_no_form_sends_anybody_to_another_site(client, back):
    """The way back after a choice of units stays in the shop, and adds no header."""
    answer = client.post("/device/units", data={"unit": "kg", "back": back})
    target = answer.headers["location"]
    assert target.startswith("/")
    assert not target.startswith(("//", "/\\", "/\t"))
    assert "\n" not in target
    assert "x=1" not in answer.headers.get("set-cookie", "")
