"""Handing over: no stand-in that harms, the unit of the label, the total on the screen."""

from __future__ import annotations

from datetime import datetime, timedelta

import pytest
from test_web_booking import ASK, held
from test_web_case_and_hook import weigh

from collop.measures import Weight, WeightUnit
from collop.shop import NewBooking, NewLine
from collop.shop.pickup_stand_ins import stand_in
from collop.spread.contents import avoid_tags, tags_of
from collop.spread.problem import Avoid


def book(shop, case_id, pounds, **ask):
    """Return a booking of one line with what the table said."""
    line = next(one for one in shop.case() if one.id == case_id)
    new = NewBooking(
        name="Table",
        phone_end="1234",
        collect_at=datetime(2026, 6, 11, 12, 0),  # noqa: DTZ001 -- shop-local
        heads=6,
        ask=ask,
        lines=[NewLine(case_id, Weight.of(pounds, WeightUnit.LB), None, "plate", line.price)],
        note="",
        deposit=None,
        by="dot",
    )
    return shop.book(new, key=f"{case_id}-{sorted(ask)}-{ask}")


def offered(shop, booking):
    """Return the case line that would stand in for all of the first line, if any."""
    line = booking.lines[0]
    found = stand_in(booking, line, line.weight, shop.case())
    return found and next(one for one in shop.case() if one.id == found.case_id)


@pytest.mark.parametrize("case_id", ["C24", "C16", "C07", "C02"])
@pytest.mark.parametrize("allergen", ["sesame", "soy", "wheat", "milk", "mustard"])
def test_no_stand_in_holds_what_the_table_is_allergic_to(shop, case_id, allergen):
    """Whatever is short, the stand-in is free of the booking's declared allergen at any depth."""
    booking = book(shop, case_id, "2.00", contains=[allergen])
    one = offered(shop, booking)
    if one is not None:
        made_of = tags_of(one.species, one.casing, one.contains)
        assert not made_of & avoid_tags([f"allergen:{allergen}"])


def test_a_stand_in_brings_no_allergen_that_was_not_booked(shop):
    """Also without an allergy told, plain thighs are never filled up from a marinade."""
    one = offered(shop, book(shop, "C24", "2.00"))
    assert one is not None
    assert not one.contains


def test_a_table_without_pork_gets_no_hog_casing(shop):
    """Lamb links short at a table with some who eat no pork: nothing of pork, casing included."""
    one = offered(shop, book(shop, "C21", "1.00", avoids=["species:pork", "casing:hog"]))
    if one is not None:
        assert Avoid("species", "pork") not in tags_of(one.species, one.casing, one.contains)


def test_nothing_past_its_day_stands_in(shop, clock):
    """Four days on, no stand-in is past its use-by."""
    booking = book(shop, "C07", "2.00")
    clock.put(datetime(2026, 6, 11, 12, 0) + timedelta(days=1))  # noqa: DTZ001
    one = offered(shop, booking)
    assert one is None or not one.is_past


def test_a_bare_number_is_in_the_unit_of_its_label(client, shop, words):
    """With kg on the label 1.88 is 1.88 kg, and priced so."""
    booking = next(one for one in shop.find("short ribs") if one.deposit.minor)
    form = weigh(booking, C09="1.88") | {"do": "check", "unit": "kg"}
    text = words(client.post(f"/hook/{booking.id}/hand-over", data=form).text)
    exact = booking.lines[0].unit_price.line(Weight.of("1.88", WeightUnit.KG))
    assert f"total {exact}" in text
    assert "Weighed, kg" in text


def test_the_device_unit_is_the_label_and_travels_in_the_form(client, shop):
    """A device on kg shows kg and posts kg."""
    client.post("/device/units", data={"unit": "kg", "back": "/case"})
    booking = next(one for one in shop.find("short ribs") if one.deposit.minor)
    page = client.get(f"/hook/{booking.id}/hand-over").text
    assert 'name="unit" value="kg"' in page


def test_the_gone_slip_shows_what_was_handed_over(client, shop, clock, words):
    """4.15 of 5.00 lb: the slip says 36.94, not the booked 44.50, and never "to pay"."""
    booking = next(one for one in shop.find("short ribs") if one.deposit.minor)
    clock.put(datetime(2026, 6, 11, 17, 0))  # noqa: DTZ001
    form = weigh(booking, C09="4.15") | {"do": "hand-over", "by": "dot", "key": "k"}
    assert client.post(f"/hook/{booking.id}/hand-over", data=form).status_code == 303
    text = words(client.get(f"/hook/{booking.id}").text)
    assert "Total handed over 36.94" in text
    assert "Due at hand-over 16.94" in text
    assert "44.50" not in text
    assert "To pay" not in text


