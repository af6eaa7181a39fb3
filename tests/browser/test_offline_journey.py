"""The server away: what is done at the counter waits on the device, and is done once later.

The server is a process that is killed (SIGKILL) and started again on the same file and port.
"""

from __future__ import annotations

import os
import re
import shutil
import time
from contextlib import contextmanager, suppress
from datetime import date
from fractions import Fraction
from random import Random

import pytest
from away_server import SILENCE, AwayServer, Line
from playwright.sync_api import TimeoutError, expect  # noqa: A004 -- the browser's own
from test_access import axe_faults

from collop.measures import Rounding, UnitPrice, Weight, WeightUnit
from collop.rules.taxing import CASH_RULES, TAX_PER, TaxClass, TaxLine, cash_total, taxes
from collop.shop import NewPayment, NewSale, StillClock, open_shop

CHROMIUM = os.environ.get("CHROMIUM", "/usr/bin/chromium")
ARGUMENTS = ["--no-sandbox", "--disable-gpu", "--no-first-run"]
CUTS = (("Beef mince", "1.08"), ("Lamb neck", "0.50"), ("Pork shoulder", "0.75"))
READY = "navigator.serviceWorker.ready.then(() => null)"
# a function: a text to be evaluated is refused by the pages' policy when it is not true at once
CONTROLLED = "() => navigator.serviceWorker.controller !== null"
KEPT = """async (paths) => {
  for (const name of await caches.keys()) {
    const store = await caches.open(name);
    const all = await Promise.all(paths.map((path) => store.match(path)));
    if (all.every(Boolean)) { return true; }
  }
  return false;
}"""
ASK = """(data) => new Promise((resolve) => {
  const line = new MessageChannel();
  line.port1.onmessage = (event) => resolve(event.data);
  navigator.serviceWorker.controller.postMessage(data, [line.port2]);
})"""


@pytest.fixture
def away(demo_file, tmp_path):
    """Yield a server over a fresh demo shop that may be killed and started again."""
    path = tmp_path / "shop.db"
    shutil.copy(demo_file, path)
    server = AwayServer(path)
    server.start()
    yield server
    server.kill()


@contextmanager
def shop_of(away):
    """Open the shop beside its server, or without it."""
    shop = open_shop(f"sqlite:///{away.path}", StillClock())
    try:
        yield shop
    finally:
        shop.close()


def send_now(page):
    """Ask the page to send; it may have done so by itself meanwhile, and then nothing waits."""
    button, waits = page.locator("#send-now"), page.locator(".waiting-one.is-waits")
    until = time.monotonic() + 60
    while time.monotonic() < until:
        if button.is_visible():
            with suppress(TimeoutError):
                button.click(timeout=2000)
                return
        elif page.locator(".waiting-one").count() and not waits.count():
            return
        page.wait_for_timeout(50)
    raise AssertionError("there is nothing to send, and something waits")


def at_work(page, base, *paths):
    """Open the shop so that the offline script is at work and has its pages."""
    page.goto(f"{base}/sell")
    page.evaluate(READY)
    page.wait_for_function(CONTROLLED)
    page.reload()
    for path in paths:
        page.goto(base + path)
    page.evaluate(ASK, {"do": "idle"})
    wanted = ["/sell", "/hook", "/case", "/daybook", "/waiting", *paths]
    assert page.evaluate(KEPT, wanted)


def sell(page, base, *cuts, by="Dot"):
    """Sell over the copied page: weights, tiles, who, cash."""
    page.goto(f"{base}/sell")
    for name, weight in cuts:
        page.get_by_label("On the scale, lb").fill(weight)
        page.get_by_role("button", name=re.compile(f"^{name}")).first.click()
        page.wait_for_url("**/sell?*line=*")
    page.locator("main").get_by_text(by, exact=True).click()
    page.get_by_role("button", name=re.compile("^Keep the sale: cash")).click()
    page.wait_for_url("**/waiting?kept=*")


