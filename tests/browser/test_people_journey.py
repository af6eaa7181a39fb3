"""The door in a browser: first run, a known tablet, PIN, change of hands, and whose the sale is."""

from __future__ import annotations

import re
import socket
import threading
import time

import pytest
import uvicorn
from playwright.sync_api import expect
from test_access import SMALL, axe_faults

from collop.shop import Person, Settings, StillClock, create_shop
from collop.web import create_app

OWNER = "four shanks in the pot"
DOT = "counter bell rings late"
PIN = "481592"
CODE = "abcd-2345-efgh"
DEADLINE_S = 60


@pytest.fixture
def own(tmp_path):
    """Yield the address of a served shop of one's own, before its first run, and the shop."""
    shop = create_shop(f"sqlite:///{tmp_path}/own.db", settings=Settings("Tollebank"),
                       people=[Person("ann", "Ann", "owner")], clock=StillClock())  # fmt: skip
    listener = socket.socket()
    listener.bind(("127.0.0.1", 0))
    app = create_app(shop, set_up_code=CODE)
    server = uvicorn.Server(uvicorn.Config(app, log_level="warning", ws="none", lifespan="off"))
    thread = threading.Thread(target=server.run, kwargs={"sockets": [listener]}, daemon=True)
    thread.start()
    until = time.monotonic() + DEADLINE_S
    while not server.started:
        assert time.monotonic() < until
        time.sleep(0.02)
    yield f"http://localhost:{listener.getsockname()[1]}", shop
    server.should_exit = True
    thread.join(DEADLINE_S)
    shop.close()


@pytest.fixture
def locked(counter):
    """Return the demo's counter in which the owner and Dot have passwords."""
    counter.shop.access.set_up("Ines", OWNER)
    counter.shop.access.set_password("dot", DOT, by="ines")
    return counter


def sign_in(page, base, name, password, back="/ask"):
    """Sign in by name and password on a device nobody knows."""
    page.goto(f"{base}/sign-in?back={back}")
    page.get_by_label("Name", exact=True).fill(name)
    page.get_by_label("Password", exact=True).fill(password)
    page.get_by_role("button", name="Sign in").click()
    page.wait_for_url(f"**{back}")


def known_tablet(page, locked):
    """Make the page's browser a known device on which Dot has a PIN; leave Ines signed in."""
    sign_in(page, locked.base, "Ines", OWNER, "/people")
    page.get_by_label("Name of this device").fill("Counter left")
    page.get_by_role("button", name="Make this device known").click()
    expect(page.get_by_text("Counter left (this one)")).to_be_visible()
    page.get_by_role("link", name="Change hands").click()
    page.get_by_role("button", name="Dot").click()
    page.get_by_label("Password", exact=True).fill(DOT)
    page.get_by_role("button", name="Sign in").click()
    page.get_by_role("link", name="Dot", exact=True).click()
    page.get_by_label("Your password", exact=True).fill(DOT)
    page.get_by_label("PIN", exact=True).fill(PIN)
    page.get_by_label("PIN once more").fill(PIN)
    page.get_by_role("button", name="Set the PIN").click()
    expect(page.get_by_text("Your PIN is set on this device.")).to_be_visible()
    sign_in_again(page, locked.base, "Ines", OWNER)


def sign_in_again(page, base, name, password):
    """Change hands by password on the known tablet."""
    page.goto(f"{base}/sign-in?back=/people")
    page.get_by_role("button", name=name).click()
    page.get_by_label("Password", exact=True).fill(password)
    page.get_by_role("button", name="Sign in").click()
    page.wait_for_url("**/people")


def test_the_first_run_in_a_browser(own, open_page):
    """Only the first run is shown; code, name, password twice, and the owner stands in the bar."""
    base, shop = own
    page = open_page()
    page.goto(f"{base}/case")
    assert page.url.endswith("/first-run")
    page.get_by_label("Set-up code").fill(CODE)
    page.get_by_label("Password", exact=True).fill(OWNER)
    page.get_by_label("Once more").fill("not the same")
    page.get_by_role("button", name="Set it and go in").click()
    expect(page.locator(".problem")).to_be_focused()
    assert axe_faults(page) == []
    page.get_by_label("Password", exact=True).fill(OWNER)
    page.get_by_label("Once more").fill(OWNER)
    page.get_by_role("button", name="Set it and go in").click()
    page.wait_for_url("**/people")
    expect(page.locator(".hands")).to_contain_text("Ann")
    assert shop.check() == []


