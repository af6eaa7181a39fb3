"""Standing orders on the screen: the list, making what is due, one order, and its terms."""

from __future__ import annotations

from datetime import date

import pytest

NEW = {"name": "Mill canteen", "phone": "4471", "days": "4", "time": "10:00", "every": "1",
       "first": "2026-06-09", "cut1": "C02", "amount1": "3", "by": "dot", "key": "k"}  # fmt: skip


def test_the_list_has_orders_and_what_is_due(client, words):
    """Both demo orders; up to the 24th the box is due too."""
    text = words(client.get("/standing?until=2026-06-24").text)
    assert "S1 Restaurant standing order Tue, Fri 11:00" in text
    assert "every 2 weeks" in text
    assert "Wed 24 Jun, 17:00 S2 Household, weekly box" in text


def test_a_new_order_is_begun_made_and_said(client, shop, words):
    """Begun by its form; the booking of Friday is made once, and hangs on the hook."""
    more = {"cut2": "C14", "amount2": "6", "instead2": "C13", "cap2": "5"}
    answer = client.post("/standing/new", data=NEW | more)
    assert answer.headers["location"] == "/standing/S3?done=begun"
    assert "The standing order begins." in words(client.get(answer.headers["location"]).text)
    (first, second) = shop.standing.order("S3").terms.lines
    assert (first.cap, second.stand_in, second.cap.text()) == (None, "C13", "5.00 lb")
    made = client.post("/standing/make", data={"by": "ines", "until": "2026-06-12"})
    text = words(client.get(made.headers["location"]).text)
    assert "5.00 lb Beef hanger and skirt asked, 0.87 lb there: capped; 4.13 lb short." in text
    again = client.post("/standing/make", data={"by": "ines", "until": "2026-06-12"})
    assert "Nothing was due." in words(client.get(again.headers["location"]).text)
    assert len(shop.find("Mill canteen")) == 1
    assert "Mill canteen" in words(client.get("/hook").text)
    assert "made for Fri 12 Jun" in words(client.get("/standing/S3").text)


def test_one_action_stands_out_and_none_makes_nothing(client):
    """Nothing due: no button to make it, and a new order is the thing to do; due: the other way."""
    none = client.get("/standing?until=2026-06-10").text
    assert "Make the bookings" not in none
    assert none.count("main-action") == 1
    some = client.get("/standing?until=2026-06-24").text
    assert "Make the bookings" in some
    assert some.count("main-action") == 1


def test_the_hook_says_what_is_due_and_not_made(client, words):
    """On its day, until it is made; then its slip hangs there."""
    said = "due: S1 Restaurant standing order, not made yet"
    assert said in words(client.get("/hook").text).replace(" ,", ",")
    client.post("/standing/make", data={"by": "ines", "until": "2026-06-16"})
    until_then = client.get("/hook?from=2026-06-03").text
    assert said not in words(until_then).replace(" ,", ",")


def test_a_form_is_in_the_unit_of_the_device(client, shop, words):
    """Kilograms where the device shows them; terms kept in pounds name their unit when changed."""
    client.cookies.set("collop_unit", "kg")
    assert "Weights in kg." in words(client.get("/standing/new").text)
    client.post("/standing/new", data=NEW | {"unit": "kg", "cap1": "2"})
    (line,) = shop.standing.order("S3").terms.lines
    assert (line.weight.text(), line.cap.text()) == ("3.00 kg", "2.00 kg")
    assert 'value="9 lb"' in client.get("/standing/S1/change").text
    client.post("/standing/new", data=NEW | {"unit": "lb", "key": "l"})
    assert shop.standing.order("S4").terms.lines[0].weight.text() == "3.00 lb"


@pytest.mark.parametrize("address", ["/hook", "/lockup"])
def test_what_is_due_for_the_next_open_day_is_one_tap(client, words, read_page, address):
    """Nothing yet for Wednesday; an order for it is made from the page, once."""
    assert "for Wednesday 10 June" not in words(client.get(address).text)
    client.post("/standing/new", data=NEW | {"days": "2"})
    text = client.get(address).text
    assert "Make S3 for Wednesday 10 June" in words(text)
    assert read_page(text).inline == []
    answer = client.post("/standing/make", data={"by": "ines", "until": "2026-06-10"})
    assert "made=H" in answer.headers["location"]
    assert "Make S3" not in words(client.get(address).text)


def test_a_weight_in_another_unit_keeps_it_when_terms_are_changed(client, shop, read_page):
    """3 kg in a shop of pounds stay 3 kg, and their cap 5 kg, in a form that was not touched."""
    client.post("/standing/new", data=NEW | {"amount1": "3 kg", "cap1": "5 kg"})
    before = shop.standing.order("S3").terms.lines
    form = read_page(client.get("/standing/S3/change").text).form("/standing/S3/change")
    assert (form["amount1"], form["cap1"]) == (["3 kg"], ["5 kg"])
    client.post("/standing/S3/change", data=form | {"cut1": "C02", "by": "dot"})
    assert shop.standing.order("S3").terms.lines == before