def entries(page):
    """Return what the device keeps."""
    return page.evaluate(ASK, {"do": "list"})


def test_what_is_done_without_the_server_is_done_once_when_it_is_back(away, open_page):
    """Three sales, a cold check, a hand-over: kept, shown, and sent, each once; books clean."""
    page = open_page()
    at_work(page, away.base, "/daybook/cold", "/hook/H8/hand-over")
    away.kill()
    for cut in CUTS:
        sell(page, away.base, cut)
    expect(page.locator("#waiting-said")).to_contain_text("3 waiting")
    page.goto(f"{away.base}/daybook/cold")
    assert page.locator(".as-of").is_visible()
    page.locator(".day-place").first.click()
    page.get_by_label("What the thermometer says").fill("38")
    page.get_by_text("Kofi", exact=True).click()
    page.get_by_role("button", name="Done").click()
    page.wait_for_url("**/waiting?kept=*")
    page.goto(f"{away.base}/hook/H8/hand-over")
    for field in page.get_by_label(re.compile("^Weighed")).all():
        field.fill("1.00")
    page.locator("main").get_by_text("Dot", exact=True).click()
    page.get_by_role("button", name="Hand over, and let it wait").click()
    page.wait_for_url("**/waiting?kept=*")
    expect(page.locator("#waits")).to_contain_text("5 waiting")
    assert axe_faults(page) == []
    away.start()
    send_now(page)
    expect(page.locator(".waiting-one.is-done")).to_have_count(5)
    with shop_of(away) as shop:
        money = {one.money.booking_id: str(one.money.total) for one in shop.money.takings().slips}
        assert money == {"H11": "8.42", "H12": "3.15", "H13": "4.80", "H8": "8.90"}
        (cold,) = [one for one in shop.day.page().lines if one.tile == "cold" and one.by == "kofi"
                   and one.at == shop.now()]  # fmt: skip
        assert cold.done_at < cold.at
        late = shop.papers.late(cold.done_at.date(), shop.now().date())
        assert len(late) == 5
        assert all(one.sheet.startswith("device ") and one.done_at < one.at for one in late)
        assert shop.check() == []


def slips(away):
    """Return number, money and person of the slips of the day; the books must be clean."""
    with shop_of(away) as shop:
        assert shop.check() == []
        return [(one.money.booking_id, str(one.money.total)) for one in shop.money.takings().slips]


def free_of(away, case_id):
    """Return what is free of a line."""
    with shop_of(away) as shop:
        return next(one.free for one in shop.case() if one.id == case_id)


@pytest.fixture
def line(away):
    """Yield a line to the server that can lose answers."""
    made = Line(away.port)
    yield made
    made.close()


def take_money(page, base):
    """Sell a pound of mince for cash on the page of the server."""
    page.goto(f"{base}/sell")
    page.get_by_label("On the scale, lb").fill("1.08")
    page.get_by_role("button", name=re.compile("^Beef mince")).click()
    page.wait_for_url("**/sell?line=*")
    page.locator("main").get_by_text("Dot", exact=True).click()
    page.get_by_role("button", name=re.compile("^Take the money: cash")).click()


def test_an_answer_lost_after_the_write_is_one_sale(away, line, open_page):
    """The server wrote it, the answer never came: kept, sent again under its key, and done once."""
    page = open_page()
    at_work(page, line.base)
    line.loses = b"POST /sell"
    take_money(page, line.base)
    page.wait_for_url("**/waiting?kept=*")
    assert line.lost >= 1
    assert slips(away) == [("H11", "8.42")]
    line.loses = b""
    send_now(page)
    expect(page.locator(".waiting-one.is-done")).to_have_count(1)
    expect(page.get_by_role("link", name="Open H11")).to_be_visible()
    assert slips(away) == [("H11", "8.42")]


