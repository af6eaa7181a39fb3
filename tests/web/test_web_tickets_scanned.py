"""What a scanner sends of a ticket where trace and recall ask for a lot."""

from __future__ import annotations

import re

import pytest

from collop.ticket.variable import variable_upc

# T3 of the demo: item 00107, 38.10, lot B-41F.04; the digits stand on its label
TILL = "200107238102"


@pytest.mark.parametrize("page", ["trace", "recall"])
@pytest.mark.parametrize("sent", [TILL, f"0{TILL}", "2 00107 23810 2", f"]E00{TILL}"])
def test_a_till_code_leads_to_the_tickets_it_may_stand_on(client, shop, words, page, sent):
    """It holds no lot, so the tickets with its item and money are offered, and no fault."""
    answer = client.get(f"/{page}", params={"lot": sent})
    assert answer.status_code == 200
    said = words(answer.text)
    assert "It names no lot." in said
    assert "item 00107, 38.10" in said
    ticket = shop.tickets.ticket("T3")
    assert shop.tickets.plan(ticket)["codes"][0]["data"] == TILL
    assert f"lot {ticket.lot}" in said
    links = re.findall(rf'href="(/{page}\?[^"]*lot=T[0-9]+)"', answer.text)
    assert len(links) == 1
    assert "There is no lot" not in said
    assert "B-41F.04 and where it came from" in words(client.get("/trace?lot=T3").text)


def test_packs_of_the_same_money_are_all_offered_the_newest_first(client):
    """T10 and T11 are of one weight and price: both are shown, and neither is taken."""
    answer = client.get("/recall", params={"lot": variable_upc("00110", 6720), "scope": "lot"})
    code = re.findall(r"/recall\?scope=lot&amp;lot=(T[0-9]+)", answer.text)
    assert code == ["T11", "T10"]


@pytest.mark.parametrize(
    ("sent", "said"),
    [("200107238103", "its check digit must be 2"),
     (variable_upc("99801", 100), "no ticket here says so: type the lot beside it on the label."),
     ("123456789012", "There is no lot '123456789012'")],
)  # fmt: skip
def test_wrong_or_unknown_digits_say_what_to_do(client, words, sent, said):
    """A wrong digit, a pack of another shop, and a number that is no till code."""
    for page in ("trace", "recall"):
        answer = client.get(f"/{page}", params={"lot": sent})
        assert answer.status_code == 404
        assert words(answer.text).count(said) == 2


@pytest.mark.parametrize("between", [" ", "\x1d"])
def test_a_ticket_scanned_with_the_lot_of_another_is_refused(client, words, between):
    """A code that says T1 and a lot T1 is not of finds neither: the two differ."""
    for page in ("trace", "recall"):
        answer = client.get(f"/{page}", params={"lot": f"T1{between}C02-0609"})
        assert answer.status_code == 404
        assert "T1 is of lot B-41F.04, and the code says C02-0609" in words(answer.text)
        assert client.get(f"/{page}", params={"lot": f"t1{between}b-41f.04"}).status_code == 200


def test_no_drill_is_kept_of_a_ticket_and_a_lot_that_differ(client, shop):
    """What the page does not find is not kept either."""
    sent = {"lot": "T1 C02-0609", "by": "ines", "key": "d"}
    assert client.post("/recall/drill", data=sent).status_code == 422
    assert shop.tracing.drills() == ()
    assert client.post("/recall/drill", data=sent | {"lot": "T1 B-41F.04"}).status_code == 303


def test_a_ticket_of_a_book_that_is_gone_is_found_by_its_lot(client):
    """T99 was never printed here; its lot is known."""
    assert client.get("/recall", params={"lot": "T99 C02-0609"}).status_code == 200


def test_lots_that_are_not_one_line_are_not_said_to_come_from_one_another(client, words):
    """A booking has lots side by side; one lot has its way up."""
    booked = words(client.get("/recall?lot=H2").text)
    assert "H2: C11-0609, C16-0609, C21-0609" in booked
    assert "C11-0609 from C16-0609" not in booked
    assert "T3: B-41F.04 from B-41F from B-41." in words(client.get("/recall?lot=T3").text)


def test_an_empty_trace_leads_to_recall_tickets_and_the_day_book(client, read_page):
    """Nothing is asked yet, and no other page is out of reach."""
    links = read_page(client.get("/trace").text).links
    assert {"/recall", "/tickets", "/daybook"} <= set(links)