def test_change_of_hands_and_the_sale_is_hers(locked, open_page):
    """Ines's tablet, one touch, Dot's PIN on the large keys; the sale and the log say Dot."""
    page = open_page(width=1024, height=768)
    known_tablet(page, locked)
    page.goto(f"{locked.base}/sell")
    page.get_by_role("link", name="Change hands").click()
    assert page.url.endswith("/sign-in?back=/sell")
    page.get_by_role("button", name="Dot").click()
    for figure in "4815920":
        page.get_by_role("button", name=figure, exact=True).click()
    page.get_by_role("button", name="Back one figure").click()
    page.get_by_role("button", name="Sign in").click()
    page.wait_for_url("**/sell")
    expect(page.locator(".hands")).to_contain_text("Dot")
    page.get_by_label("On the scale, lb").fill("1.08")
    page.get_by_role("button", name=re.compile(r"^Beef mince")).click()
    page.wait_for_url("**/sell?line=**")
    expect(page.locator('input[name="by"][type="radio"]')).to_have_count(1)
    page.get_by_role("button", name=re.compile(r"Take the money: cash 8\.42")).click()
    page.wait_for_url("**/sell/H11?done=sold**")
    sign_in_again(page, locked.base, "Ines", OWNER)
    page.goto(f"{locked.base}/log?who=dot&kind=act")
    row = page.locator(".log-table tbody tr").first
    expect(row).to_contain_text("Dot")
    expect(row).to_contain_text("Counter left")
    assert locked.shop.check() == []


def test_what_was_sent_after_the_session_ended_goes_on_by_itself(locked, open_page):
    """The lines and the money are not typed again; the sale is done once."""
    page = open_page()
    sign_in(page, locked.base, "Dot", DOT, "/sell")
    page.get_by_label("On the scale, lb").fill("1.08")
    page.get_by_role("button", name=re.compile(r"^Beef mince")).click()
    page.wait_for_url("**/sell?line=**")
    locked.shop.access.end_all("dot", by="ines", why="test")
    page.get_by_role("button", name=re.compile(r"Take the money: cash 8\.42")).click()
    expect(page.get_by_text("nothing is lost")).to_be_visible()
    assert axe_faults(page) == []
    page.get_by_label("Name", exact=True).fill("Dot")
    page.get_by_label("Password", exact=True).fill(DOT)
    page.get_by_role("button", name="Sign in").click()
    page.wait_for_url("**/sell/H11?done=sold**")
    assert str(locked.shop.money.takings().total) == "8.42"


def test_an_ask_after_the_session_ended_comes_back(locked, open_page):
    """A part of the page cannot hold the sign-in page: the whole page goes there and back."""
    page = open_page()
    # not by way of the ask: a kept copy of it would be shown if the answer takes long
    sign_in(page, locked.base, "Dot", DOT, "/case")
    page.goto(f"{locked.base}/ask?heads=12&day=2026-06-12&time=18:30")
    locked.shop.access.end_all("dot", by="ines", why="test")
    page.get_by_role("button", name="Why?", exact=True).click()
    page.wait_for_url("**/sign-in?back=**")
    page.get_by_label("Name", exact=True).fill("Dot")
    page.get_by_label("Password", exact=True).fill(DOT)
    page.get_by_role("button", name="Sign in").click()
    page.wait_for_url("**/ask?heads=12**")
    expect(page.get_by_label("Heads", exact=True)).to_have_value("12")