def test_a_server_whose_storage_is_away_is_away_and_a_refusal_is_not(away, line, open_page):
    """503 is kept; a form that is refused with 422 is shown with its faults, and nothing waits."""
    page = open_page()
    at_work(page, line.base, "/daybook/cold")
    page.goto(f"{line.base}/daybook/cold")
    page.get_by_role("button", name="Done").click()
    expect(page.locator(".problem")).to_be_visible()
    assert entries(page) == []
    said = b"HTTP/1.1 503 Service Unavailable\r\nContent-Length: 3\r\nConnection: close\r\n\r\nno\n"
    line.instead = {b"POST /sell": said}
    take_money(page, line.base)
    page.wait_for_url("**/waiting?kept=*")
    send_now(page)
    expect(page.locator("#waiting-told")).to_contain_text("cannot write; it is tried again")
    (entry,) = entries(page)
    assert entry["state"] == "waits"
    assert entry["tries"] >= 1
    assert slips(away) == []
    line.instead = {}
    send_now(page)
    expect(page.locator(".waiting-one.is-done")).to_have_count(1)
    assert slips(away) == [("H11", "8.42")]


def test_the_last_of_a_line_sold_elsewhere_meanwhile_is_for_a_person(away, open_page):
    """It is shown with the shop's own sentence, opens filled in, and given up it is in the log."""
    page = open_page()
    at_work(page, away.base)
    away.kill()
    sell(page, away.base, CUTS[1])
    free = free_of(away, "C05")
    with shop_of(away) as shop:
        shop.selling.sell([NewSale("C05", free)], NewPayment("card"), by="ines", key="elsewhere")
    away.start()
    send_now(page)
    expect(page.locator("#waits")).to_contain_text("1 needs you")
    one = page.locator(".waiting-one.is-conflict")
    expect(one).to_contain_text(re.compile("Lamb neck.* free"))
    assert axe_faults(page) == []
    page.get_by_role("link", name="Open the form").click()
    page.wait_for_url("**/sell?line=*")
    expect(page.locator(".sell-line .warn")).to_be_visible()
    page.goto(f"{away.base}/waiting")
    one.get_by_text("Give up", exact=True).first.click()
    one.get_by_role("button", name="Give up").click()
    expect(one.locator(".fault")).to_be_visible()
    one.get_by_label("Why it is given up").fill("customer brought it back")
    one.get_by_role("button", name="Give up").click()
    expect(page.locator(".waiting-one.is-given-up")).to_contain_text("It is in the log")
    with shop_of(away) as shop:
        log = [row.what for row in shop.access.log(shop.now().date(), shop.now().date())]
        given_up = [words for words in log if words.startswith("given up:")]
        assert len(given_up) == 1
        assert "Sale at the glass: 1 line, 3.15 cash" in given_up[0]
        assert "customer brought it back" in given_up[0]
        assert shop.check() == []
    assert len(slips(away)) == 1


def test_a_server_that_does_not_answer_is_away_after_eight_seconds(away, line, open_page):
    """The line is open and nothing comes: the sale is kept, and sent later."""
    page = open_page()
    at_work(page, line.base)
    line.instead = {b"POST /sell": SILENCE}
    begun = time.monotonic()
    take_money(page, line.base)
    page.wait_for_url("**/waiting?kept=*")
    assert time.monotonic() - begun > 7
    line.instead = {}
    send_now(page)
    expect(page.locator(".waiting-one.is-done")).to_have_count(1)
    assert slips(away) == [("H11", "8.42")]


def test_two_tabs_send_once(away, line, open_page):
    """Both tabs come back at once and ask to send; each form goes over the line one time."""
    page = open_page()
    at_work(page, line.base)
    line.instead = {b"POST /sell": b""}
    for cut in CUTS[:2]:
        sell_live(page, line.base, cut)
    other = page.context.new_page()
    other.goto(f"{line.base}/waiting")
    line.instead, line.seen[:] = {}, []
    both = """Promise.all([...Array(4)].map(() => (%s)({do: "send"})))""" % ASK  # noqa: UP031
    other.evaluate(f"window.asked = {both}; null")
    page.evaluate(f"window.asked = {both}; null")
    expect(page.locator(".waiting-one.is-done")).to_have_count(2)
    expect(other.locator(".waiting-one.is-done")).to_have_count(2)
    assert line.seen.count("POST /sell") == 2
    assert [money for _, money in slips(away)] == ["8.42", "3.15"]