def test_a_choice_changed_after_the_total_is_shown_again_first(client, shop, clock, words):
    """The total on the screen is the total that is handed over, or nothing is."""
    booking = next(one for one in shop.find("short ribs") if one.deposit.minor)
    clock.put(datetime(2026, 6, 11, 17, 0))  # noqa: DTZ001
    form = weigh(booking, C09="4.15") | {"do": "check"}
    page = client.post(f"/hook/{booking.id}/hand-over", data=form).text
    worked = page.split('name="worked" value="')[1].split('"')[0]
    name = f"choice-{booking.lines[0].id}"
    hand = form | {"do": "hand-over", "by": "dot", "key": "k", "worked": worked, name: "top-up"}
    answer = client.post(f"/hook/{booking.id}/hand-over", data=hand)
    assert answer.status_code == 409
    assert "this is the new total" in words(answer.text)
    assert "total 42.88" in words(answer.text)
    assert str(shop.booking(booking.id).state) == "booked"
    again = answer.text.split('name="worked" value="')[1].split('"')[0]
    done = client.post(f"/hook/{booking.id}/hand-over", data=hand | {"worked": again})
    assert done.status_code == 303


@pytest.mark.parametrize(("weighed", "is_asked"), [("4.99", False), ("4.98", True)])
def test_a_hundredth_under_opens_no_choice(client, shop, clock, words, weighed, is_asked):
    """From two hundredths on the customer is asked; under it the line is taken as it is."""
    booking = next(one for one in shop.find("short ribs") if one.deposit.minor)
    clock.put(datetime(2026, 6, 11, 17, 0))  # noqa: DTZ001
    form = weigh(booking, C09=weighed) | {"do": "check"}
    text = words(client.post(f"/hook/{booking.id}/hand-over", data=form).text)
    assert ("the slip would come to" in text) is is_asked
    assert ("top up with" in text) is is_asked


def test_a_booking_from_an_ask_keeps_what_its_table_avoids(client, shop, read_page):
    """Don't-eats travel from the ask with the quote as tags that a stand-in is held to."""
    place = held(client, read_page, f"{ASK}&no_n=3&no_what=pork")
    quote = shop.quote_by_id(place.rpartition("/")[2])
    assert quote.ask["avoids"] == ["casing:hog", "species:pork"]


def test_what_is_still_to_come_is_gone_without_beside_setting_aside(client, shop, words):
    """No weights are asked for that lead nowhere: one button, and the page goes on to the scale."""
    page = client.get("/hook/H4/hand-over").text
    assert "2.20 lb of Beef hanger and skirt still to come" in words(page)
    assert 'name="weighed-' not in page
    assert "Work out the money" not in page
    form = page.split('action="/hook/H4/pick-up/without"')[1].split("</form>")[0]
    assert "Go without it</button>" in form
    assert 'href="/hook/to-tell"' in form
    assert 'href="/hook/H4/pick-up"' in form
    lead = {"back": "walk", "key": "k"}
    nobody = client.post("/hook/H4/pick-up/without", data=lead)
    assert nobody.status_code == 422
    assert "There is a problem" in nobody.text
    assert "<h1>Hand over" in nobody.text
    assert shop.pickup.pickup("H4").hindrance is not None
    gone = client.post("/hook/H4/pick-up/without", data=lead | {"by": "dot"})
    assert gone.headers["location"] == "/hook/H4/hand-over?done=without"
    page = client.get(gone.headers["location"]).text
    assert "Taken off. What is reserved stays as it is." in words(page)
    assert page.count('name="weighed-') == len(shop.booking("H4").lines)
    assert "Work out the money" in page
    again = client.post("/hook/H4/pick-up/without", data=lead | {"by": "dot", "key": "k2"})
    assert again.status_code == 409
    assert "Nothing is still to come for H4" in words(again.text)
    assert shop.check() == []


def test_an_order_that_is_not_packed_leads_to_its_packing(client):
    """Of a freezer order nothing can be weighed here: one link, no field."""
    page = client.get("/hook/H3/hand-over").text
    assert 'href="/freezer/H3">Pack</a>' in page
    assert 'name="weighed-' not in page
    assert "Go without it" not in page
