"""Which post may do what: the list is complete, and held on the server for every address.

Requirements are OWASP ASVS 5.0, 8.2.1, 8.2.2 and 8.3.1 (source ASVS5 of the reference tables);
which post may do which thing is the shop's own choice (common practice, no published source).
"""

from __future__ import annotations

import re

import pytest
from door_shop import SECRETS, client_of, hidden, lock, signed_in

from collop.shop.access_model import Post
from collop.shop.access_roles import ACTIONS, may
from collop.web.permissions import ACTION_OF, action_of, routes_of

GIVES_AWAY = re.compile(r"/exchange|/log\b|\.csv|/csv$|/recall\.json|/people$|everything")


@pytest.fixture
def locked(shop):
    """Return the demo shop in which everybody has a password."""
    lock(shop)
    for name, post in (("ines", Post.OWNER), ("marek", Post.CUTTER), ("dot", Post.COUNTER),
                       ("kofi", Post.APPRENTICE)):  # fmt: skip
        if shop.access.member(name).post is not post:
            shop.access.change_post(name, post, by="ines", why="for the test", key=f"post-{name}")
            shop.access.set_password(name, SECRETS[name], by="ines")
    return shop


def addresses(client):
    """Return method and pattern of every route."""
    return {(method, route.path) for method, route in routes_of(client.app)}


def test_every_address_that_changes_something_is_listed(client):
    """A new page cannot be forgotten: this fails until its line is written."""
    known = addresses(client)
    changes = {f"{method} {path}" for method, path in known if method != "GET"}
    assert changes - set(ACTION_OF) == set()


def test_every_address_that_gives_records_away_is_listed(client):
    """Lists, exports, the log and the people need more than to be signed in."""
    for method, path in addresses(client):
        if method == "GET" and GIVES_AWAY.search(path):
            assert action_of(method, path) not in {"read", None}, path


def test_every_line_of_the_list_is_an_address_and_an_action(client):
    """No line outlives its page, and none names an action nobody defined."""
    known = {f"{method} {path}" for method, path in addresses(client)}
    assert set(ACTION_OF) - known == set()
    assert set(ACTION_OF.values()) <= set(ACTIONS)


def test_no_page_stands_outside_the_routes_that_are_checked(client):
    """Beside the static files every route is one that the check runs before."""
    outside = [
        route for route in client.app.routes
        if not hasattr(route, "original_router") and not hasattr(route, "dependant")
    ]  # fmt: skip
    assert {getattr(route, "path", "") for route in outside} <= {"/static", "/openapi.json"}
    assert all(route.dependant.dependencies for _, route in routes_of(client.app)
               if route in client.app.routes)  # fmt: skip


def test_an_address_in_no_list_is_the_owner_s(client):
    """A forgotten line shuts a door and opens none."""
    assert action_of("POST", "/forgotten") is None
    assert action_of("GET", "/forgotten") == "read"
    assert action_of("HEAD", "/log") == action_of("GET", "/log")


@pytest.mark.parametrize("name", ["ines", "marek", "dot", "kofi"])
def test_each_post_is_refused_what_is_not_its_own_and_nothing_else(locked, name):
    """Every listed address, sent by each post: 403 exactly where the table of posts says so."""
    client, post = signed_in(locked, name), locked.access.member(name).post
    for address, action in ACTION_OF.items():
        method, path = address.split(" ")
        if path in {"/sign-out", "/sign-in", "/people/me/out", "/exchange/everything.zip"}:
            continue
        asked = re.sub(r"\{number:int\}", "900", re.sub(r"\{\w+(:path)?\}", "x", path))
        answer = client.request(method, asked)
        assert (answer.status_code == 403) == (not may(post, action)), address
    assert locked.check() == []


def test_an_apprentice_who_posts_a_price_is_told_whom_to_ask(locked, words):
    """403 in plain words, the price stays, and the form is kept for whoever may."""
    client = signed_in(locked, "kofi")
    before = locked.case()
    form = {"price": "9.99", "why": "cheaper", "by": "ines", "key": "sly"}
    answer = client.post("/chalk/line/C02", data=form)
    text = words(answer.text)
    assert answer.status_code == 403
    assert "You may not put prices on the board" in text
    assert "Ask Ines" in text
    assert locked.case() == before
    names = client.post("/sign-in", data=hidden(answer.text, "/sign-in"))
    carried = hidden(names.text, "/sign-in")
    assert carried["held-to"] == "/chalk/line/C02"
    assert carried["held.key"] == "sly"


def test_a_page_that_one_may_only_look_at_says_so(locked, words):
    """Before anything is typed: who may send it; nothing of the kind for those who may."""
    said = "You may look here. What is sent from this page is for the owner or the cutter."
    for address in ("/chalk/line/C02", "/case/new", "/styles", "/bench/plan"):
        assert said in words(signed_in(locked, "kofi").get(address).text), address
        assert "You may look here" not in words(signed_in(locked, "marek").get(address).text)
    assert "for the owner." in words(signed_in(locked, "marek").get("/chalk/choices").text)


def test_money_goes_back_from_the_glass_only(locked):
    """Neither the cutter nor the apprentice takes back a sale."""
    for name in ("marek", "kofi"):
        assert signed_in(locked, name).post("/sell/S1/all-back", data={}).status_code == 403
    for name in ("ines", "dot"):
        assert signed_in(locked, name).post("/sell/S1/all-back", data={}).status_code != 403


def test_an_id_of_another_person_opens_nothing(locked):
    """Swapping the id in the address or the form changes nobody else; ASVS 8.2.2."""
    client = signed_in(locked, "kofi")
    for address in ("/people/ines/post", "/people/kofi/post", "/people/ines/leaves",
                    "/people/ines/password", "/people/kofi/password", "/people/ines/pin",
                    "/people/sessions/1/end", "/people/devices"):  # fmt: skip
        form = {
            "post": "owner",
            "why": "x",
            "key": "k",
            "new": "a long new password",
            "device": "1",
        }
        assert client.post(address, data=form).status_code == 403
    form = {"who": "ines", "old": SECRETS["kofi"], "new": "a new one for ines",
            "again": "a new one for ines"}  # fmt: skip
    assert client.post("/people/me/password", data=form).status_code == 303
    assert client_of(locked).post(
        "/sign-in", data={"who": "ines", "password": "a new one for ines"}
    ).status_code == 401  # fmt: skip
