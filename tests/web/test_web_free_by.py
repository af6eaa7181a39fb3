"""Free by on the screen: the table, the answer, and booking for a date; the calls and the feed."""

from __future__ import annotations

from datetime import datetime

import pytest

from collop.measures import Weight, WeightUnit
from collop.shop import NewBooking, NewLine

SATURDAY = datetime(2026, 6, 13, 11)  # noqa: DTZ001 -- shop-local

BOOK = {"name": "Mill canteen", "phone": "07700 900 4471", "day": "2026-06-13", "time": "10:00",
        "cut1": "C01", "amount1": "10", "by": "dot", "key": "k"}  # fmt: skip


def lb(text):
    return Weight.of(text, WeightUnit.LB)


def line(case_id, pounds):
    return NewLine(case_id, lb(pounds))


def order(*lines, collect_at=datetime(2026, 6, 12, 16)):  # noqa: DTZ001 -- shop-local
    return NewBooking(name="Walk-in", collect_at=collect_at, by="dot", lines=lines)


def test_the_next_open_day_is_shown_with_what_may_be_promised(client, words):
    """Wednesday, every line of the case."""
    answer = client.get("/free-by")
    text = words(answer.text)
    assert answer.status_code == 200
    assert "Free by Wednesday 10 June" in text
    assert "C34 Flat mushrooms" in text
    assert "from L-207, cut on Tue 9 Jun" in text


def test_a_wish_gets_its_answer_and_the_ways_on(client, shop, words, read_page):
    """No for Thursday: the nearest day, and the like line, each one tap from a booking."""
    shop.standing.pause("S1", by="ines", key="rest")
    answer = client.get("/free-by?day=2026-06-11&cut=C10&amount=5&unit=lb")
    text = words(answer.text)
    assert "Tuesday 16 June yes; Thursday no, none of Beef brisket, but Beef rump yes." in text
    links = read_page(answer.text).links
    assert "/free-by/book?day=2026-06-16&cut=C10&amount=5&unit=lb" in links
    assert "/free-by/book?day=2026-06-11&cut=C13&amount=5&unit=lb" in links
    # the table has the two lines that were talked about
    assert "C13" in text
    assert "C34 Flat" not in text


def test_the_page_says_who_wants_it_and_why_there_is_none(client, words):
    """Tuesday's brisket is the standing order's; ducks are frozen until Wednesday."""
    text = words(client.get("/free-by?day=2026-06-16&cut=C10").text)
    assert "standing S1 on Tue 16 Jun: 14.00 lb" in text
    text = words(client.get("/free-by?day=2026-06-09&cut=C29").text)
    assert "none" in text
    assert "frozen, thawed by Wed 10 Jun" in text


def test_frozen_birds_that_cannot_thaw_in_time_get_a_plain_no(client, clock, words, read_page):
    """Wednesday at four, three ducks for Thursday: no, the hours, the day, and what is fresh."""
    clock.put(datetime(2026, 6, 10, 16))  # noqa: DTZ001 -- shop-local
    answer = client.get("/free-by?day=2026-06-11&cut=C29&amount=3")
    text = words(answer.text)
    assert answer.status_code == 200
    assert "There is a problem" not in text
    assert "Friday yes; Thursday no, none of Ducks, whole, frozen" in text
    # a bird of 5.2 lb: 24 h for each 5 to 4 lb, and half an hour a pound in water
    assert "in 24.96 to 31.20 h, or in cold water, changed every 30 min, in 2.60 h" in text
    assert "never on the counter" in text
    links = read_page(answer.text).links
    assert "/free-by/book?day=2026-06-12&cut=C29&amount=3&unit=lb" in links
    assert "/ask?day=2026-06-11" in links
    assert 'name="day" value="2026-06-11"' in client.get("/ask?day=2026-06-11").text


def test_a_yes_tells_price_money_and_the_least_heat(client, words):
    """2 lb of shoulder are 16.80 at 8.40; mushrooms have no least heat."""
    text = words(client.get("/free-by?day=2026-06-10&cut=C02&amount=2").text)
    assert "8.40 /lb: 16.80 ; cook to 145 °F (63 °C), rest 3 min" in text
    text = words(client.get("/free-by?day=2026-06-10&cut=C34&amount=1").text)
    assert "6.00 /lb: 6.00" in text
    assert "cook to" not in text


