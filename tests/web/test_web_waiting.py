"""Forms that wait on a device: the table of them, when they were done, whose they are, the log."""

from __future__ import annotations

import json
import re
from datetime import UTC, datetime, timedelta

import pytest

from collop.errors import BadValue
from collop.measures import UnitPrice, Weight, WeightUnit
from collop.shop.kept_away import KeptAway
from collop.web.permissions import ACTION_OF, routes_of
from collop.web.rendering import STATIC
from collop.web.waiting_replay import kept_of
from collop.web.waiting_table import ALWAYS_KEPT, CANNOT_WAIT, MAY_WAIT

NOW = datetime(2026, 6, 9, 10, 31, tzinfo=UTC)


def sent(minutes, **more):
    """Return the headers of a form that waited so many minutes."""
    there = datetime(2031, 1, 1, 12, 0, tzinfo=UTC)  # the clock of the device may stand anywhere
    return {"X-Done-At": (there - timedelta(minutes=minutes)).isoformat(), "X-Device": "3f2a",
            "X-Device-Now": there.isoformat(), **more}  # fmt: skip


def sale(client, cut="C11", **more):
    """Return the form of a sale of a pound."""
    return {"line": f"cut={cut}&net=45359237000lb", "way": "cash", "by": "dot", "key": "k1"} | more


def test_every_form_that_may_wait_is_one_the_server_takes(client):
    """Each row of the table names a post of the server that writes, and says why and what."""
    posts = {route.path for method, route in routes_of(client.app) if method == "POST"}
    examples = {re.sub(r"\{(\w+)(:int)?\}", lambda found: "7" if found[2] else "H8", path): path
                for path in posts}  # fmt: skip
    for rule in MAY_WAIT:
        found = [path for plain, path in examples.items() if re.fullmatch(rule.path, plain)]
        assert len(found) == 1, rule
        assert ACTION_OF[f"POST {found[0]}"] not in {
            "settings",
            "people",
            "records",
            "price",
            "plan",
        }
        assert rule.why
        assert rule.words


def test_what_may_not_wait_says_why(client):
    """Every other post falls under a row with its reason; asks, prices and people among them."""
    for method, route in routes_of(client.app):
        if method == "POST":
            assert next(one for one in CANNOT_WAIT if route.path.startswith(one.path)).why
    shut = {one.path for one in CANNOT_WAIT}
    assert {"/ask", "/chalk", "/people", "/exchange", "/rules", "/"} <= shut


def test_the_offline_script_has_the_table_and_no_placeholder(client):
    """It is one valid JSON each, and customers' sheets are never touched by it."""
    script = client.get("/sw.js").text
    rules = json.loads(re.search(r"^const RULES = (.*);$", script, re.MULTILINE)[1])
    assert [one["path"] for one in rules["may"]] == [one.path for one in MAY_WAIT]
    assert json.loads(re.search(r"^const ALWAYS = (.*);$", script, re.MULTILINE)[1]) == list(
        ALWAYS_KEPT
    )
    assert "__" not in script
    assert 'if (path.startsWith("/fire/")) { return; }' in script
    loaded = json.loads(re.search(r"importScripts\(\.\.\.(\[.*\])\)", script)[1])
    assert all(client.get(one).status_code == 200 for one in loaded)


def test_the_scripts_stay_within_the_policy():
    """Nothing is made from text as HTML on a page, and nothing is asked of another host."""
    for name in ("waiting.js", "sell_away.js", "queue.js", "away_sums.js", "sw.js"):
        text = (STATIC / name).read_text(encoding="utf-8")
        assert not re.search(r"innerHTML|outerHTML|insertAdjacentHTML|document\.write|eval\(", text)
        assert not re.search(r"[\"'`]https?://", text)
        assert len(text.splitlines()) <= 420


def test_every_page_that_is_always_kept_opens(client):
    """200 and with the words of a copy, hidden."""
    for path in ALWAYS_KEPT:
        answer = client.get(path)
        assert answer.status_code == 200
        assert "data-as-of hidden" in answer.text


