"""The pages of tickets: choose, look, print; again, void; tares, labels, bookings."""

from __future__ import annotations

import re
from urllib.parse import parse_qs, urlsplit

import pytest

from collop.measures import UnitPrice, Weight, WeightUnit
from collop.shop import LabelFacts, NewCaseLine

LB = WeightUnit.LB
TRAY = "Small tray, pad and film"
SHOULDER = {"case": "C02", "lot": "C02-0609", "tare": TRAY, "gross": "4.87"}


def look(client, **more):
    return client.get("/tickets", params=SHOULDER | more | {"do": "look"})


def send(client, **more):
    return client.post("/tickets", data=SHOULDER | {"by": "ines", "key": "one"} | more)


def test_every_line_is_a_button_and_can_be_found(client, read_page):
    """All lines of the case lead to their ticket; the words find some of them."""
    page = read_page(client.get("/tickets").text)
    assert len([link for link in page.links if link.startswith("/tickets?case=")]) == 34
    found = read_page(client.get("/tickets", params={"find": "LAMB"}).text)
    assert 0 < len([one for one in found.links if one.startswith("/tickets?case=")]) < 34
    assert "No line matches" in client.get("/tickets", params={"find": "<b>"}).text


def test_a_look_shows_the_picture_and_what_was_checked(client, words, read_page):
    """Net, money, the picture of each label, and every element with its rule."""
    answer = look(client)
    assert answer.status_code == 200
    text = words(answer.text)
    assert "4.85 lb net" in text
    assert "40.74" in text
    assert "Checked, and there: product name" in text
    assert "from memory, not checked" in text
    pictures = re.findall(r'<img class="ticket-picture" src="([^"]+)"', answer.text)
    assert len(pictures) == 2
    for address in pictures:
        picture = client.get(address.replace("&amp;", "&"))
        assert picture.headers["content-type"] == "image/png"
        assert picture.headers["cache-control"] == "no-store"
        assert picture.content.startswith(b"\x89PNG")
    page = read_page(answer.text)
    assert page.inline == []
    assert page.unlabelled() == []


def test_looking_keeps_nothing(client, shop):
    """A look, however often, gives no number."""
    look(client)
    look(client)
    assert shop.tickets.today() == ()


@pytest.mark.parametrize(
    ("left_out", "said"),
    [("gross", "Gross: put the pack on the scale."),
     ("lot", "Lot: not told; the oldest there is C02-0609: confirm it, or choose another."),
     ("tare", "Tare: not told; choose the packing, or")],
)  # fmt: skip
def test_what_is_missing_is_named_beside_its_field(client, words, shop, left_out, said):
    """Each in turn: 422, the sentence in the summary and at the field, nothing kept."""
    for answer in (look(client, **{left_out: ""}), send(client, **{left_out: ""})):
        assert answer.status_code == 422
        assert words(answer.text).count(said) == 2
        assert f'href="#f-{left_out}"' in answer.text
        assert f'id="f-{left_out}"' in answer.text
    assert shop.tickets.today() == ()


def test_a_label_nobody_told_links_to_where_it_is_told(client, shop, words):
    """The list of allergens is missing: the page says so and leads to the label of the line."""
    new = NewCaseLine("Beef cheek", "beef", UnitPrice.of("9.00", LB), 4, "whole")
    shop.cutting.add_case_line(new, by="ines", key="line")
    answer = client.get("/tickets", params={"case": "C35", "do": "look"})
    assert answer.status_code == 422
    assert "Contains: not told" in words(answer.text)
    assert "Put the label right" in answer.text
    told = client.get("/tickets/line/C35")
    assert "No ticket is printed until this is told" in words(told.text)