def test_weights_are_asked_and_said_in_the_unit_of_the_device(client, shop, words, read_page):
    """A kilogram on a device that shows kilograms; what was typed in pounds stays in pounds."""
    client.cookies.set("collop_unit", "kg")
    answer = client.get("/free-by?day=2026-06-11&cut=C14&amount=1")
    assert "In kg;" in words(answer.text)
    assert "only 0.39 kg of Beef hanger" in words(answer.text)
    typed = client.get("/free-by?day=2026-06-11&cut=C14&amount=0.5&unit=lb")
    assert "Thursday yes: 0.23 kg of Beef hanger" in words(typed.text)
    assert "/free-by/book?day=2026-06-11&cut=C14&amount=0.5 lb&unit=kg" in [
        link.replace("%20", " ") for link in read_page(typed.text).links
    ]
    made = client.post("/free-by/book", data=BOOK | {"amount1": "2", "unit": "kg"})
    (line,) = shop.booking(made.headers["location"].split("/")[2].split("?")[0]).lines
    assert line.weight == Weight.of("2", WeightUnit.KG)


def test_what_is_to_come_is_priced_on_the_slip(client, shop, words):
    """10 lb of lamb leg, none of it there: its money at the board's price, less the deposit."""
    shop.book(order(line("C01", "8.0")), key="all")
    made = client.post("/free-by/book", data=BOOK | {"deposit": "20.00"})
    booking = made.headers["location"].split("?")[0]
    found = shop.promising.comes_to(booking.rsplit("/", 1)[1])
    text = words(client.get(booking).text)
    assert f"10.00 lb of Lamb leg, bone in still to come: {found.lines[0].money} at" in text
    assert f"less deposit 20.00: {found.due} to pay" in text
    assert str(found.total - found.due) == "20.00"


def test_the_like_line_is_booked_by_its_own_measure(client, shop, read_page):
    """No thighs are left and 10 lb are asked: three whole birds, not ten; of rump, a weight."""
    shop.book(order(line("C24", "10.0")), key="all")
    links = read_page(client.get("/free-by?day=2026-06-10&cut=C24&amount=10").text).links
    assert "/free-by/book?day=2026-06-10&cut=C23&amount=3&unit=lb" in links
    links = read_page(client.get("/free-by?day=2026-06-11&cut=C10&amount=2 kg").text).links
    assert "/free-by/book?day=2026-06-11&cut=C13&amount=4.409&unit=lb" in links


def test_a_sale_and_a_booking_say_which_order_waits(client, shop, words):
    """H2 waits for 3 lb of blade; all of it on the slip, or in a booking: said, and not hidden."""
    shop.bench.want("H2", "C08", lb("3"), by="ines", key="w")
    (there,) = [one.free for one in shop.case() if one.id == "C08"]
    amount = str(there.decimal(WeightUnit.LB, 2))
    said = "H2 Rowing-club cookout waits for 3.00 lb of Beef blade steaks, and none of it would be"
    sale = client.post("/sell", data={"gross": amount, "cut": "C08", "by": "dot", "unit": "lb"})
    assert said in words(client.get(sale.headers["location"]).text)
    assert said not in words(client.get("/sell").text)
    ask = {"query": "", "heads": 4, "use_at": "2026-06-12T18:00", "contains": [], "dont_eats": []}
    quote = shop.quote([line("C08", amount)], ask=ask, key="q")
    assert said in words(client.get(f"/ask/book/{quote.id}").text)


def test_one_tap_at_the_knife_sets_aside_what_was_weighed(client, shop, words, read_page):
    """H2 wants 5 lb of shoulder: weighed at the knife, it is one button, and back to the block."""
    shop.promising.book(order(line("C02", "15"), collect_at=SATURDAY), key="a")
    cut = shop.cutting.start_break("L-207", "lamb", by="marek", key="s")
    address = f"/knife/{cut.number}"
    shop.bench.want("H2", "C02", lb("5"), by="ines", key="w")
    assert "Set aside" not in words(client.get(address).text)
    part = next(one.id for one in cut.style.parts if one.case_id == "C02")
    shop.cutting.weigh_part(cut.number, part, lb("9"), by="marek", key="w2")
    shown = client.get(address).text
    assert "Set aside 5.00 lb of Lamb shoulder, bone in for H2" in words(shown)
    form = read_page(shown).form("/hook/set-aside")
    answer = client.post("/hook/set-aside", data=form)
    assert answer.headers["location"] == f"{address}?by=marek"
    assert shop.booking("H2").lines[-1].held == lb("5")
    assert "Set aside" not in words(client.get(address).text)
    away = client.post("/hook/set-aside", data=form | {"back": "//elsewhere.example", "key": "z"})
    assert away.headers["location"].startswith("/hook/to-tell")