def test_the_waiting_page_tells_what_to_keep_and_what_may_wait(client, words):
    """The rooms, the next slips with their hand-over, and both lists with their reasons."""
    html = client.get("/waiting").text
    kept = re.search(r'data-keep="([^"]*)"', html)[1].split()
    assert kept[: len(ALWAYS_KEPT)] == list(ALWAYS_KEPT)
    assert all(client.get(path).status_code == 200 for path in kept)
    text = words(html)
    assert "needs https, or the counter's own machine" in text
    assert all(one.why in text for one in (*MAY_WAIT, *CANNOT_WAIT))


def test_a_cold_check_that_waited_is_of_its_time(client, shop):
    """Done 40 minutes before it came, by the shop's clock, wherever that of the device stands."""
    form = {"place": "case", "reading": "38", "degrees": "F", "by": "kofi", "key": "c1"}
    answer = client.post("/daybook/cold", data=form, headers=sent(40))
    assert answer.status_code == 303
    line = shop.day.line(re.search(r"done=(D\d+)", answer.headers["location"])[1])
    assert line.done_at == shop.now() - timedelta(minutes=40)
    assert line.at == shop.now()
    (late,) = shop.papers.late(line.done_at.date(), shop.now().date())
    assert (late.done_at, late.sheet, late.kind) == (line.done_at, "device 3f2a", "cold check")
    assert shop.check() == []


def test_sent_again_after_its_answer_was_lost_it_is_the_same(client, shop):
    """The first came at once, the second with its waiting time: one line, one act, no late note."""
    form = {"place": "case", "reading": "38", "degrees": "F", "by": "kofi", "key": "c1"}
    first = client.post("/daybook/cold", data=form)
    again = client.post("/daybook/cold", data=form, headers=sent(3))
    assert first.headers["location"] == again.headers["location"]
    assert shop.papers.late(shop.now().date(), shop.now().date()) == ()


@pytest.mark.parametrize(("minutes", "done"), [(-5, 0), (60 * 24 * 8, 60 * 24 * 8)])
def test_a_clock_in_doubt_is_noted_and_never_refused(client, shop, minutes, done):
    """Ahead of now, or over seven days ago: it is of its arrival, and its note says so."""
    form = {"place": "case", "reading": "38", "degrees": "F", "by": "kofi", "key": "c1"}
    answer = client.post("/daybook/cold", data=form, headers=sent(minutes))
    assert answer.status_code == 303
    line = shop.day.line(re.search(r"done=(D\d+)", answer.headers["location"])[1])
    assert line.done_at == shop.now()
    told = shop.now() - timedelta(minutes=done)
    (late,) = shop.papers.late(told.date(), shop.now().date())
    assert late.sheet == "device 3f2a, its clock in doubt"
    assert late.done_at == told


@pytest.mark.parametrize("headers", [
    {"x-done-at": "yesterday"}, {"x-done-at": "9" * 400}, {"x-done-at": "2026-06-09T10:00"},
    {"x-done-at": "0001-01-01T00:00:00+00:00", "x-device-now": "9999-12-31T00:00:00+00:00"},
    {"x-done-at": "2026-06-09T10:00+00:00", "x-device": "<b>\r\n", "x-as-of": "x"},
])  # fmt: skip
def test_headers_with_anything_are_read_or_doubted(headers):
    """No header makes an error; a device with a strange name has none."""
    kept = kept_of(headers, NOW)
    assert isinstance(kept, KeptAway)
    assert kept.sheet.startswith("device")
    assert len(kept.sheet) <= 40
    assert "<" not in kept.sheet
    now = NOW.replace(tzinfo=None)
    assert kept.done_at(now) <= now


def test_a_sale_that_waited_has_the_price_that_was_told(client, shop, clock):
    """The board went up meanwhile: sold at the old price; told of another total it is refused."""
    was = shop.now()
    clock.put(was + timedelta(minutes=30))
    shop.board_price("C11", UnitPrice.of("8.60", WeightUnit.LB), by="ines", why="dearer", key="p")
    clock.put(was + timedelta(minutes=60))
    as_of = {"X-As-Of": was.isoformat()}
    answer = client.post("/sell", data=sale(client, total="7.80"), headers=sent(45) | as_of)
    assert answer.status_code == 303, answer.text
    (slip,) = shop.money.takings().slips
    assert str(slip.money.total) == "7.80"
    assert client.post("/sell", data=sale(client, total="7.80", key="k2")).status_code == 409
    wrong = client.post(
        "/sell", data=sale(client, total="9.99", key="k3"), headers=sent(45) | as_of
    )
    assert wrong.status_code == 409
    assert len(shop.money.takings().slips) == 1
    assert shop.check() == []


