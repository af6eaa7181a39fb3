"""Signing in and out: cookies, fixation, old sessions, tries that come too soon, the first run.

Requirements are OWASP ASVS 5.0 (source ASVS5 of the reference tables).
"""

from __future__ import annotations

import re
from collections import deque

import pytest
from door_shop import OWN, PIN, SECRETS, client_of, cookie_of, hidden, lock, secret_in, sign_in
from door_shop import signed_in as client_in

from collop.shop import Person, Settings, StillClock, create_shop
from collop.web.first_run import new_set_up_code


@pytest.fixture
def locked(shop):
    """Return the demo shop in which everybody has a password."""
    lock(shop)
    return shop


@pytest.fixture
def own(tmp_path):
    """Yield a shop of one's own with two people and no password."""
    people = [Person("ann", "Ann", "owner"), Person("ben", "Ben")]
    with create_shop(f"sqlite:///{tmp_path}/own.db", settings=Settings("Ours"), people=people,
                     clock=StillClock()) as made:  # fmt: skip
        yield made


def is_in(client):
    """Tell whether the client's session opens a page."""
    return client.get("/case").status_code == 200


def test_name_and_password_open_the_shop(locked):
    """Back to where one was going; the name stands in the top bar with the change of hands."""
    client = client_of(locked)
    answer = sign_in(client, "dot", back="/hook/H2")
    assert (answer.status_code, answer.headers["location"]) == (303, "/hook/H2")
    html = client.get("/case").text
    assert '<a href="/people/me">Dot</a>' in html
    assert 'href="/sign-in?back=/case">Change hands' in html


def test_the_cookie_over_http_and_over_https(locked):
    """HttpOnly, SameSite, Path=/; Secure and __Host- over https; ASVS 3.3.1 to 3.3.4."""
    plain = cookie_of(sign_in(client_of(locked), "dot"), "collop_session").lower()
    assert "httponly" in plain
    assert "samesite=lax" in plain
    assert "path=/" in plain
    assert "secure" not in plain
    safe = sign_in(client_of(locked, base_url="https://testserver"), "dot")
    line = cookie_of(safe, "__Host-collop").lower()
    assert {"httponly", "secure", "path=/", "samesite=lax"} <= set(re.split(r";\s*", line))
    assert "domain" not in line
    assert "max-age" not in line
    assert safe.headers["strict-transport-security"] == "max-age=31536000"
    assert "strict-transport-security" not in client_of(locked).get("/sign-in").headers


def test_a_session_over_https_is_not_taken_from_the_plain_cookie(locked):
    """The name without __Host- could have been set by a neighbour; it is not looked at."""
    token = client_in(locked, "dot").cookies["collop_session"]
    client = client_of(locked, base_url="https://testserver")
    client.cookies.set("collop_session", token)
    assert not is_in(client)


def test_the_token_is_never_the_one_that_was_brought_along(locked):
    """Fixation: a planted token opens nothing, before sign-in and after; ASVS 7.2.4."""
    client = client_of(locked)
    client.cookies.set("collop_session", "planted", domain="testserver.local")
    form = {"who": "dot", "password": SECRETS["dot"], "token": "planted",
            "collop_session": "planted"}  # fmt: skip
    answer = client.post("/sign-in?collop_session=planted", data=form)
    fresh = secret_in(cookie_of(answer, "collop_session"))
    assert fresh != "planted"
    assert len(fresh) >= 43
    stranger = client_of(locked)
    stranger.cookies.set("collop_session", "planted")
    assert not is_in(stranger)


def test_signing_in_again_ends_the_old_session(locked):
    """The token before is worth nothing once the next one is given."""
    client = client_in(locked, "dot")
    old = client.cookies["collop_session"]
    sign_in(client, "marek")
    assert is_in(client)
    thief = client_of(locked)
    thief.cookies.set("collop_session", old)
    assert not is_in(thief)


def test_the_way_out_ends_the_session_on_the_server(locked):
    """The old cookie opens nothing: 303 for a page, 401 for a form; ASVS 7.4.1."""
    client = client_in(locked, "dot")
    old = client.cookies["collop_session"]
    answer = client.post("/sign-out")
    assert answer.headers["location"] == "/sign-in"
    assert answer.headers["clear-site-data"] == '"cache"'
    thief = client_of(locked)
    thief.cookies.set("collop_session", old)
    assert not is_in(thief)
    assert thief.post("/sell", data={"key": "k"}).status_code == 401
    assert client.get("/sign-out").status_code in {303, 405}


def test_a_new_password_and_leaving_end_every_session(locked):
    """ASVS 7.4.1 and 7.4.2: at once, on the server."""
    dot, marek = client_in(locked, "dot"), client_in(locked, "marek")
    locked.access.set_password("dot", "another one for dot", by="ines")
    locked.access.leaves("marek", by="ines", why="moved away", key="gone")
    assert not is_in(dot)
    assert not is_in(marek)
    assert dot.post("/sell", data={"key": "k"}).status_code == 401
    answer = client_of(locked).post(
        "/sign-in", data={"who": "marek", "password": SECRETS["marek"]}
    )  # fmt: skip
    assert answer.status_code == 401


