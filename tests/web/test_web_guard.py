"""The door: what opens without a session, whose hands a request is, and what a stranger meets.

Requirements are OWASP ASVS 5.0 (source ASVS5 of the reference tables).
"""

from __future__ import annotations

import re

import pytest
from door_shop import SECRETS, client_of, hidden, lock, sign_in, signed_in
from hypothesis import given
from hypothesis import strategies as st
from starlette.testclient import TestClient

from collop.errors import StorageTrouble
from collop.shop import Settings, StillClock, create_shop
from collop.web.guard import HANDS, is_public
from collop.web.held import Held, held_again, own_path
from collop.web.permissions import routes_of

PUBLIC = {"/sw.js", "/board", "/sign-in", "/first-run", "/fire/{token}", "/fire/{token}/{name}",
          "/calendar/{token}.ics"}  # fmt: skip


@pytest.fixture
def own(tmp_path):
    """Yield a shop of one's own in which nobody has a password."""
    with create_shop(f"sqlite:///{tmp_path}/own.db", settings=Settings("Ours"),
                     clock=StillClock()) as made:  # fmt: skip
        yield made


@pytest.fixture
def locked(shop):
    """Return the demo shop in which everybody has a password."""
    lock(shop)
    return shop


def filled(path):
    """Return an address of a route pattern."""
    return re.sub(r"\{number:int\}", "1", re.sub(r"\{\w+(:path)?\}", "x", path))


def test_the_demo_shop_is_open_until_somebody_has_a_password(client, shop):
    """It opens as ever; one password, and the next request meets the door."""
    assert client.get("/case").status_code == 200
    lock(shop, "ines")
    assert client.get("/case").status_code == 303


def test_a_shop_of_one_s_own_shows_its_first_run_only(own):
    """Nothing else is answered before somebody has a password, and nothing is written."""
    client = client_of(own)
    for address in ("/", "/case", "/hook", "/people", "/log", "/exchange/everything.zip", "/no"):
        answer = client.get(address)
        assert (answer.status_code, answer.headers["location"]) == (303, "/first-run")
    assert client.post("/sell", data={"key": "k"}).status_code == 403
    assert client.post("/people/lock", data={"name": "Eve"}).status_code == 403
    assert client.get("/first-run").status_code == 200
    assert own.check() == []


def test_no_route_is_answered_to_a_stranger_but_the_few_public_ones(locked):
    """Every route of the application is asked without a session; ASVS 8.3.1 and 8.2.1."""
    client, asked = client_of(locked), 0
    for method, route in routes_of(client.app):
        if route.path in PUBLIC:
            continue
        asked += 1
        answer = client.request(method, filled(route.path))
        if method == "GET":
            assert answer.status_code == 303, route.path
            assert answer.headers["location"].startswith("/sign-in?back="), route.path
        else:
            assert answer.status_code == 401, route.path
    assert asked > 180
    assert {one.path for _, one in routes_of(client.app) if is_public(filled(one.path))} == PUBLIC


def test_what_is_for_all_stays_for_all(locked):
    """The board, the files and a customer's sheet open without a session."""
    client = client_of(locked)
    assert client.get("/board").status_code == 200
    assert client.get("/static/collop.css").status_code == 200
    assert client.get("/sw.js").status_code == 200
    assert client.get("/fire/nothing-here").status_code == 404
    assert client.get("/calendar/nothing.ics").status_code == 404
    assert client.get("/static/../case").status_code in {303, 404}


def test_a_page_that_is_not_there_does_not_tell_so_to_a_stranger(locked):
    """Known and unknown addresses are answered alike."""
    client = client_of(locked)
    assert client.get("/nowhere").status_code == client.get("/case").status_code == 303