def sell_live(page, base, cut):
    """Sell one cut while writes do not come through, and pages do."""
    page.goto(f"{base}/sell")
    page.get_by_label("On the scale, lb").fill(cut[1])
    page.get_by_role("button", name=re.compile(f"^{cut[0]}")).first.click()
    page.wait_for_url("**/sell?*line=*")
    page.locator("main").get_by_text("Dot", exact=True).click()
    page.get_by_role("button", name=re.compile("^Take the money: cash")).click()
    page.wait_for_url("**/waiting?kept=*")


def sign_in(page, name, password):
    """Sign in by name and password and wait for the page that was meant."""
    page.get_by_label("Name", exact=True).fill(name)
    page.get_by_label("Password", exact=True).fill(password)
    page.get_by_role("button", name="Sign in").click()


def test_an_ended_session_waits_and_another_s_work_is_not_taken(away, open_page):
    """It says sign in; as somebody else it waits for Dot; as Dot it is sent, and is hers."""
    with shop_of(away) as shop:
        shop.access.set_up("Ines", "four shanks in the pot")
        shop.access.set_password("dot", "counter bell rings late", by="ines")
    page = open_page()
    page.goto(f"{away.base}/sign-in?back=/sell")
    sign_in(page, "Dot", "counter bell rings late")
    page.wait_for_url("**/sell")
    at_work(page, away.base)
    away.kill()
    sell(page, away.base, CUTS[0])
    assert [(one["by"], one["name"]) for one in entries(page)] == [("dot", "Dot")]
    with shop_of(away) as shop:
        shop.access.end_all("dot", by="ines", why="test")
    away.start()
    send_now(page)
    expect(page.locator("#waiting-told")).to_have_text("Sign in to send 1.")
    page.get_by_role("link", name="Sign in to send", exact=True).click()
    sign_in(page, "Ines", "four shanks in the pot")
    page.wait_for_url("**/waiting")
    expect(page.locator(".waiting-one")).to_contain_text("Waits for Dot to sign in.")
    assert slips(away) == []
    assert not page.evaluate(KEPT, ["/case"])
    page.get_by_role("link", name="Change hands").click()
    sign_in(page, "Dot", "counter bell rings late")
    page.wait_for_url("**/waiting")
    expect(page.locator(".waiting-one.is-done")).to_have_count(1)
    with shop_of(away) as shop:
        assert shop.money.takings().slips[0].money.payments[0].by == "dot"
        assert shop.check() == []


def test_what_waits_outlives_the_browser(away, chromium, tmp_path):
    """The same profile after the browser was closed: the sale is there, and is sent."""

    def browser():
        return chromium.browser_type.launch_persistent_context(
            tmp_path / "profile", executable_path=CHROMIUM, args=ARGUMENTS)  # fmt: skip

    first = browser()
    page = first.new_page()
    at_work(page, away.base)
    away.kill()
    sell(page, away.base, CUTS[0])
    first.close()
    second = browser()
    try:
        page = second.new_page()
        page.goto(f"{away.base}/waiting")
        expect(page.locator(".waiting-one.is-waits")).to_have_count(1)
        away.start()
        send_now(page)
        expect(page.locator(".waiting-one.is-done")).to_have_count(1)
    finally:
        second.close()
    assert slips(away) == [("H11", "8.42")]