def test_terms_are_changed_in_their_own_form(client, shop, read_page):
    """The form holds what stands; what is not touched stays."""
    page = client.get("/standing/S1/change").text
    form = read_page(page).form("/standing/S1/change")
    assert form["days"] == ["1", "4"]
    assert form["amount3"] == ["6"]
    cuts = {
        f"cut{at}": one.case_id for at, one in enumerate(shop.standing.order("S1").terms.lines, 1)
    }
    answer = client.post("/standing/S1/change", data=form | cuts
                         | {"instead3": "C13", "time": "12:00", "by": "ines"})  # fmt: skip
    assert answer.headers["location"] == "/standing/S1?done=changed"
    before, after = shop.standing.orders()[1], shop.standing.order("S1")
    assert before.id == "S2"
    assert f"{after.terms.hour:%H:%M}" == "12:00"
    assert [str(one.weight.decimal(one.weight.unit, 1)) for one in after.terms.lines] == [
        "9.0", "14.0", "6.0", "4.0", "12.0",
    ]  # fmt: skip
    assert after.terms.lines[2].stand_in == "C13"
    assert after.terms.on_account


@pytest.mark.parametrize(
    ("what", "state"), [("pause", "paused"), ("end", "ended"), ("skip", "on")]
)  # fmt: skip
def test_pause_end_and_one_day_out(client, shop, words, what, state):
    """Each by its button, kept with who did it."""
    data = {"do": what, "by": "dot", "why": "holidays", "day": "2026-06-16", "key": "k"}
    answer = client.post("/standing/S1/do", data=data)
    assert answer.headers["location"] == f"/standing/S1?done={what}"
    order = shop.standing.order("S1")
    assert (order.state, order.events[-1].why) == (state, "holidays")
    assert client.get(answer.headers["location"]).status_code == 200
    if what == "skip":
        assert date(2026, 6, 16) in order.settled
    if what == "pause":
        client.post("/standing/S1/do", data=data | {"do": "resume", "key": "k2"})
        assert shop.standing.order("S1").state == "on"


@pytest.mark.parametrize(
    ("change", "status", "said"),
    [
        ({"by": ""}, 422, "Who: choose"), ({"do": "skip", "day": ""}, 422, "Day: choose a day"),
        ({"do": "skip", "day": "2026-06-17"}, 422, "no coming day"),
        ({"do": "resume"}, 409, "only a paused one"), ({"do": "zzz"}, 422, "Choose what to do"),
    ],
)  # fmt: skip
def test_what_cannot_be_done_is_said(client, shop, words, change, status, said):
    """Nothing is changed."""
    data = {"do": "pause", "by": "dot", "key": "k"} | change
    answer = client.post("/standing/S1/do", data=data)
    assert answer.status_code == status
    assert said in words(answer.text)
    assert len(shop.standing.order("S1").events) == 1


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"name": ""}, "Name"), ({"days": ""}, "Days: choose at least one"),
        ({"time": "x"}, "Collected at"), ({"time": "06:00"}, "open 08:00"),
        ({"every": "0"}, "0 is too few"), ({"first": ""}, "First day: choose"),
        ({"first": "2026-06-01"}, "first day"),
        ({"last": "2026-06-01"}, "turn them round"), ({"cut1": ""}, "at least one cut"),
        ({"amount1": ""}, "How much"), ({"amount1": "x"}, "weight"), ({"cap1": "x"}, "weight"),
        ({"cut1": "C99"}, "no case line"), ({"instead1": "C02"}, "stand in for itself"),
        ({"amount1": "1e-999999"}, "weight"), ({"heads": "-1"}, "Heads"), ({"by": ""}, "Who"),
    ],
)  # fmt: skip
def test_what_is_wrong_with_the_terms_is_said_in_the_summary(client, shop, words, change, said):
    """And nothing begins."""
    answer = client.post("/standing/new", data=NEW | change)
    assert answer.status_code == 422
    assert said in words(answer.text)
    assert len(shop.standing.orders()) == 2


def test_making_needs_somebody_and_a_day_that_can_be(client, words):
    """Who, and not too far ahead."""
    answer = client.post("/standing/make", data={})
    assert (answer.status_code, "Who: choose" in words(answer.text)) == (422, True)
    far = client.post("/standing/make", data={"by": "dot", "until": "2026-12-01"})
    assert (far.status_code, "62 days ahead" in words(far.text)) == (422, True)
    assert client.get("/standing?until=x").status_code == 422


def test_an_order_that_is_not_there(client):
    """404, in words."""
    for address in ("/standing/S9", "/standing/zzz", "/standing/S9/change"):
        assert client.get(address).status_code == 404


@pytest.mark.parametrize("address", ["/standing", "/standing/new", "/standing/S1",
                                     "/standing/S1/change"])  # fmt: skip
def test_every_field_is_named(client, read_page, address):
    """No inline script or style, no field without a label."""
    page = read_page(client.get(address).text)
    assert page.inline == []
    assert page.unlabelled() == []
