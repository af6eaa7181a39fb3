"""The pages People, one's own, and the log."""

from __future__ import annotations

import re
import time
from datetime import datetime, timedelta

import pytest
from door_shop import PIN, SECRETS, client_of, lock, sign_in, signed_in

from collop.shop.access import CONSOLE
from collop.shop.access_model import Post


@pytest.fixture
def locked(shop):
    """Return the demo shop in which everybody has a password."""
    lock(shop)
    return shop


@pytest.fixture
def owner(locked):
    """Return the owner's client."""
    return signed_in(locked, "ines")


def keys(html):
    """Return the idempotency keys of a page's forms."""
    return re.findall(r'name="key" value="([^"]+)"', html)


def test_the_demo_shop_is_locked_from_its_page(client, shop):
    """Nobody is signed in, the owner's password is set there, and the door is shut from then."""
    html = client.get("/people").text
    assert "Nobody has a password yet" in html
    assert 'value="Ines"' in html
    form = {"name": "Ines", "new": SECRETS["ines"], "again": SECRETS["ines"]}
    answer = client.post("/people/lock", data=form)
    assert (answer.status_code, answer.headers["location"]) == (303, "/people")
    assert "Your own page" in client.get("/people").text
    assert client_of(shop).get("/case").status_code == 303


def test_nothing_is_done_by_nobody(client, shop):
    """In the open demo shop only the lock can be set."""
    for address in ("/people", "/people/kofi/post", "/people/kofi/leaves", "/people/devices",
                    "/people/kofi/password", "/people/sessions/1/end"):  # fmt: skip
        form = {"name": "Eve", "post": "owner", "why": "x", "key": "k", "device": "1", "new": "x"}
        answer = client.post(address, data=form)
        assert answer.status_code == 422
        assert "Set the owner&#39;s password first" in answer.text
    assert shop.access.member("kofi").post is Post.APPRENTICE
    assert shop.check() == []


def test_the_owner_writes_down_somebody_new(owner, locked):
    """Once, however often it is sent; with a password they come in as what they are."""
    key = keys(owner.get("/people").text)[-1]
    form = {"name": "Wren", "post": "cutter", "key": key}
    for _ in range(2):
        assert owner.post("/people", data=form).headers["location"] == "/people?done=added"
    wren = locked.access.member("Wren")
    assert (wren.post, wren.has_password) == (Post.CUTTER, False)
    assert owner.post(f"/people/{wren.id}/password", data={"new": "geese over the mill"})
    client = client_of(locked)
    form = {"who": "Wren", "password": "geese over the mill"}
    assert client.post("/sign-in", data=form).status_code == 303
    assert client.post("/chalk/choices", data={}).status_code == 403
    assert locked.check() == []


def test_a_fault_stands_beside_its_form(owner):
    """A post without a reason, a short password, no name."""
    for address, form, field in (
        ("/people/dot/post", {"post": "cutter", "key": "k"}, "post-dot"),
        ("/people/dot/password", {"new": "short"}, "new-dot"),
        ("/people/dot/leaves", {"key": "k"}, "leaves-dot"),
        ("/people", {"name": "", "post": "cutter", "key": "k"}, "name"),
        ("/people/devices", {"device": ""}, "device"),
    ):
        answer = owner.post(address, data=form)
        assert answer.status_code == 422
        assert f'href="#f-{field}"' in answer.text
        assert f'id="f-{field}"' in answer.text


def test_the_last_owner_stays(owner, locked):
    """No other post, and no leaving, for the only one who may do everything."""
    for address in ("/people/ines/post", "/people/ines/leaves"):
        answer = owner.post(address, data={"post": "cutter", "why": "tired", "key": address})
        assert answer.status_code == 422
    assert locked.access.member("ines").post is Post.OWNER


def test_the_owner_ends_a_session(owner, locked):
    """ASVS 7.4.5: one button, and the other browser is out at once."""
    dot = signed_in(locked, "dot")
    seen = next(one for one in locked.access.sessions() if one.member.id == "dot")
    assert owner.post(f"/people/sessions/{seen.number}/end").status_code == 303
    assert dot.get("/case").status_code == 303


def test_one_s_own_password_is_changed_with_the_old_one(locked):
    """A wrong old one changes nothing; after the change one is in here and nowhere else."""
    here, there = signed_in(locked, "dot"), signed_in(locked, "dot")
    new = "an otter in the weir"
    form = {"old": "not it at all", "new": new, "again": new}
    assert here.post("/people/me/password", data=form).status_code == 422
    answer = here.post("/people/me/password", data=form | {"old": SECRETS["dot"]})
    assert answer.headers["location"] == "/people/me?done=password"
    assert here.get("/people/me").status_code == 200
    assert there.get("/people/me").status_code == 303