def test_what_cannot_wait_says_so_and_is_not_kept(away, open_page):
    """A release needs the server: the page says why, nothing waits, and the way back is there."""
    page = open_page()
    at_work(page, away.base, "/hook/H8")
    page.goto(f"{away.base}/hook/H8")
    away.kill()
    page.locator("main").get_by_text("Dot", exact=True).click()
    page.get_by_role("button", name=re.compile("^Release")).click()
    page.wait_for_url("**/waiting?not=*")
    expect(page.locator("#waiting-said")).to_contain_text("Nothing was written.")
    assert entries(page) == []
    page.goto(f"{away.base}/hook/H8")
    expect(page.locator(".will-wait").first).to_be_visible()
    page.goto(f"{away.base}/farm")
    expect(page.locator("h1")).to_have_text("No connection")
    away.start()
    with shop_of(away) as shop:
        assert str(shop.booking("H8").state) == "booked"


def test_parts_at_the_knife_wait_each_under_its_key(away, line, open_page):
    """Two touches while the server is away: two weighings once it is back, in their order."""
    page = open_page(width=1180, height=820)
    with shop_of(away) as shop:
        piece = next(one for one in shop.rail() if shop.cutting.styles_for(one.tag))
        style = shop.cutting.styles_for(piece.tag)[0]
        number = shop.cutting.start_break(piece.tag, style.id, by="marek", key="begin").number
    at_work(page, line.base)
    page.goto(f"{line.base}/knife/{number}?by=marek")
    line.instead = {b"POST /knife": b""}
    for at, weight in enumerate(("1.25", "2.5")):
        page.locator("#knife input[data-scale]").fill(weight)
        page.locator('#knife button[name="part"]').nth(at).click()
        expect(page.locator("#lost")).to_contain_text(f"a part of {weight} lb")
    first, second = entries(page)
    assert first["key"] != second["key"]
    line.instead = {}
    page.goto(f"{line.base}/waiting")
    send_now(page)
    expect(page.locator(".waiting-one.is-done")).to_have_count(2)
    with shop_of(away) as shop:
        weighed = shop.cutting.break_(number).weighings
        assert [str(one.weight.decimal(WeightUnit.LB, 2)) for one in weighed] == ["1.25", "2.50"]
        assert shop.check() == []


def test_the_wish_of_a_customer_says_that_nothing_is_booked(away, open_page):
    """Kept as a wish with its caution; when the server is back it is a booking on the hook."""
    page = open_page()
    at_work(page, away.base, "/free-by/book")
    away.kill()
    page.goto(f"{away.base}/free-by/book")
    page.locator('[name="name"]').fill("Elm Row")
    page.locator('[name="phone"]').fill("4471")
    page.locator('[name="day"]').fill("2026-06-13")
    page.locator('[name="cut1"]').select_option("C01")
    page.locator('[name="amount1"]').fill("1")
    page.locator("main").get_by_text("Dot", exact=True).click()
    page.get_by_role("button", name=re.compile("^Book")).last.click()
    page.wait_for_url("**/waiting?kept=*")
    expect(page.locator("#waiting-said")).to_contain_text("Nothing is booked yet: it is a wish.")
    away.start()
    send_now(page)
    expect(page.get_by_role("link", name=re.compile("^Open H"))).to_be_visible()
    with shop_of(away) as shop:
        assert [one.name for one in shop.find("Elm Row")] == ["Elm Row"]


def test_the_sums_of_the_device_are_those_of_the_shop(still_counter, open_page):
    """Line money, tax and total of 300 random sales, to the cent, as the shop works them out."""
    page = open_page()
    page.goto(f"{still_counter.base}/sell")
    shop, chance = still_counter.shop, Random(7)
    cuts = [one for one in shop.case() if one.piece_lb is None]
    facts = shop.waiting.sale_facts()
    asked, told = [], []
    for _ in range(300):
        sale = []
        for one in chance.choices(cuts, k=chance.randint(1, 4)):
            unit = chance.choice((WeightUnit.LB, WeightUnit.KG))
            text = f"{chance.randint(1, 400) / 100:.2f}"
            sale.append((one.id, text, unit))
        estimate = shop.selling.estimate(
            [NewSale(cut, Weight.of(text, unit)) for cut, text, unit in sale]
        )
        told.append([str(estimate.totals.total), *(str(line.money) for line in estimate.lines)])
        asked.append([{"cut": cut, "gross": f"{text} {unit}"} for cut, text, unit in sale])
    found = page.evaluate(
        """([sales, facts]) => sales.map((sale) => {
          const lines = sale.map((one) => new URLSearchParams(
            awaySale.next(new URLSearchParams(one), facts)).get("line"));
          const sum = awaySale.sumOf(lines, facts);
          return [sum.total, ...sum.lines.map((line) => line.money)].map(
            (money) => awaySale.moneyText(money, facts));
        })""", [asked, facts])  # fmt: skip
    assert found == told