def test_a_wrong_password_says_nothing_of_which_was_wrong(locked, words):
    """Known and unknown names get the same sentence, and nothing typed is repeated."""
    said = []
    for who in ("dot", "nobody-here"):
        form = {"who": who, "password": "not the right secret"}
        answer = client_of(locked).post("/sign-in", data=form)
        assert answer.status_code == 401
        assert "not the right secret" not in answer.text
        assert "set-cookie" not in answer.headers
        assert "<title>Error: Sign in" in answer.text
        said.append(re.search(r'<li><a href="#f-password">(.*?)</a>', answer.text).group(1))
    assert said[0].replace("dot", "") == said[1].replace("nobody-here", "")


def test_tries_that_come_too_soon_are_told_the_seconds(locked):
    """After five failures 429 with Retry-After; not even the right password is looked at."""
    client = client_of(locked)
    for _ in range(5):
        answer = client.post("/sign-in", data={"who": "dot", "password": "wrong wrong wrong"})
        assert answer.status_code == 401
    answer = sign_in(client, "dot")
    assert answer.status_code == 429
    assert 1 <= int(answer.headers["retry-after"]) <= 60
    assert "is looked at in" in answer.text
    assert sign_in(client_of(locked), "ines").status_code == 303


def test_a_password_is_taken_as_it_was_typed(locked):
    """Spaces at the ends count, and sixty-four characters are not cut; ASVS 6.2.8."""
    long = " " + "x1 y2" * 12 + "ab "
    locked.access.set_password("dot", long, by="ines")
    client = client_of(locked)
    wrong = client.post("/sign-in", data={"who": "dot", "password": long.strip()})
    assert wrong.status_code == 401
    assert client.post("/sign-in", data={"who": "dot", "password": long}).status_code == 303
    assert client.post("/sign-in", data={"who": " Dot ", "password": long}).status_code == 303


def known(shop, owner="ines"):
    """Return a client whose device the owner made known, signed in as the owner."""
    client = client_in(shop, owner)
    answer = client.post("/people/devices", data={"device": "Counter left"})
    assert answer.status_code == 303
    return client


def test_a_known_device_shows_the_names_and_takes_a_pin(locked):
    """The names as keys, then the PIN; a strange device does not tell who works here."""
    client = known(locked)
    sign_in(client, "dot")
    form = {"password": SECRETS["dot"], "pin": PIN, "pin_again": PIN}
    assert client.post("/people/me/pin", data=form).status_code == 303
    client.post("/sign-out")
    names = client.get("/sign-in?back=/hook").text
    assert re.findall(r'name="pick" value="(\w+)"', names) == ["dot", "ines", "kofi", "marek"]
    asked = client.post("/sign-in", data=hidden(names, "/sign-in") | {"pick": "dot"}).text
    assert 'inputmode="numeric"' in asked
    form = hidden(asked, "/sign-in") | {"pin": PIN}
    answer = client.post("/sign-in", data=form)
    assert (answer.status_code, answer.headers["location"]) == (303, "/hook")
    assert is_in(client)
    strange = client_of(locked).get("/sign-in").text
    assert "Marek" not in strange
    assert client_of(locked).post("/sign-in", data=form).status_code == 401


def test_the_device_s_cookie_lasts_a_year_and_no_script_reads_it(locked):
    """HttpOnly, SameSite, __Host- and Secure over https."""
    client = client_in(locked, "ines", base_url="https://testserver")
    line = cookie_of(client.post("/people/devices", data={"device": "Knife screen"}),
                     "__Host-collop-device").lower()  # fmt: skip
    parts = set(re.split(r";\s*", line))
    assert {"httponly", "secure", "path=/", "samesite=lax", "max-age=31536000"} <= parts


def test_somebody_without_a_pin_is_asked_for_the_password(locked):
    """On a known device too; and who has one may take the password instead."""
    client = known(locked)
    asked = client.post("/sign-in", data={"pick": "marek", "back": "/case"}).text
    assert 'id="f-password"' in asked
    answer = client.post("/sign-in", data=hidden(asked, "/sign-in") | {
        "password": SECRETS["marek"]})  # fmt: skip
    assert (answer.status_code, answer.headers["location"]) == (303, "/case")


def test_a_forgotten_device_opens_no_pin(locked):
    """The owner forgets it: its sessions are ended, and the names are shown no more."""
    client = known(locked)
    number = locked.access.devices()[0].number
    owner = client_in(locked, "ines")
    assert owner.post(f"/people/devices/{number}/forget").status_code == 303
    assert "Counter left" not in client.get("/sign-in").text