def test_print_keeps_the_ticket_once_and_shows_it(client, shop, words, read_page):
    """303 to its page; the same form again is the same ticket; the device keeps its printer."""
    first = send(client, size="58x60", dpi="300")
    assert first.status_code == 303
    assert first.headers["location"].startswith("/tickets/T19?done=printed&by=ines&tare=Small")
    assert "collop_printer=" in first.headers["set-cookie"]
    assert send(client, size="58x60", dpi="300").headers["location"] == first.headers["location"]
    assert [one.id for one in shop.tickets.today()] == ["T19"]
    page = client.get(first.headers["location"])
    assert "T19 Lamb shoulder, bone in" in words(page.text)
    assert 'href="/trace?lot=T19"' in page.text
    again = client.get(next(one for one in read_page(page.text).links if "case=C02" in one))
    sent = read_page(again.text).form("/tickets")
    assert (sent["lot"], sent["tare"], sent["gross"]) == (["C02-0609"], [TRAY], [""])
    assert "58 x 60 mm, 300 dots an inch" in words(again.text)
    other = send(client, gross="5.00")
    assert other.status_code == 409
    assert "This page has printed a ticket already" in words(other.text)
    key = re.search(r'name="key" value="([0-9a-f]+)"', other.text)[1]
    assert send(client, gross="5.00", key=key).headers["location"].startswith("/tickets/T20")


def test_who_prints_must_be_chosen(client, words):
    """Nobody named: 422, the field says so."""
    answer = send(client, by="")
    assert answer.status_code == 422
    assert "Who: choose who does this." in words(answer.text)


def test_a_hundred_is_refused_with_the_other_code_as_a_link(client, words, read_page):
    """The till code has no room for 100.80; the link leads to a ticket that can be printed."""
    big = {"case": "C01", "lot": "C01-0609", "tare": "Vacuum bag", "gross": "9.02"}
    answer = client.get("/tickets", params=big | {"do": "look"})
    assert answer.status_code == 422
    assert "100.80 does not fit" in words(answer.text)
    way = next(one for one in read_page(answer.text).links if "databar" in (one or ""))
    assert parse_qs(urlsplit(way).query)["codes"] == ["databar-expanded-stacked", "qr"]
    assert client.get(way).status_code == 200
    kept = client.post("/tickets", data=big | {"by": "ines", "key": "one", "codes_told": "1",
                       "codes": ["databar-expanded-stacked", "qr"]})  # fmt: skip
    assert kept.status_code == 303


def test_a_form_without_room_offers_those_that_have_it(client, read_page):
    """Too many words for 58 x 40 mm: each link leads to a form on which it can be printed."""
    new = {"case": "C25", "lot": "C25-0609", "tare": TRAY, "gross": "1.02", "size": "58x40"}
    answer = client.get("/tickets", params=new | {"do": "look"})
    assert answer.status_code == 422
    ways = [one for one in read_page(answer.text).links if "do=look" in (one or "")]
    assert ways
    assert all(client.get(one).status_code == 200 for one in ways)


def test_a_code_that_is_unticked_stays_off(client, shop):
    """No code ticked means none; a form without the list means the usual ones."""
    send(client, codes_told="1", key="a")
    send(client, key="b")
    first, second = shop.tickets.today()
    assert first.problem["codes"] == []
    assert second.problem["codes"] == ["upc-a", "qr"]


def test_again_and_void_ask_who_and_why(client, shop, words):
    """Printed again is noted; void needs a reason, and then nothing more is printed."""
    send(client)
    assert client.post("/tickets/T19/again", data={"key": "a"}).status_code == 422
    assert client.post("/tickets/T19/again", data={"key": "a", "by": "dot"}).status_code == 303
    assert shop.tickets.ticket("T19").times == 2
    short = client.post("/tickets/T19/void", data={"key": "b", "by": "dot"})
    assert short.status_code == 422
    assert "Say why the ticket is void" in words(short.text)
    done = client.post("/tickets/T19/void", data={"key": "b", "by": "dot", "why": "wrong tray"})
    assert done.headers["location"] == "/tickets/T19?done=void"
    page = client.get("/tickets/T19")
    assert "void: wrong tray, Dot" in words(page.text)
    assert "/tickets/T19/again" not in page.text
    late = client.post("/tickets/T19/again", data={"key": "c", "by": "dot"})
    assert late.status_code == 409
    assert "T19 is void" in words(late.text)


