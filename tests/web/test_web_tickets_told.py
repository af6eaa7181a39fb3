"""What the pages of tickets tell: earlier days, void tickets, other pages, all faults at once."""

from __future__ import annotations

import re
from html import unescape

import pytest

from collop.measures import Weight, WeightUnit

LB = WeightUnit.LB
TRAY = "Small tray, pad and film"


def look(client, **fields):
    return client.get("/tickets", params={"do": "look"} | fields)


def test_tickets_of_an_earlier_day_are_listed_with_the_void_one(client, words):
    """Monday has eighteen, today none; a day that is none says how to write one."""
    assert "Printed today 0" in words(client.get("/tickets").text)
    monday = client.get("/tickets", params={"day": "2026-06-08"})
    assert "Printed on Mon 8 Jun 2026 18" in words(monday.text)
    assert "T6 void" in words(monday.text)
    wrong = client.get("/tickets", params={"day": "yesterday"})
    assert wrong.status_code == 422
    assert words(wrong.text).count("Day: choose a day, written like 2026-06-09.") == 2


def test_the_pages_around_tickets_are_one_touch_away(client, read_page):
    """Codes, net weight, trace and the rules of labels; from a ticket its lot and its recall."""
    links = read_page(client.get("/tickets").text).links
    assert {"/codes", "/net-weight", "/trace", "/rules?topic=label"} <= set(links)
    for link in ("/codes", "/net-weight", "/trace", "/rules?topic=label"):
        assert client.get(link).status_code == 200
    links = read_page(client.get("/tickets/T3").text).links
    assert {"/recall?lot=T3", "/trace?lot=T3", "/trace?lot=B-41F.04"} <= set(links)


def test_a_void_ticket_is_shown_and_not_printed(client, words, read_page):
    """T6 is void: no page to print, and its address refuses; T3 has both."""
    page = read_page(client.get("/tickets/T6").text)
    assert not [link for link in page.links if link.startswith("/tickets/T6.")]
    refused = client.get("/tickets/T6.pdf")
    assert refused.status_code == 409
    assert "T6 is void; print a new ticket for the pack." in words(refused.text)
    assert client.get("/tickets/T6.png").status_code == 200
    assert "/tickets/T3.pdf" in read_page(client.get("/tickets/T3").text).links


def test_a_lot_chosen_and_another_typed_is_asked_about(client, words):
    """Neither is taken; what was typed stays, and sending it alone goes on."""
    both = {"case": "C02", "lot": "C02-0609", "other_lot": "C03-0609", "tare": TRAY,
            "gross": "1.00"}  # fmt: skip
    answer = look(client, **both)
    assert answer.status_code == 422
    assert words(answer.text).count("Lot: C02-0609 was chosen and C03-0609 typed") == 2
    assert 'value="C02-0609" checked' not in answer.text
    assert look(client, **(both | {"other_lot": "C02-0609"})).status_code == 200


@pytest.mark.parametrize("sent", ["C02-0609", "c02-0609", "T12", "T12 C02-0609",
                                  "(01)90614141000022(10)C02-0609"])  # fmt: skip
def test_the_lot_of_a_pack_may_be_scanned_off_another_ticket(client, words, sent):
    """A lot, a ticket of it, what its QR code says, and what its GS1 code says."""
    answer = look(client, case="C02", other_lot=sent, tare=TRAY, gross="1.00")
    assert answer.status_code == 200
    assert "Lot C02-0609" in answer.text
    wrong = look(client, case="C02", other_lot="T3", tare=TRAY, gross="1.00")
    assert "B-41F.04 is Chuck eye steaks and no lot of C02" in words(wrong.text)


def test_all_that_is_wrong_with_a_pack_is_told_at_once(client, words, shop):
    """Nobody chosen, no packing: both are named, on the page of a pack and of a booking."""
    answer = client.post("/tickets", data={"case": "C02", "lot": "C02-0609", "gross": "4.87"})
    assert answer.status_code == 422
    said = words(answer.text)
    assert "Who: choose who does this." in said
    assert "Tare: not told" in said
    answer = client.post("/tickets/booking/H2", data={"gross-H2-3": "2.04"})
    assert answer.status_code == 422
    said = words(answer.text)
    assert "Who: choose who does this." in said
    assert "Lamb red links" in said
    assert "H2-3: The ticket is not printed, for want of lot and tare" in said
    assert shop.tickets.today() == ()


def test_who_is_missing_and_the_picture_stays(client):
    """A pack that lacks only a name keeps its picture."""
    answer = client.post("/tickets", data={"case": "C02", "lot": "C02-0609", "gross": "4.87",
                                           "tare": TRAY})  # fmt: skip
    assert answer.status_code == 422
    assert 'class="ticket-picture"' in answer.text


def test_a_dear_pack_of_a_small_lot_hears_both_in_plain_words(client, words):
    """14 lb of fillet: the till code has no room, and the lot never weighed so much."""
    answer = look(client, case="C12", lot="C12-0609", tare=TRAY, gross="14.02")
    said = words(answer.text)
    assert answer.status_code == 422
    assert said.count("The upc-a code: the price 476.00 does not fit a field of 4 digits;"
                      " choose another code, or pack it in two.") == 2  # fmt: skip
    assert said.count("C12-0609 weighed 4.60 lb in all") == 2
    assert "ean13.place" not in said
    assert "(392n)" not in said