def test_taxes_and_cash_of_the_device_are_those_of_the_kernel(still_counter, open_page):
    """Two classes, by slip and by line, both rules of the last cent, every way to round cash."""
    page = open_page()
    page.goto(f"{still_counter.base}/sell")
    chance, day = Random(11), date(2026, 6, 9)
    asked, told = [], []
    for _ in range(200):
        per, cash = chance.choice(TAX_PER), chance.choice(CASH_RULES)
        rule = chance.choice((Rounding.HALF_UP, Rounding.HALF_EVEN))
        percents = {name: Fraction(chance.randint(0, 1000), 80) for name in ("plain", "prepared")}
        cuts, lines, money = {}, [], []
        for at in range(chance.randint(1, 5)):
            tax = chance.choice(("plain", "prepared", None))
            price = UnitPrice.of(f"{chance.randint(100, 3000) / 100:.2f}", WeightUnit.LB)
            net = Weight.of(f"{chance.randint(1, 900) / 200:.3f}", WeightUnit.LB)
            exact = price.minor / Weight.of(1, WeightUnit.LB).count
            cuts[f"C{at}"] = {"name": "x", "price": "", "tax": tax, "over": str(exact.numerator),
                              "under": str(exact.denominator)}  # fmt: skip
            lines.append(f"cut=C{at}&net={net.count}lb")
            money.append(TaxLine(tax, price.line(net, rule)))
        rates = {name: {"over": str(one.numerator), "under": str(one.denominator * 100)}
                 for name, one in percents.items()}  # fmt: skip
        asked.append([lines, {"cuts": cuts, "taxes": rates, "rule": rule.value, "per": per,
                              "cash": cash, "step": "5", "places": 2}])  # fmt: skip
        classes = [TaxClass(name=name, percent=one) for name, one in percents.items()]
        total = taxes(money, classes, on=day, per=per, rule=rule).total
        told.append([str(total), str(cash_total(total, cash).to_pay)])
    found = page.evaluate("""(all) => all.map(([lines, facts]) => {
      const sum = awaySale.sumOf(lines, facts);
      return [sum.total, sum.cash].map((one) => awaySale.moneyText(one, facts));
    })""", asked)  # fmt: skip
    assert found == told


def test_after_signing_out_no_page_can_be_read_without_the_server(away, open_page):
    """Copies go with the person; the page of what waits stays, without a name on it."""
    with shop_of(away) as shop:
        shop.access.set_up("Ines", "four shanks in the pot")
    page = open_page()
    page.goto(f"{away.base}/sign-in?back=/sell")
    sign_in(page, "Ines", "four shanks in the pot")
    page.wait_for_url("**/sell")
    at_work(page, away.base)
    page.goto(f"{away.base}/people/me")
    page.get_by_role("button", name="Sign out here").click()
    page.wait_for_url("**/sign-in")
    away.kill()
    for path in ("/case", "/hook", "/sign-in"):
        page.goto(away.base + path)
        expect(page.locator("h1")).to_have_text("No connection")
    page.goto(f"{away.base}/waiting")
    expect(page.locator("h1")).to_have_text("Waiting on this device")
    assert page.locator(".hands").count() == 0
    away.start()