def test_a_page_opened_after_the_session_ended_leads_to_the_door_and_back(locked, open_page):
    """With the offline script at work too, which fetches the page in the browser's place."""
    page = open_page()
    sign_in(page, locked.base, "Dot", DOT)
    page.evaluate("navigator.serviceWorker.ready.then(() => null)")
    page.goto(f"{locked.base}/case")
    page.wait_for_function("() => navigator.serviceWorker.controller !== null")
    locked.shop.access.end_all("dot", by="ines", why="test")
    page.goto(f"{locked.base}/hook/H8")
    assert page.url == f"{locked.base}/sign-in?back=/hook/H8"
    page.get_by_label("Name", exact=True).fill("Dot")
    page.get_by_label("Password", exact=True).fill(DOT)
    page.get_by_role("button", name="Sign in").click()
    page.wait_for_url("**/hook/H8")
    expect(page.locator(".hands")).to_contain_text("Dot")


def test_a_link_from_elsewhere_opens_signed_in_and_a_form_from_there_does_nothing(
    locked, open_page
):
    """Why the cookie is Lax: a slip opened from another site; a form sent from there gets 403."""
    page = open_page()
    sign_in(page, locked.base, "Dot", DOT)
    html = f"""<a href="{locked.base}/hook/H8">slip</a>
      <form method="post" action="{locked.base}/hook/H8/release">
      <input name="by" value="dot"><input name="key" value="forged"><button>win</button></form>"""
    page.route("http://elsewhere.example/", lambda route: route.fulfill(
        body=html, content_type="text/html"))  # fmt: skip
    page.goto("http://elsewhere.example/")
    page.get_by_role("link", name="slip").click()
    page.wait_for_url(f"{locked.base}/hook/H8")
    expect(page.locator(".hands")).to_contain_text("Dot")
    page.goto("http://elsewhere.example/")
    page.get_by_role("button", name="win").click()
    expect(page.get_by_text("This was sent by another site")).to_be_visible()
    assert locked.shop.booking("H8").state != "off"


def test_the_door_without_script(locked, open_page, chromium):
    """Names, PIN and password need none; the large keys are then not shown."""
    page = open_page()
    known_tablet(page, locked)
    state = page.context.storage_state()
    context = chromium.new_context(java_script_enabled=False, storage_state=state)
    plain = context.new_page()
    plain.goto(f"{locked.base}/sign-in?back=/case")
    plain.get_by_role("button", name="Dot").click()
    expect(plain.locator("[data-keys]")).to_be_hidden()
    plain.get_by_label("PIN", exact=True).fill(PIN)
    plain.get_by_role("button", name="Sign in").click()
    assert plain.url == f"{locked.base}/case"
    context.close()


def looked_at(page):
    """Return what is wrong with a page at three widths and at twice the text."""
    found = axe_faults(page)
    for width in (320, 390, 820, 1280):
        page.set_viewport_size({"width": width, "height": 844})
        if page.evaluate("document.documentElement.scrollWidth") > width:
            found.append(f"{page.url} scrolls sideways at {width}")
        found += page.evaluate(SMALL, 44)
    wire = page.context.new_cdp_session(page)
    wire.send("Page.setFontSizes", {"fontSizes": {"standard": 32, "fixed": 26}})
    if page.evaluate("document.documentElement.scrollWidth") > 1280:
        found.append(f"{page.url} scrolls sideways with large text")
    wire.send("Page.setFontSizes", {"fontSizes": {"standard": 16, "fixed": 13}})
    return found


def test_every_page_of_the_door_passes(locked, open_page):
    """Axe, four widths, target sizes and large text, signed in and on the doorstep."""
    page = open_page()
    known_tablet(page, locked)
    for address in ("/people", "/people/me", "/log", "/log?check=1", "/log?from=x", "/ask",
                    "/lockup", "/sign-in"):  # fmt: skip
        page.goto(locked.base + address)
        assert looked_at(page) == [], address
    page.get_by_role("button", name="Dot").click()
    assert looked_at(page) == []
    page.get_by_label("PIN", exact=True).fill("999888")
    page.get_by_role("button", name="Sign in").click()
    page.wait_for_selector(".problem")
    assert looked_at(page) == []
    page.get_by_label("PIN", exact=True).fill(PIN)
    page.get_by_role("button", name="Sign in").click()
    page.wait_for_url("**/ask")
    page.goto(f"{locked.base}/people")
    expect(page.get_by_text("Ask Ines")).to_be_visible()
    assert looked_at(page) == []