def test_a_shut_day_is_named(client, words):
    """Sunday may be looked at, and says that it is shut."""
    assert "the shop is shut that day" in words(client.get("/free-by?day=2026-06-14").text)


@pytest.mark.parametrize(
    ("query", "said"),
    [
        ("day=2026-06-01", "Day: that day is past"), ("day=x", "Day: choose a day"),
        ("cut=C99&amount=2", "Cut: choose a cut"), ("cut=C01&amount=x", "weight"),
        ("cut=C01&amount=0", "more than 0"), ("cut=C23&amount=x", "whole number"),
        ("cut=C23&amount=99", "10 pieces may be promised"),
        ("cut=C23&amount=2 kg", "sold by the piece; write how many"),
    ],
)  # fmt: skip
def test_what_cannot_be_read_stands_in_the_summary(client, words, query, said):
    """One sentence at the top, linked to its field."""
    answer = client.get(f"/free-by?{query}")
    assert answer.status_code == 422
    assert said in words(answer.text)


def test_booking_reserves_and_notes_the_rest(client, shop, words):
    """10 lb of leg: 8 held, 2 on the slip as still to come; sent twice is booked once."""
    first, again = client.post("/free-by/book", data=BOOK), client.post("/free-by/book", data=BOOK)
    assert first.headers["location"] == again.headers["location"]
    slip = client.get(first.headers["location"])
    text = words(slip.text)
    assert "What is there is reserved, the rest is to come." in text
    assert "2.00 lb of Lamb leg, bone in still to come" in text
    booking = shop.find("Mill canteen")[0]
    assert (booking.phone_end, booking.lines[0].held) == ("4471", lb("8"))


def test_a_deposit_is_noted_with_the_booking(client, shop, words):
    """20.00 by card: in the takings of the day, once, and called paid on the slip."""
    form = BOOK | {"deposit": "20", "way": "card"}
    made, again = client.post("/free-by/book", data=form), client.post("/free-by/book", data=form)
    assert made.headers["location"] == again.headers["location"]
    (paid,) = shop.money.of(made.headers["location"].partition("?")[0].rpartition("/")[2]).payments
    assert (paid.what, paid.way, str(paid.amount)) == ("deposit", "card", "20.00")
    assert str(shop.money.takings().deposits_taken) == "20.00"
    assert "Deposit paid 20.00" in words(client.get(made.headers["location"]).text)


def test_birds_are_counted(client, shop):
    """Two chickens are two pieces."""
    answer = client.post("/free-by/book", data=BOOK | {"cut1": "C23", "amount1": "2"})
    assert answer.status_code == 303
    assert len(shop.find("Mill canteen")[0].lines[0].pieces) == 2


def test_the_last_bird_is_booked_once_however_often_its_form_comes(client, shop, words):
    """Its answer was lost and it is sent again: it is told its booking, not that none is left.

    Another form under the same key is not: it asks for more, or comes from somebody else.
    """
    form = BOOK | {"cut1": "C23", "amount1": "10", "key": "all of them"}
    first, again = client.post("/free-by/book", data=form), client.post("/free-by/book", data=form)
    assert first.status_code == 303
    assert first.headers["location"] == again.headers["location"]
    for change in ({"amount1": "1"}, {"name": "Chapel tea"}, {"time": "11:00"}, {"key": "new"}):
        other = client.post("/free-by/book", data=form | change)
        assert other.status_code == 422
        assert "0 pieces may be promised for Saturday" in words(other.text)
    assert len(shop.find("Mill canteen")) == 1


