"""The pages of a freezer order: choose, see it live, book, print, weigh the packs."""

from __future__ import annotations

import re
from datetime import datetime

import pytest

from collop.measures import Money, Weight, WeightUnit
from collop.shop import NewBooking, NewLine

H3 = {
    "tag0": "L-209", "share0": "1/2", "price0": "7.40", "paid0": "24.5", "paid_is0": "hot",
    "bone0-2": "out", "as0-2": "roasts", "bones0": "take", "tag1": "B-41F.06", "price1": "6.80",
    "cutting": "0.65", "wrapping": "0.35", "booking": "H3", "by": "ines", "key": "once",
}  # fmt: skip


def _seen(page):
    return re.search(r'name="seen" value="([0-9.]+)"', page)[1]


def test_the_list_names_what_hangs_and_leads_to_the_form(client):
    """Every hanging piece of a household's animals is a way to begin."""
    page = client.get("/freezer").text
    assert "/freezer/new?tag0=L-209" in page
    assert "None waits" in page
    form = client.get("/freezer/new?tag0=L-209")
    assert form.status_code == 200
    assert "23.80 lb" in form.text  # half of the 47.6 lb that hang, without a further word
    large = [form.text.index(name) for name in ("Breast, shanks", "Shoulder", "Leg", "Rack")]
    assert large == sorted(large)


def test_a_choice_changes_packs_pounds_and_money(client):
    """Bone out gives fewer pounds than bone in, on the whole page and without script."""
    on_bone = client.post("/freezer/new", data=H3 | {"bone0-2": "in"}).text
    boned = client.post("/freezer/new", data=H3).text
    assert "Lamb leg roast" in on_bone
    assert "Lamb butterflied leg" in boned
    assert _seen(on_bone) == _seen(boned)  # the whole share is paid, whatever becomes of it
    assert "At the board" in boned
    assert "from memory, not checked" in boned


@pytest.mark.parametrize(
    ("field", "value", "said"),
    [
        ("thick0-3", "99", "Thickness, rack"),
        ("each0-3", "x", "Pieces to a pack, rack"),
        ("mince0", "lots", "Share of the trim to mince"),
        ("price0", "1e-999999", "Price"),
        ("take0", "900", "Weight wanted"),
        ("lean0", "NaN", "Fat of the mince"),
    ],
)
def test_a_bad_field_is_named_beside_it(client, field, value, said):
    """A wrong value gets one sentence in the summary, and its field is marked."""
    data = H3 | {field: value} | ({"share0": "weight"} if field == "take0" else {})
    page = client.post("/freezer/new", data=data)
    assert page.status_code == 422
    assert "There is a problem" in page.text
    assert said in page.text
    assert f'id="e-{field}"' in page.text


def test_a_fault_keeps_whose_order_it_is(client):
    """While a choice is put right, the booking and who takes it stay in the form."""
    page = client.post("/freezer/new", data=H3 | {"thick0-3": "99"}).text
    assert '<input type="hidden" name="booking" value="H3">' in page
    assert '<input type="hidden" name="by" value="ines">' in page


def test_booked_printed_and_packed(client, shop):
    """H3 gets its order; sheet and card print; packs leave the stock at their weight."""
    seen = _seen(client.post("/freezer/new", data=H3).text)
    sent = client.post("/freezer/book", data=H3 | {"seen": seen}, follow_redirects=False)
    assert sent.status_code == 303, sent.text
    again = client.post("/freezer/book", data=H3 | {"seen": seen}, follow_redirects=False)
    assert again.headers["location"] == sent.headers["location"] == "/freezer/H3?done=booked"
    sheet = client.get("/freezer/H3").text
    assert seen in sheet
    assert "24.50 lb hanging, hot" in sheet
    card = client.get("/freezer/H3/bench").text
    assert "LEG" in card
    assert "x1" in card
    waits = client.get("/freezer/H3/pack").text
    assert "is not broken yet" in waits
    assert "Keep these weights" not in waits
    style = shop.cutting.style("lamb")
    number = shop.cutting.start_break("L-209", "lamb", by="marek", key="b").number
    for part in style.parts:
        if part.kind != "loss":
            weight = Weight(round(part.share * Weight.of("47.6", WeightUnit.LB).count))
            shop.cutting.weigh_part(number, part.id, weight, by="marek", key=part.name)
    shop.cutting.close_break(number, by="marek", key="close")
    page = client.get("/freezer/H3/pack").text
    assert "Keep these weights" in page
    fields = re.findall(r'name="(w-[^"]+)"', page)
    assert len(fields) > 5
    data = dict.fromkeys(fields, "1.5") | {"by": "marek", "key": "packs"}
    assert client.post("/freezer/H3/pack", data={"by": "marek"}).status_code == 422
    sent = client.post("/freezer/H3/pack", data=data, follow_redirects=False)
    assert sent.status_code == 303, sent.text
    assert "together the 23.80 lb of the rail" in client.get("/freezer/H3").text
    assert shop.check() == []