def test_an_act_is_the_signed_in_person_s_whatever_the_form_says(locked):
    """The form names Marek, the session is Dot's: the log and the entry say Dot."""
    client = signed_in(locked, "dot")
    form = {"counted": "23.5", "unit": "lb", "by": "marek", "key": "whose", "do": "count"}
    answer = client.post("/lockup/line/C02/count", data=form)
    assert answer.status_code == 303
    today = locked.now().date()
    line = next(one for one in locked.access.log(today, today) if one.key == "whose")
    assert line.by == "dot"
    assert locked.check() == []


def test_a_form_shows_nobody_else_to_choose(locked, read_page):
    """The choice of who is the person signed in, and it is chosen."""
    for name, address in (("dot", "/sell"), ("marek", "/recall"), ("ines", "/lockup"),
                          ("dot", "/lockup/line/C02"), ("ines", "/daybook/places"),
                          ("dot", "/put-away"), ("ines", "/buying/new")):  # fmt: skip
        page = read_page(signed_in(locked, name).get(address).text)
        who = [
            facts
            for tag, facts, _ in page.fields
            if tag == "input" and facts.get("name") == "by" and facts.get("type") == "radio"
        ]
        assert {facts["value"] for facts in who} <= {name}, address
        assert all("checked" in facts for facts in who), address


def test_a_script_is_told_and_not_led_to_a_page(locked):
    """A fetch gets 401, a part of a page leads the whole page to the door."""
    client = client_of(locked)
    assert client.get("/bench/state.json", headers={"sec-fetch-mode": "cors"}).status_code == 401
    by_offline_script = client.get("/hook", headers={"sec-fetch-mode": "same-origin"},
                                   follow_redirects=False)  # fmt: skip
    assert by_offline_script.headers["location"] == "/sign-in?back=/hook"
    here = {"hx-request": "true", "hx-current-url": "http://testserver/ask?heads=12&fire=own"}
    part = client.post("/ask/spread", data={"heads": "12"}, headers=here)
    assert part.status_code == 401
    assert part.headers["hx-redirect"] == "/sign-in?back=/ask%3Fheads%3D12%26fire%3Down"
    there = here | {"hx-current-url": "https://evil.example//evil.example/x"}
    away = client.post("/ask/spread", headers=there)
    assert away.headers["hx-redirect"] == "/sign-in?back=/ask"


def test_the_scale_s_command_needs_no_session_on_this_machine_only(locked):
    """From this machine the figure is taken, from another it is not."""
    form = {"weight": "1.25", "unit": "lb", "state": "stable"}
    here = TestClient(client_of(locked).app, client=("127.0.0.1", 5000))
    assert here.post("/scale", data=form).status_code == 204
    assert here.post("/sell", data=form, follow_redirects=False).status_code == 401
    away = TestClient(client_of(locked).app, client=("192.168.1.7", 5000))
    assert away.post("/scale", data=form).status_code == 401


def test_the_door_stays_shut_if_the_database_cannot_be_read(locked):
    """503 and one sentence, before and after sign-in."""
    client = signed_in(locked, "dot")

    def broken(*_given, **_named):
        raise StorageTrouble("The database cannot be read; see that the disk is there.")

    locked.access.who = broken
    for answer in (client.get("/case"), client.post("/sell", data={"key": "k"})):
        assert answer.status_code == 503
        assert answer.text.startswith("The database cannot be read")


def test_a_page_that_asks_by_itself_keeps_nobody_in(locked):
    """Half an hour without a touch ends the session, however often the open page asked; 7.3.1."""
    now = [1_800_000_000.0]
    locked.access._wall = lambda: now[0]
    asking, touched = signed_in(locked, "dot"), signed_in(locked, "marek")
    for _ in range(12):
        now[0] += 170
        asking.get("/bench/state.json", headers={"sec-fetch-mode": "cors"})
        touched.get("/case", headers={"sec-fetch-mode": "navigate"})
    assert asking.get("/case").status_code == 303
    assert touched.get("/case").status_code == 200
    now[0] += 12 * 3600
    assert touched.get("/case").status_code == 303