def test_a_pin_is_set_on_a_known_device_and_taken_away_by_the_owner(owner, locked):
    """It shows on the page, and the owner's button takes it."""
    form = {"password": SECRETS["ines"], "pin": PIN, "pin_again": PIN}
    assert owner.post("/people/me/pin", data=form).status_code == 422
    owner.post("/people/devices", data={"device": "Counter left"})
    assert owner.post("/people/me/pin", data=form | {"pin_again": "1"}).status_code == 422
    assert owner.post("/people/me/pin", data=form).status_code == 303
    sign_in(owner, "dot")
    form = {"password": SECRETS["dot"], "pin": PIN, "pin_again": PIN}
    assert owner.post("/people/me/pin", data=form).status_code == 303
    sign_in(owner, "ines")
    assert "PIN on Counter left" in owner.get("/people").text
    number = locked.access.devices()[0].number
    assert owner.post("/people/dot/pin", data={"device": str(number)}).status_code == 303
    assert locked.access.member("dot").pin_devices == ()
    assert owner.post("/people/dot/pin", data={"device": "x"}).status_code == 422


def test_out_everywhere_is_out_everywhere(locked):
    """Both browsers meet the door."""
    here, there = signed_in(locked, "dot"), signed_in(locked, "dot")
    assert here.post("/people/me/out").headers["location"] == "/sign-in"
    assert here.get("/case").status_code == there.get("/case").status_code == 303


def test_the_log_tells_who_did_what(owner, locked):
    """The door and the acts, by person, kind and words; newest first."""
    dot = signed_in(locked, "dot")
    dot.post("/lockup/line/C02/count", data={"counted": "23.5", "unit": "lb", "by": "marek",
                                              "key": "seen-in-log", "do": "count"})  # fmt: skip
    html = owner.get("/log?who=dot").text
    rows = re.findall(r"<tr><th scope=\"row\">.*?</tr>", html)
    assert rows
    assert all("<td>Dot</td>" in row for row in rows)
    assert "act" in rows[0]
    assert len(re.findall("<tr><th scope=.row", owner.get("/log?who=dot&kind=act").text)) == 1
    assert "seen-in-log" not in owner.get("/log?find=nothing-like-it").text
    before = locked.now().date() - timedelta(days=365)
    assert "Nothing in these days" in owner.get(f"/log?from={before}&to={before}").text


@pytest.mark.parametrize("query", ["from=x", "from=9999-99-99", "from=2026-06-12&to=2026-06-01",
                                   "page=0", "page=-1", "page=99999999999", "page=x", "who=%00",
                                   "kind=%00", "find=" + "x" * 3000, "check"])  # fmt: skip
def test_the_log_answers_any_question(owner, query):
    """A sentence or a page, never a fault of the server."""
    assert owner.get(f"/log?{query}").status_code in {200, 422}


def test_the_seals_are_checked_on_the_page(owner, locked):
    """All is well; and it says so, with the newest seal to write down."""
    html = owner.get("/log?check=1").text
    assert "Every row fits the row before it" in html
    assert locked.access.seal() in html


def test_a_name_with_markup_or_a_line_end_is_text(owner, locked, read_page):
    """Shown as typed on People, refused if it holds a line end; the log has no forged row."""
    owner.post("/people", data={"name": "<b>Al</b>", "post": "cutter", "key": "m1"})
    assert "<b>Al</b>" not in owner.get("/people").text
    assert owner.post("/people", data={"name": "Al\nact sell", "post": "cutter", "key": "m2"}
                      ).status_code == 422  # fmt: skip
    assert read_page(owner.get("/log").text).inline == []
    assert locked.check() == []


def test_when_a_session_began_is_told_by_the_shop_s_own_clock(owner, monkeypatch):
    """Not in UTC: a shop seven hours behind it reads its own hour, on both pages."""
    monkeypatch.setenv("TZ", "UTC+7")
    time.tzset()
    try:
        for address in ("/people", "/people/me"):
            found = re.search(
                r'<time datetime="([^"]+)">\w+ \d+ \w+ (\d\d:\d\d)</time>', owner.get(address).text
            )
            began = datetime.fromisoformat(found[1])
            assert began.utcoffset() == timedelta(0)
            assert found[2] == f"{began - timedelta(hours=7):%H:%M}"
    finally:
        monkeypatch.undo()
        time.tzset()


def test_who_left_stands_on_no_form_and_on_what_they_did(client, shop, words):
    """In a shop whose door is open: their chip is gone, their name on the slip is not."""
    by = re.compile(r'name="by"[^>]*value="([a-z]+)"')
    assert by.findall(client.get("/hook/H8").text)[:4] == ["dot", "ines", "kofi", "marek"]
    shop.release("H8", by="marek", why="asked twice", key="r")
    shop.access.leaves("Marek", by=CONSOLE, why="moved", key="a")
    assert by.findall(client.get("/hook/H6").text)[:3] == ["dot", "ines", "kofi"]
    assert "marek" not in by.findall(client.get("/hook/H6").text)
    assert "Marek" in words(client.get("/hook/H8").text)