def test_a_total_that_is_not_the_seen_one_is_not_booked(client, shop):
    """What the customer saw is what is booked, or nothing."""
    page = client.post("/freezer/book", data=H3 | {"seen": "1.00"})
    assert page.status_code == 409
    assert "Nothing was booked" in page.text
    assert shop.freezer.orders() == ()


def test_a_new_booking_needs_name_day_and_price(client):
    """Each missing thing is named; nothing is written."""
    page = client.post("/freezer/book", data={"tag0": "L-207"})
    assert page.status_code == 422
    for one in ("name", "day", "by"):
        assert f'id="e-{one}"' in page.text
    assert client.get("/freezer/H999").status_code == 404


def test_pages_a_butcher_comes_from_lead_here(client):
    """Hook, rail and a slip without lines lead to freezer orders; H3 to the choices of L-209."""
    for page in ("/hook", "/rail"):
        assert 'href="/freezer"' in client.get(page).text
    assert 'href="/freezer/H3"' in client.get("/hook/H3").text
    sent = client.get("/freezer/H3", follow_redirects=False)
    assert sent.headers["location"] == "/freezer/new?booking=H3&tag0=L-209"


def test_what_is_given_to_an_order_is_named_where_it_is_put_away(client):
    """The 40 lb on the block are H3's: the list says so before anyone moves them."""
    assert "given to H3" not in client.get("/put-away").text
    data = H3 | {"seen": _seen(client.post("/freezer/new", data=H3).text)}
    assert client.post("/freezer/book", data=data, follow_redirects=False).status_code == 303
    page = client.get("/put-away").text
    assert "given to H3" in page
    # what is all given is no piece to begin from
    assert "tag0=B-41F.06" not in client.get("/freezer").text
    assert 'href="/freezer/H3"' in page


def test_the_slip_shows_the_agreed_money_until_the_packs_are_weighed(client):
    """A booking without lines is not one of nothing."""
    assert "No lines from the case" in client.get("/hook/H3").text
    seen = _seen(client.post("/freezer/new", data=H3).text)
    client.post("/freezer/book", data=H3 | {"seen": seen})
    page = client.get("/hook/H3").text
    assert "No lines from the case" not in page
    assert f"not packed yet: <b>{seen}</b>" in page


def test_a_piece_is_offered_with_what_is_free_of_it(client, words):
    """Half of L-209 is a household's: 23.80 of its 47.60 lb are free, and no more is told."""
    page = words(client.get("/freezer/new?tag0=L-209").text)
    assert "L-209 lamb: whole (half is sold: order H3), 23.80 lb free" in page
    assert ", 40.00 lb free" in page
    data = H3 | {"seen": _seen(client.post("/freezer/new", data=H3).text)}
    client.post("/freezer/book", data=data)
    page = words(client.get("/freezer/new?tag0=L-209").text)
    assert ", 0.00 lb free" in page  # the 40 lb on the block are given
    assert ", 40.00 lb free" not in page


def test_an_order_is_for_a_freezer_booking_or_one_with_a_claim(client, shop):
    """H3 has a claim; a telephone order that has no line yet is none of them."""
    coming = NewBooking("Tolle", datetime(2026, 6, 20, 10), "dot", lines=(  # noqa: DTZ001
        NewLine("C13", Weight.of("1.5", WeightUnit.LB)),))  # fmt: skip
    told = shop.promising.book(coming, key="t")
    assert told.lines == ()
    new = H3 | {"booking": "", "name": "Roy", "day": "2026-06-19", "time": "10:00",
                "tag0": "L-207", "tag1": "", "key": "f"}  # fmt: skip
    data = new | {"seen": _seen(client.post("/freezer/new", data=new).text)}
    client.post("/freezer/book", data=data)
    (order,) = shop.freezer.orders()
    page = client.post("/freezer/new", data=H3).text
    offered = re.findall(r'<option value="(H[0-9]+)"', page)
    assert sorted(offered) == sorted(["H3", order.booking.id])


def test_the_order_tells_its_deposit_and_what_is_to_pay(client, shop):
    """A deposit of 50.00 stands under the total, with the rest."""
    new = H3 | {"booking": "", "name": "Tolle", "day": "2026-06-19", "time": "10:00",
                "deposit": "50", "tag0": "L-207", "tag1": ""}  # fmt: skip
    data = new | {"seen": _seen(client.post("/freezer/new", data=new).text)}
    sent = client.post("/freezer/book", data=data, follow_redirects=False)
    assert sent.status_code == 303, sent.text
    (order,) = shop.freezer.orders()
    rest = Money(order.total.minor - 5000, "USD")
    page = client.get(f"/freezer/{order.booking.id}").text
    assert f"Deposit <b>50.00</b>: of the total, <b>{rest}</b> is still to pay." in page