def test_a_refusal_says_what_may_be_promised_and_keeps_the_form(client, shop, words):
    """Too much hanger: the answer as said at the counter, and nothing booked."""
    answer = client.post("/free-by/book", data=BOOK | {"cut2": "C14", "amount2": "5"})
    text = words(answer.text)
    assert answer.status_code == 409
    assert "Saturday no, only 0.87 lb of Beef hanger and skirt" in text
    assert "Nothing was booked." in text
    assert 'value="Mill canteen"' in answer.text
    assert shop.find("Mill canteen") == ()


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"name": ""}, "Name: enter"), ({"phone": ""}, "Phone end"), ({"by": ""}, "Who: choose"),
        ({"day": "2026-06-01"}, "Collect on: that day is past"), ({"time": "7:00"}, "open 08:00"),
        ({"day": "2026-06-14"}, "The shop is shut"), ({"cut1": "", "amount1": ""}, "at least one"),
        ({"amount1": ""}, "write how much"), ({"amount1": "1e-999999"}, "weight"),
        ({"deposit": "x"}, "Deposit"), ({"heads": "0"}, "Heads"), ({"cut1": "C99"}, "choose a cut"),
        ({"day": "2026-06-09", "time": "08:00", "amount1": "NaN"}, "weight"),
    ],
)  # fmt: skip
def test_what_is_wrong_with_the_form_is_said_at_its_field(client, shop, words, change, said):
    """Nothing is booked."""
    answer = client.post("/free-by/book", data=BOOK | change)
    assert answer.status_code == 422
    assert said in words(answer.text)
    assert shop.find("Mill canteen") == ()


def test_the_hook_tells_and_links_on(client, words, read_page):
    """What to tell of today and the next open day, standing orders that are due, and the ways."""
    answer = client.get("/hook")
    text = words(answer.text)
    assert "Your order is for today at 11:00, 328.58 so far." in text
    assert "S1 on Tue 16 Jun" in text
    assert {"/free-by", "/standing", "/hook/to-tell"} <= set(read_page(answer.text).links)


def test_what_came_in_is_one_button_on_hook_and_case(client, shop, words):
    """A pound of blade wanted by H2 and free: said on both pages, set aside by one button."""
    shop.bench.want("H2", "C08", lb("1"), by="ines", key="w")
    for address in ("/hook", "/case"):
        assert "1.00 lb of Beef blade steaks came in for H2" in words(client.get(address).text)
    answer = client.post("/hook/set-aside", data={"by": "dot", "key": "s"})
    assert answer.headers["location"] == "/hook/to-tell?done=set-aside"
    assert "Set aside." in words(client.get(answer.headers["location"]).text)
    assert shop.booking("H2").lines[-1].held == lb("1")
    for address in ("/hook", "/case"):
        assert "came in for" not in words(client.get(address).text)
    again = client.post("/hook/set-aside", data={"by": "dot", "key": "s2"})
    assert again.headers["location"].endswith("done=nothing")
    assert "set aside" in words(client.get("/hook/H2").text)


def test_nobody_named_is_asked_for(client, words):
    """Who sets aside, and who makes an address."""
    for address in ("/hook/set-aside", "/hook/feed"):
        answer = client.post(address, data={"key": "s"})
        assert answer.status_code == 422
        assert "Who: choose who does this." in words(answer.text)


def test_calls_of_another_day(client, words):
    """Friday's pick-ups with those of Saturday; a day that is over is refused."""
    text = words(client.get("/hook/to-tell?day=2026-06-12").text)
    assert "H2 Rowing-club cookout" in text
    assert "use-by The Beef mince, 20 % fat set aside is to be used by" in text
    assert client.get("/hook/to-tell?day=2026-06-01").status_code == 422


def test_the_feed_is_found_by_its_newest_address_alone(client, shop, read_page):
    """404 for any other; the text is a calendar that nobody keeps."""
    assert client.get("/calendar/x.ics").status_code == 404
    client.post("/hook/feed", data={"by": "ines", "key": "a"})
    first = f"/calendar/{shop.promising.feed_token()}.ics"
    assert first in read_page(client.get("/hook/to-tell").text).links
    answer = client.get(first)
    assert answer.headers["content-type"] == "text/calendar; charset=utf-8"
    assert answer.headers["cache-control"] == "no-store"
    assert answer.content == shop.promising.calendar()
    client.post("/hook/feed", data={"by": "ines", "key": "b"})
    assert client.get(first).status_code == 404


@pytest.mark.parametrize("address", ["/free-by", "/free-by?day=2026-06-11&cut=C10&amount=5",
                                     "/free-by/book?cut=C01", "/hook/to-tell"])  # fmt: skip
def test_every_field_is_named_and_every_id_once(client, read_page, address):
    """No inline script or style, no field without a label."""
    page = read_page(client.get(address).text)
    assert page.inline == []
    assert page.unlabelled() == []