def test_no_secret_stands_in_any_address(locked):
    """Crawled as the owner: no token of session, device or set-up in a link; ASVS 14.2.1."""
    client = known(locked)
    secrets = [client.cookies["collop_session"], client.cookies["collop_device"]]
    waiting, known_pages = deque(["/people", "/people/me", "/log", "/lockup", "/sign-in"]), set()
    while waiting and len(known_pages) < 40:
        address = waiting.popleft()
        answer = client.get(address)
        assert not any(one in answer.text for one in secrets), address
        assert not any(one in answer.headers.get("location", "") for one in secrets)
        known_pages.add(address)
        for link in re.findall(r'(?:href|action)="(/[^"#?]*)', answer.text):
            if link not in known_pages and not link.startswith("/static") and "pdf" not in link:
                waiting.append(link)
    assert len(known_pages) > 20


def test_the_back_of_the_form_is_checked_again(locked):
    """The hidden field is no safer than the address."""
    answer = sign_in(client_of(locked), "dot", back="//evil.example/x")
    assert answer.headers["location"] == "/ask"
    assert 'value="//evil' not in client_of(locked).get("/sign-in?back=//evil.example").text


def test_the_first_run_needs_the_code_of_the_terminal(own):
    """Wrong code, nothing; right code in any writing, and the owner is in; then it is over."""
    code = new_set_up_code()
    client = client_of(own, set_up_code=code)
    form = {"name": "Ann", "new": OWN, "again": OWN, "code": "wrong"}
    answer = client.post("/first-run", data=form)
    assert answer.status_code == 422
    assert "Set-up code" in answer.text
    assert OWN not in answer.text
    assert not own.access.is_locked()
    answer = client.post("/first-run", data=form | {"code": code.upper().replace("-", " ")})
    assert (answer.status_code, answer.headers["location"]) == (303, "/people")
    assert is_in(client)
    assert own.access.member("ann").has_password
    assert client.post("/first-run", data=form | {"code": code}).headers["location"] == "/sign-in"
    assert client_of(own).get("/first-run").headers["location"] == "/sign-in"
    assert own.check() == []


@pytest.mark.parametrize(
    ("change", "field"),
    [({"again": "another"}, "again"), ({"new": "", "again": ""}, "new"), ({"name": " "}, "name"),
     ({"new": "seven77", "again": "seven77"}, "new"), ({"code": ""}, "code"),
     ({"new": "password", "again": "password"}, "new")],
)  # fmt: skip
def test_the_first_run_says_what_is_wrong(own, change, field):
    """Beside its field and in the summary; nobody has a password after it."""
    client = client_of(own, set_up_code="abcd-0123")
    form = {"name": "Ann", "new": OWN, "again": OWN, "code": "ABCD 0i23"} | change
    answer = client.post("/first-run", data=form)
    assert answer.status_code == 422
    assert f'href="#f-{field}"' in answer.text
    assert f'id="e-{field}"' in answer.text
    assert not own.access.is_locked()


def test_without_a_code_there_is_no_first_run(own):
    """A server that was started without one lets nobody be first, not with an empty code either."""
    client = client_of(own)
    assert "no set-up code" in client.get("/first-run").text
    form = {"name": "Ann", "new": OWN, "again": OWN, "code": ""}
    assert client.post("/first-run", data=form).status_code == 422
    assert not own.access.is_locked()


def test_a_set_up_code_is_random_and_long():
    """ASVS 11.5.1: 140 bits in 28 signs, none of which looks like another."""
    codes = {new_set_up_code() for _ in range(2000)}
    assert len(codes) == 2000
    assert all(re.fullmatch(r"([0-9a-hjkmnp-tv-z]{4}-){6}[0-9a-hjkmnp-tv-z]{4}", one)
               for one in codes)  # fmt: skip
    assert set("".join(codes)) == set("0123456789abcdefghjkmnpqrstvwxyz-")


def test_the_door_s_pages_keep_the_rules_of_all_pages(locked, own, read_page):
    """Nothing inline, every field named, nothing kept by the browser."""
    client = known(locked)
    sign_in(client, "ines")
    shown = [client.get("/people"), client.get("/people/me"), client.get("/log"),
             client.get("/sign-in"), client.post("/sign-in", data={"pick": "ines"}),
             client_of(locked).get("/sign-in"), client_of(own).get("/first-run"),
             client_in(locked, "kofi").post("/case/new", data={"key": "k"})]  # fmt: skip
    for answer in shown:
        page = read_page(answer.text)
        assert page.inline == []
        assert page.unlabelled() == []
        assert answer.headers["cache-control"] == "no-store"
        assert "unsafe" not in answer.headers["content-security-policy"]
        ids = re.findall(r"\sid=\"([^\"]*)\"", answer.text)
        assert len(ids) == len(set(ids))