@pytest.mark.parametrize(
    ("address", "kind", "start"),
    [("/tickets/T12.png", "image/png", b"\x89PNG"),
     ("/tickets/T12.pdf", "application/pdf", b"%PDF"),
     ("/tickets/booking/H2.pdf", "application/pdf", b"%PDF"),
     ("/tickets/card", "application/pdf", b"%PDF"),
     ("/tickets/preview.png?case=C02&lot=C02-0609&tare=no+packing&gross=1", "image/png",
      b"\x89PNG")],
)  # fmt: skip
def test_pictures_and_pages_have_their_type_and_are_not_stored(client, address, kind, start):
    """The right type, not kept by any cache."""
    answer = client.get(address)
    assert answer.status_code == 200
    assert answer.headers["content-type"] == kind
    assert answer.headers["cache-control"] == "no-store"
    assert answer.content.startswith(start)


@pytest.mark.parametrize(
    "address",
    ["/tickets/T99", "/tickets/T99.png", "/tickets/T99.pdf", "/tickets/T12.png?part=3",
     "/tickets/T12.png?part=x", "/tickets/booking/H99", "/tickets/booking/H8.pdf",
     "/tickets/line/C99", "/tickets?case=C99", "/tickets/preview.png?case=C02",
     "/tickets/preview.png?case=C99", "/tickets/%3Cb%3E", "/tickets/T1%00"],
)  # fmt: skip
def test_what_is_not_there_is_told(client, words, address):
    """404 with a sentence, never a fault of ours."""
    answer = client.get(address)
    assert answer.status_code == 404
    assert "there is no" in words(answer.text).casefold()


def test_letters_of_html_stay_letters_on_page_and_paper(client, shop):
    """A name of angle brackets is shown and printed as it is written, and makes no element."""
    import pypdfium2

    name = '<i>Rump</i> & "co" beef'
    line = NewCaseLine(name, "beef", UnitPrice.of("9.00", LB), 4, "whole")
    shop.cutting.add_case_line(line, by="ines", key="line")
    facts = LabelFacts(product_class="raw whole", contains=())
    shop.tickets.set_facts("C35", facts, by="ines", key="facts")
    shop.tickets.set_tare("<script>x</script>", Weight.of("0.02", LB), by="ines", key="tare")
    for address in ("/tickets", "/tickets?case=C35", "/tickets/line/C35", "/tickets/tares",
                    "/tickets?case=C35&lot=<i>&gross=<i>&tare=<i>&size=<i>&do=look"):  # fmt: skip
        text = client.get(address).text
        assert "<i>" not in text
        assert "<script>x" not in text
    from collop.ticket import pdf, ticket

    problem = dict(shop.tickets.ticket("T12").problem)
    problem["product"] = problem["product"] | {"name": name, "species": "beef", "origin": None}
    document = pypdfium2.PdfDocument(pdf([ticket(problem)]))
    assert "<i>Rump</i>" in document[0].get_textpage().get_text_bounded()


def test_tares_are_written_and_taken_off(client, words, shop):
    """A name and a weight, or the button of a row; a tare without a weight is refused."""
    new = {"name": "Crate", "weight": "0.5", "by": "dot", "key": "a"}
    assert client.post("/tickets/tares", data=new).status_code == 303
    assert shop.tickets.tares()[-1].weight == Weight.of("0.5", LB)
    empty = client.post("/tickets/tares", data=new | {"weight": "", "key": "b"})
    assert empty.status_code == 422
    assert "a tare without a weight takes nothing off" in words(empty.text)
    gone = {"retire": "Crate", "by": "dot", "key": "c"}
    assert client.post("/tickets/tares", data=gone).headers["location"].endswith("retired")
    assert "Crate" not in words(client.get("/tickets/tares").text)
    late = client.post("/tickets/tares", data=gone | {"key": "d"})
    assert late.status_code == 409


