"""A first day on the demo week: each step is ticked by what the shop itself knows."""

from __future__ import annotations

import re
from datetime import timedelta

import fake_kernel
import pytest
from starlette.testclient import TestClient

from collop.measures import Temperature, Weight, WeightUnit
from collop.shop import (
    DEMO_START,
    NewBooking,
    NewLine,
    NewPayment,
    NewSale,
    NewTicket,
    StillClock,
    create_shop,
    open_shop,
)
from collop.shop.tour import TOUR_STEPS
from collop.web import create_app

LB = WeightUnit.LB
DOT = {"by": "dot"}


def lb(text):
    """Return pounds."""
    return Weight.of(text, LB)


def book(shop):
    """Book chops and steaks for one at eleven."""
    new = NewBooking(name="Tour", collect_at=DEMO_START + timedelta(hours=3), by="dot", heads=2,
                     lines=(NewLine("C16", lb("1")),))  # fmt: skip
    return shop.book(new, key="tour-book")


def cut_first(shop):
    """Finish the first line of the bench with its own weight."""
    shop.bench.refresh()
    line = next(one for one in shop.bench.lines().lines if one.weight)
    shop.bench.done(line.id, line.weight, **DOT, key="tour-done", sure=True)


def hand_over(shop):
    """Hand the tour's own booking over as it was weighed."""
    (found,) = (one for one in shop.find("Tour") if one.name == "Tour")
    shop.hand_over(found.id, {f"{found.id}-1": lb("1")}, **DOT, key="tour-gone")


# in the order of the tour: what a person does at each step
DO = {
    "ask": lambda shop: shop.quote([NewLine("C16", lb("1"))], ask={}, key="tour-ask", **DOT),
    "book": book,
    "hook": lambda shop: shop.change_state(shop.find("Tour")[0].id, "cut", **DOT, key="tour-cut"),
    "bench": cut_first,
    "sell": lambda shop: shop.selling.sell([NewSale("C11", lb("1"))], NewPayment("cash"), **DOT,
                                           key="tour-sell"),
    "ticket": lambda shop: shop.tickets.print(
        NewTicket(case_id="C02", gross=lb("4.87"), tare="Small tray, pad and film",
                  lot="C02-0609"), **DOT, key="tour-ticket"),
    "cold": lambda shop: shop.day.check_cold("case", Temperature.fahrenheit("39"), **DOT,
                                             key="tour-cold"),
    "hand-over": hand_over,
    "count": lambda shop: shop.lockup.count("C12", lb("4.3"), **DOT, key="tour-count"),
    "lock": lambda shop: shop.lockup.lock(by="ines", key="tour-lock", words={"H4": "short"}),
}  # fmt: skip


def ticked(html):
    """Return which steps the page shows as done, by their place."""
    steps = re.findall(r'<li class="cut-card".*?</li>', html, flags=re.DOTALL)
    return [at for at, step in enumerate(steps) if ">done</span>" in step], len(steps)


def test_nothing_is_done_when_the_demo_week_begins(client):
    """What the demo week itself wrote counts for nobody; the first step is the main action."""
    html = client.get("/tour").text
    assert ticked(html) == ([], 10)
    assert "0 of 10 done" in html
    assert html.count('aria-current="step"') == 1
    assert html.count("button main-action") == 1


def test_each_step_is_ticked_when_it_is_done(client, shop, clock, words):
    """The ten steps in their order, each by its act in the shop; the page counts along."""
    assert list(DO) == list(TOUR_STEPS)
    for at, (name, act) in enumerate(DO.items()):
        if name == "count":
            clock.put(DEMO_START.replace(hour=18))
        assert name not in shop.tour.done()
        act(shop)
        assert shop.tour.done() == frozenset(list(DO)[: at + 1])
    html = client.get("/tour").text
    assert ticked(html) == (list(range(10)), 10)
    assert "10 of 10 done" in words(html)
    assert "The first day is done" in html
    assert not shop.check()


def test_every_step_leads_to_a_page_that_is_there(client):
    """Each button's page opens."""
    found = re.findall(r'<a class="button[^"]*" href="([^"]+)"', client.get("/tour").text)
    assert len(found) == 10
    for path in set(found):
        assert client.get(path).status_code == 200, path


def test_the_hand_over_of_a_fresh_demo_can_be_done_from_its_button(client, shop, clock, words):
    """From the step's button through its forms alone: go without, weigh, hand over, and ticked."""
    clock.put(DEMO_START.replace(hour=11))
    step = client.get("/tour").text.split("8. Hand over")[1].split("</li>")[0]
    path = re.search(r'href="([^"]+)"', step)[1]
    assert path == "/hook/H4/hand-over"
    page = client.get(path).text
    action = re.search(r'<form method="post" action="([^"]+)" class="walk"', page)[1]
    sent = dict(re.findall(r'<input type="hidden" name="(\w+)" value="([^"]*)"', page))
    path = client.post(action, data=sent | DOT).headers["location"]
    page = client.get(path).text
    sent = dict(re.findall(r'<input type="hidden" name="(\w+)" value="([^"]*)"', page))
    for line in shop.booking("H4").lines:
        sent[f"weighed-{line.id}"] = str(line.weight.decimal(LB, 2))
    total = words(client.post(path.partition("?")[0], data=sent | {"do": "check"}).text)
    assert f"total {shop.pickup.pickup('H4').total}" in total
    done = client.post(path.partition("?")[0], data=sent | DOT | {"do": "hand-over"})
    assert done.headers["location"] == "/hook/H4?done=gone"
    assert "hand-over" in shop.tour.done()
    step = client.get("/tour").text.split("8. Hand over")[1].split("</li>")[0]
    assert ">done</span>" in step
    assert client.get(re.search(r'href="([^"]+)"', step)[1]).status_code == 200


def test_a_shop_of_its_own_says_how_to_make_a_demo(tmp_path, words):
    """No tour in the books of a real shop: the command that makes a demo week instead."""
    address = f"sqlite:///{tmp_path}/own.db"
    create_shop(address, clock=StillClock()).close()
    with open_shop(address, StillClock()) as own:
        app = create_app(own, answer=fake_kernel.answer, is_open_without_password=True)
        with TestClient(app, follow_redirects=False) as client:
            html = client.get("/tour").text
    assert "collop demo --db demo.db" in words(html)
    assert ticked(html) == ([], 0)


@pytest.mark.parametrize("page", ["/ask", "/case"])
def test_training_is_reached_from_where_a_new_hand_begins(client, page):
    """The empty Ask of a demo shop offers the tour; the case offers its cards."""
    assert {"/ask": "/tour", "/case": "/cards"}[page] in re.findall(
        r'href="([^"]+)"', client.get(page).text
    )