def test_a_lot_past_its_day_before_the_booking_is_collected_says_so(client, words):
    """H2 is collected on Friday; its mince is to be used by Wednesday, its chicken by Saturday."""
    said = words(client.get("/tickets/booking/H2").text)
    assert "use by Wed 10 Jun before it is collected, Fri 12 Jun" in said
    assert "use by Sat 13 Jun before" not in said


def test_cautions_of_a_pack_name_day_vacuum_and_what_is_ticketed(client, shop, words):
    """A pack past its day when collected, a vacuum bag nobody told of, a line ticketed whole."""
    one = {"case": "C11", "booking_line": "H2-1", "lot": "C11-0609", "gross": "5.02",
           "tare": "Vacuum bag"}  # fmt: skip
    said = words(look(client, **one).text)
    assert "C11-0609 is to be used by 2026-06-10, and H2-1 is collected on 2026-06-12" in said
    assert "The packing is Vacuum bag, and the label does not say vacuum pack" in said
    assert "H2-1 was booked at 5.00 lb, and 5.00 lb is on its tickets already." in said
    shop.tickets.void("T18", "wrong weight", by="ines", key="v")
    said = words(look(client, **(one | {"tare": TRAY})).text)
    assert "already" not in said
    assert "vacuum pack" not in said
    said = words(look(client, **(one | {"booking_line": ""})).text)
    assert "is collected on" not in said


def test_a_till_code_finds_by_item_and_sum(shop):
    """Both must agree; another sum or another item finds nothing."""
    found = shop.tickets.of_item("00107", shop.tickets.ticket("T3").total.decimal())
    assert [one.id for one in found] == ["T3"]
    assert found[0].net == Weight.of("3.00", LB)
    assert shop.tickets.of_item("00108", found[0].total.decimal()) == ()


def facts_form(client, case_id, **changes):
    """Return the fields of a label as its page has them, with changes."""
    html = client.get(f"/tickets/line/{case_id}").text
    html = html[html.index('class="ticket-facts"') :]
    found = dict(re.findall(r'<input[^>]* name="(\w+)" type="text" value="([^"]*)"', html))
    for name, options in re.findall(r'<select id="f-(\w+)".*?>(.*?)</select>', html, re.DOTALL):
        found[name] = re.findall(r'value="([^"]*)" selected', options)[0]
    found["ingredients"] = unescape(re.findall(r"<textarea[^>]*>(.*?)</textarea>", html)[0])
    return found | {"by": "ines", "key": "f"} | changes


def test_packs_labelled_before_a_change_are_named(client, words):
    """T4 and T5 say nothing of a blade; once the label does, they are to be looked at."""
    before = client.get("/tickets/line/C08")
    assert "Printed with another label" not in before.text
    sent = facts_form(client, "C08", tenderised="blade")
    assert client.post("/tickets/line/C08", data=sent).status_code == 303
    said = words(client.get("/tickets/line/C08?done=1").text)
    assert "Printed with another label, of a lot that is still here." in said
    assert "make them void and print new ones: T4 T5 What is in it" in said
    void = {"by": "ines", "why": "no blade"}
    assert client.post("/tickets/T4/void", data=void).status_code == 303
    assert "new ones: T5 What is in it" in words(client.get("/tickets/line/C08").text)


def test_what_was_said_before_shows_every_word_of_it(client, words):
    """A change that touches neither class nor allergens can be told apart from the one before."""
    sent = facts_form(client, "C08", tenderised="blade", vacuum="yes")
    client.post("/tickets/line/C08", data=sent)
    said = words(client.get("/tickets/line/C08").text)
    assert "blade tenderized, vacuum" in said
    assert "lean and fat 80 / 20 %" in words(client.get("/tickets/line/C11").text)


def test_a_label_without_a_class_asks_for_one(client, words):
    """Nothing chosen is not called unknown."""
    answer = client.post("/tickets/line/C02", data=facts_form(client, "C02", product_class=""))
    assert answer.status_code == 422
    assert words(answer.text).count("Class: choose what it is.") == 2


def test_the_net_weight_sheet_leads_back_to_tickets_tares_and_rules(client, read_page):
    """Each link is answered."""
    links = set(read_page(client.get("/net-weight").text).links)
    for link in ("/tickets", "/tickets/tares", "/rules?topic=checking"):
        assert link in links
        assert client.get(link).status_code == 200


def test_a_fine_tare_is_shown_as_it_was_weighed(client, shop, words):
    """0.013 lb is not called 0.01 on the list; what a ticket took off is the step above it."""
    shop.tickets.set_tare("Box", Weight.of("0.013", LB), by="ines", key="t")
    for page in ("/tickets/tares", "/tickets?case=C02", "/tickets/booking/H2"):
        assert re.search(r"Box,? 0\.013 lb", words(client.get(page).text)), page
    sent = {"case": "C02", "lot": "C02-0609", "tare": "Box", "gross": "1.02", "by": "ines"}
    printed = client.post("/tickets", data=sent | {"key": "b"})
    said = words(client.get(printed.headers["location"]).text)
    assert "Net 1.00 lb" in said
    assert "Tare taken off 0.02 lb" in said