def test_a_page_from_the_future_or_long_ago_prices_nothing(client, shop):
    """Then the board of now counts."""
    for key, days in (("k1", -1), ("k2", 30)):
        as_of = {"X-As-Of": (shop.now() - timedelta(days=days)).isoformat()}
        answer = client.post(
            "/sell", data=sale(client, total="7.80", key=key), headers=sent(5) | as_of
        )
        assert answer.status_code == 303


def test_what_was_given_up_is_in_the_log_once(client, shop):
    """What it was, when it was kept, why and by whom; sent twice it stands there once."""
    there = datetime(2031, 1, 1, 12, 0, tzinfo=UTC)
    form = {"what": "Sale at the glass: 2 lines, 8.42 cash", "why": "customer came back",
            "key": "g", "by": "dot", "kept_at": (there - timedelta(minutes=20)).isoformat(),
            "device_now": there.isoformat()}  # fmt: skip
    before = shop.money.takings()
    for _ in range(2):
        assert client.post("/waiting/given-up", data=form).status_code == 200
    today = shop.now().date()
    rows = [one for one in shop.access.log(today, today) if one.kind == "given up"]
    assert [one.what for one in rows] == [
        "given up: Sale at the glass: 2 lines, 8.42 cash, kept Tue 9 Jun 07:40; customer came back"
    ]
    assert rows[0].by == "dot"
    assert shop.money.takings() == before
    assert shop.check() == []


@pytest.mark.parametrize("form", [{}, {"what": "x"}, {"what": "x" * 91, "why": "y"},
                                  {"what": "x", "why": "\u200b\n"}])  # fmt: skip
def test_a_note_of_nothing_is_refused_with_a_sentence(client, form):
    """422 and which words are missing."""
    answer = client.post("/waiting/given-up", data=form)
    assert answer.status_code == 422
    assert answer.text.endswith(".")


def test_giving_up_needs_words(shop):
    """Empty, too long, or with a line end: refused, and nothing in the log."""
    with pytest.raises(BadValue, match="What it was"):
        shop.waiting.given_up(" ", "why", key="k")
    with pytest.raises(BadValue, match="Why"):
        shop.waiting.given_up("a sale", "", key="k")
    today = shop.now().date()
    assert [one for one in shop.access.log(today, today) if one.kind == "given up"] == []


def test_what_somebody_else_kept_waits_for_them(client, shop):
    """409 and the mark that it waits, nothing written; sent without it, it is the sender's."""
    shop.access.set_up("Ines", "four shanks in the pot")
    signed = client.post("/sign-in", data={"who": "Ines", "password": "four shanks in the pot"})
    assert signed.status_code == 303
    held = client.post("/sell", data=sale(client), headers=sent(5, **{"X-Kept-By": "dot"}))
    assert (held.status_code, held.headers["x-collop-waits"]) == (409, "hands")
    assert shop.money.takings().slips == ()
    assert client.post("/sell", data=sale(client), headers=sent(5)).status_code == 303
    assert shop.money.takings().slips[0].money.payments[0].by == "ines"


def test_the_facts_of_a_sale_price_as_the_board_does(client, shop):
    """Over and under are money per count: ten pounds of each cut come to the board's own money."""
    facts, ten = shop.waiting.sale_facts(), Weight.of(10, WeightUnit.LB)
    for line in shop.case():
        fact = facts["cuts"][line.id]
        exact = line.price.line(ten).minor
        found = (2 * ten.count * int(fact["over"]) + int(fact["under"])) // (2 * int(fact["under"]))
        assert found == exact
    assert re.search(r'data-away="[^"]+"', client.get("/sell").text)