def test_copies_on_a_device_are_marked_with_whose_they_are(locked):
    """The same for one session, another for the next person, `nobody` after the way out."""
    client = signed_in(locked, "dot")
    first = client.get("/case").headers[HANDS]
    assert client.get("/hook").headers[HANDS] == first
    assert "dot" not in first
    sign_in(client, "marek")
    assert client.get("/case").headers[HANDS] != first
    client.post("/sign-out")
    assert client.get("/case").headers[HANDS] == "nobody"
    assert HANDS not in client.get("/board").headers


@pytest.mark.parametrize(
    "text",
    ["//evil.example", "/\\evil.example", "\\\\evil", "https://evil.example", "evil", "",
     "/\tevil", "/\n/evil.example", "/ask\r\nX: y", "/\u2028/evil", "/a" * 2000, "javascript:x",
     "/sign-in?back=/ask", "/sign-out", "/%0d%0a" + "\x00"],
)  # fmt: skip
def test_the_way_back_is_never_another_site(text):
    """An address that a browser could read as elsewhere is not followed."""
    assert own_path(text) == "/ask"


def test_the_way_back_within_the_shop_is_kept():
    """Path and query stay as they are."""
    for text in ("/", "/hook/H2?say=done", "/rail/B-41%2F2", "/ask?no_what=a+b&heads=3-4"):
        assert own_path(text) == text


@given(st.text(max_size=40))
def test_no_text_whatever_leads_away(text):
    """What is followed begins with one stroke and holds no sign that browsers drop or turn."""
    kept = own_path("/" + text)
    assert re.fullmatch(r"/(?![/\\])[ -\[\]-~]*", kept)


@given(st.lists(st.tuples(st.text(min_size=1, max_size=9), st.text(max_size=20)), max_size=9))
def test_a_held_form_comes_back_as_it_went(pairs):
    """Names, texts and order, whatever they are."""
    held = Held("/sell", tuple(pairs))
    assert held_again(held.hidden()) == held
    assert held_again([("held-to", "//evil"), ("held.key", "k")]) is None


def test_a_form_sent_after_the_session_ended_is_kept_and_done_once(locked, read_page):
    """401 with the form inside; after sign-in it is sent again with the same key, and done once."""
    client = signed_in(locked, "dot")
    locked.access.end_all("dot", by="ines", why="test")
    form = {"counted": "23.5", "unit": "lb", "by": "dot", "key": "late", "do": "count"}
    met = client.post("/lockup/line/C02/count", data=form)
    assert met.status_code == 401
    assert "nothing is lost" in met.text
    assert not [one for one in locked.lockup.sheet().lines if one.counted]
    carried = hidden(met.text, "/sign-in")
    back = client.post("/sign-in", data=carried | {"who": "dot", "password": SECRETS["dot"]})
    assert back.status_code == 200
    assert "data-send-now" in back.text
    again = hidden(back.text, "/lockup/line/C02/count")
    assert again == form
    for _ in range(2):
        assert client.post("/lockup/line/C02/count", data=again).status_code == 303
    assert len([one for one in locked.lockup.sheet().lines if one.counted]) == 1
    assert locked.check() == []


def test_another_person_looks_before_sending_what_was_held(locked):
    """Dot's form met the door, Marek signs in: it is not sent by itself."""
    client = client_of(locked)
    met = client.post("/lockup/line/C02/count", data={"by": "dot", "key": "k", "counted": "1"})
    form = hidden(met.text, "/sign-in") | {"who": "marek", "password": SECRETS["marek"]}
    back = client.post("/sign-in", data=form).text
    assert "data-send-now" not in back
    assert "begun by somebody else" in back


def test_a_form_too_long_to_carry_is_said_to_be_so(locked):
    """Nothing is cut off in silence."""
    met = client_of(locked).post("/exchange", data={"carried": "x" * 220_000, "key": "k"})
    assert met.status_code == 401
    assert "cannot be carried on whole" in met.text
    assert len(met.text) < 20_000