def test_a_label_is_told_field_by_field(client, shop, words, read_page):
    """What the page shows can be sent back as it is; a blank list of allergens is "not told"."""
    shown = client.get("/tickets/line/C25")
    assert read_page(shown.text).unlabelled() == []
    sent = {"product_class": "raw marinated", "ingredients": "chicken; soy sauce; sesame oil",
            "contains": "soy; sesame, wheat", "item": "00125", "lean_pct": "", "fat_pct": "",
            "tenderised": "no", "by": "dot", "key": "a"}  # fmt: skip
    assert client.post("/tickets/line/C25", data=sent).status_code == 303
    facts = shop.tickets.facts("C25").facts
    assert facts.contains == ("soy", "sesame", "wheat")
    assert facts.ingredients == ("chicken", "soy sauce", "sesame oil")
    assert client.post("/tickets/line/C25", data=sent | {"contains": "", "key": "b"}).status_code
    assert shop.tickets.facts("C25").facts.contains is None
    plain = {"product_class": "raw whole", "contains": "None declared", "by": "dot", "key": "c"}
    client.post("/tickets/line/C01", data=plain)
    assert shop.tickets.facts("C01").facts.contains == ()
    wrong = client.post(
        "/tickets/line/C25", data=sent | {"contains": "soy", "ingredients": "", "key": "d"}
    )
    assert wrong.status_code == 422
    assert "the case line names sesame" in words(wrong.text)
    bad = client.post("/tickets/line/C25", data=sent | {"fat_pct": "1e-999999", "key": "e"})
    assert bad.status_code == 422


def test_a_booking_s_packs_are_ticketed_line_by_line(client, shop, words):
    """Only what was weighed is printed, at the promised price; the pages hold all of them."""
    page = client.get("/tickets/booking/H2")
    assert "T17 6.00 lb; 6.00 lb on tickets" in words(page.text)
    sent = {"by": "dot", "key": "a", "lot-H2-3": "C21-0609", "tare-H2-3": TRAY,
            "gross-H2-3": "2.04", "lot-H2-5": "C25-0609", "tare-H2-5": "no packing",
            "gross-H2-5": "2.00"}  # fmt: skip
    done = client.post("/tickets/booking/H2", data=sent)
    assert done.headers["location"] == "/tickets/booking/H2?done=T19+T20"
    assert client.post("/tickets/booking/H2", data=sent).status_code == 303
    kept = shop.tickets.today()
    assert [(one.booking_line, one.net.text(), str(one.total)) for one in kept] == [
        ("H2-3", "2.02 lb", "21.41"), ("H2-5", "2.00 lb", "16.20")]  # fmt: skip
    assert "Kept: T19 T20." in words(client.get(done.headers["location"]).text)


def test_of_a_booking_either_all_is_printed_or_nothing(client, shop, words):
    """One line without its packing: 422, and the other line is not printed either."""
    sent = {"by": "dot", "key": "a", "lot-H2-3": "C21-0609", "gross-H2-3": "2.04",
            "lot-H2-5": "C25-0609", "tare-H2-5": "no packing", "gross-H2-5": "2.00"}  # fmt: skip
    answer = client.post("/tickets/booking/H2", data=sent)
    assert answer.status_code == 422
    assert "H2-3: The ticket is not printed, for want of tare" in words(answer.text)
    assert shop.tickets.today() == ()
    none = client.post("/tickets/booking/H2", data={"by": "dot", "key": "b"})
    assert none.status_code == 422
    assert "put the pack of a line on the scale" in words(none.text)
    asked = client.get("/tickets/booking/H10")
    assert "H10 is asked, so there are no tickets for it." in words(asked.text)


def test_slip_and_hand_over_lead_to_the_tickets(client):
    """Both pages of a booking have the link."""
    for address in ("/hook/H2", "/hook/H2/hand-over"):
        assert 'href="/tickets/booking/H2"' in client.get(address).text


def test_a_void_or_missing_lot_is_told_at_the_lot(client, clock, words):
    """A lot past its day and one of another line are refused beside the field."""
    other = look(client, lot="", other_lot="C01-0609")
    assert other.status_code == 422
    assert "no lot of C02" in words(other.text)
    clock.put(clock.now().replace(day=20))
    late = look(client)
    assert late.status_code == 422
    assert "print no ticket for it" in words(late.text)
