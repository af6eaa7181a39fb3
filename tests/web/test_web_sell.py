"""The page that sells: a touch adds what is on the scale, a touch takes the money; no script."""

from __future__ import annotations

import re
from datetime import timedelta
from urllib.parse import parse_qs, urlsplit

import pytest

from collop.measures import Money, UnitPrice, Weight, WeightUnit
from collop.shop import LabelFacts, NewTicket, State


def lb(text):
    return Weight.of(text, WeightUnit.LB)


def form_of(client, read_page, address="/sell"):
    """Return the form a browser would send."""
    return read_page(client.get(address).text).form("/sell")


def add(client, read_page, cut, gross, address="/sell", **typed):
    """Touch a cut with a weight on the scale, and return where the page goes."""
    form = form_of(client, read_page, address) | {"cut": cut, "gross": gross} | typed
    answer = client.post("/sell", data=form)
    assert answer.status_code == 303, answer.text
    return answer.headers["location"]


def take(client, read_page, address, way="cash", **typed):
    form = form_of(client, read_page, address) | {"way": way, "by": "dot"} | typed
    return client.post("/sell", data=form)


def test_one_line_is_sold_with_two_touches(client, shop, read_page, words):
    """Weight on the scale, touch the cut, touch the money; the slip follows, with the change."""
    before = next(one for one in shop.case() if one.id == "C11").free
    at = add(client, read_page, "C11", "1.08")
    page = client.get(at)
    assert "Take the money: cash 8.42" in words(page.text)
    answer = take(client, read_page, at, given="10")
    assert answer.headers["location"] == "/sell/H11?done=sold&by=dot"
    slip = words(client.get(answer.headers["location"]).text)
    assert "Change: 1.58" in slip
    assert "1.08 lb net at 7.80 /lb" in slip
    assert "Paid in full" in slip
    after = next(one for one in shop.case() if one.id == "C11").free
    assert before - after == lb("1.08")
    assert shop.booking("H11").state is State.GONE
    # the next sale knows who stands there
    assert "/sell?by=dot" in client.get("/sell/H11?by=dot").text


def test_lines_stand_in_the_address_and_are_taken_off_by_a_link(client, read_page, words):
    """Two lines, one taken off; going back and loading anew change nothing."""
    at = add(client, read_page, "C11", "1.08", by="dot")
    at = add(client, read_page, "C04", "0.75", at)
    page = client.get(at)
    assert "total 22.37" in words(page.text)
    less = [link for link in read_page(page.text).links if link and link.startswith("/sell?line")]
    left = client.get(less[0])
    assert "total 13.95" in words(left.text)
    assert parse_qs(urlsplit(less[0]).query)["by"] == ["dot"]
    assert client.get(at).text.count("Take off") == page.text.count("Take off")


def test_two_tills_do_not_know_of_each_other(client, shop, read_page):
    """Each page has its own lines and key; both are sold."""
    one, two = (add(client, read_page, cut, "1") for cut in ("C11", "C13"))
    names = [take(client, read_page, at).headers["location"] for at in (one, two)]
    assert [name.split("?")[0] for name in names] == ["/sell/H11", "/sell/H12"]
    assert str(shop.money.takings().total) == "24.20"


def test_the_same_tap_twice_sells_once(client, shop, read_page):
    """A form sent twice has one key."""
    at = add(client, read_page, "C11", "1")
    form = form_of(client, read_page, at) | {"way": "card", "by": "dot"}
    answers = {client.post("/sell", data=form).headers["location"] for _ in range(2)}
    assert answers == {"/sell/H11?done=sold&by=dot"}
    assert len(shop.money.takings().slips) == 1


def test_packing_is_taken_off_before_it_is_priced(client, shop, read_page, words):
    """The tare of the shop's list is off the gross; it stays chosen for the next line."""
    tare = shop.tickets.tares()[0]
    at = add(client, read_page, "C11", "1.08", tare=tare.name)
    net = lb("1.08") - tare.weight
    text = words(client.get(at).text)
    assert f"{tare.name} taken off" in text
    price = UnitPrice.of("7.80", WeightUnit.LB)
    assert f"total {price.line(net)}" in text
    assert parse_qs(urlsplit(at).query)["tare"] == [tare.name]


def test_a_cut_touched_before_its_weight_is_chosen_and_the_weight_is_next(
    client, shop, read_page, words
):
    """No fault and nothing added: the cut is marked, its weight asked for, and Enter adds it."""
    at = add(client, read_page, "C11", "1")
    form = form_of(client, read_page, at) | {"by": "dot", "asked": "2", "find": "mince"}
    answer = client.post("/sell", data=form | {"cut": "C06"})
    assert answer.status_code == 303
    at = answer.headers["location"]
    query = parse_qs(urlsplit(at).query)
    assert {name: query[name] for name in ("by", "asked", "find", "chosen")} == {
        "by": ["dot"], "asked": ["2"], "find": ["mince"], "chosen": ["C06"]}  # fmt: skip
    assert len(query["line"]) == 1
    page = client.get(at)
    assert "There is a problem" not in page.text
    assert "Lamb mince: put it on the scale, or write its weight." in words(page.text)
    assert re.search(r'id="f-gross"[^>]* autofocus', page.text)
    assert re.search(r'value="C06" class="sell-tile is-chosen"', page.text)
    added = client.post("/sell", data=form_of(client, read_page, at) | {"gross": "2"})
    assert added.status_code == 303
    assert "Lamb mince 18.40" in words(client.get(added.headers["location"]).text)


def test_over_what_was_asked_is_told_and_far_over_is_asked(client, read_page, words):
    """8 % over is told; 50 % over cannot be paid before somebody touches Take it."""
    near = client.get(add(client, read_page, "C11", "1.08", asked="1"))
    assert "0.08 lb over (8.0 %): 8.42, as asked 7.80" in words(near.text)
    at = add(client, read_page, "C04", "1.5", asked="1")
    far = client.get(at)
    assert "27.90 instead of 18.60; ask whether it is taken" in words(far.text)
    assert 'name="way"' not in far.text
    agree = re.search(r'<a class="button" href="([^"]+)">Take it</a>', far.text)[1]
    agree = agree.replace("&amp;", "&")
    assert "agreed" in words(client.get(agree).text)
    assert take(client, read_page, agree).status_code == 303
    # who sends the form without agreeing is asked by the service itself
    assert take(client, read_page, at).status_code == 422


def test_a_ticket_is_scanned_into_the_sale(client, shop, read_page, words):
    """Its net, price and lot hold; an unknown one is refused beside its field."""
    new = NewTicket(case_id="C02", gross=lb("4.87"), tare="vacuum bag", lot="C02-0609")
    ticket = shop.tickets.print(new, by="dot", key="t")
    at = add(client, read_page, "", "", ticket=ticket.id.lower())
    assert f"{ticket.id}, lot C02-0609" in words(client.get(at).text)
    assert take(client, read_page, at).status_code == 303
    form = form_of(client, read_page)
    again = client.post("/sell", data=form | {"ticket": ticket.id})
    assert again.status_code == 422
    assert 'id="e-ticket"' in again.text
    assert "sold already" in words(again.text)


@pytest.mark.parametrize(
    ("typed", "field", "said"),
    [
        ({"chosen": "C11"}, "gross", "put the cut on the scale"),
        ({"cut": "C99"}, "gross", "put the cut on the scale"),
        ({"cut": "C11", "gross": "x"}, "gross", "write the weight like"),
        ({"cut": "C11", "gross": "nan"}, "gross", "write the weight like"),
        ({"cut": "C11", "gross": "0"}, "gross", "nothing"),
        ({"cut": "C11", "gross": "-1"}, "gross", "write the weight like"),
        ({"cut": "C11", "gross": "1", "asked": "much"}, "asked", "Asked for"),
        ({"cut": "C11", "gross": "1", "tare": "gold"}, "tare", "not on the list"),
        ({"cut": "C99", "gross": "1"}, "cut", "no case line"),
        ({"gross": "1"}, "cut", "touch the cut"),
        ({"ticket": "T999"}, "ticket", "no ticket"),
        ({"line": "cut=C11&net=zzz", "way": "cash", "by": "dot"}, "lines", "cannot be read"),
        ({"line": "a=1&" * 30, "way": "cash", "by": "dot"}, "lines", "cannot be read"),
        ({"line": "cut=C11&net=45359237000lb", "way": "gift", "by": "dot"}, "lines", "Way"),
        ({"way": "cash", "by": "dot"}, "cut", "nothing is on the slip"),
    ],
)
def test_what_cannot_be_added_is_said_beside_its_field(
    client, shop, read_page, words, typed, field, said
):
    """The summary links to the field; nothing is sold, what was typed stays."""
    form = form_of(client, read_page)
    answer = client.post("/sell", data=form | typed)
    assert answer.status_code == 422
    assert f'href="#f-{field}"' in answer.text
    assert f"f-{field}" in read_page(answer.text).ids
    assert said in words(answer.text)
    assert shop.money.takings().slips == ()


def test_nobody_named_little_given_or_no_name_is_asked_for(client, read_page, words):
    """Who, the cash given and the name of the account each have their own message."""
    at = add(client, read_page, "C11", "1")
    assert "choose who does this" in words(take(client, read_page, at, by="").text)
    assert "2.80 is missing" in words(take(client, read_page, at, given="5").text)
    assert "Cash given: write an amount" in words(take(client, read_page, at, given="x").text)
    assert "needs a name" in words(take(client, read_page, at, "account").text)
    told = take(client, read_page, at, "account", name="4111 1111 1111 1111")
    assert "number of a card" in words(told.text)
    done = take(client, read_page, at, "account", name="The Lock Inn")
    assert "Due, on account" in words(client.get(done.headers["location"]).text)


def test_more_than_is_free_is_said_on_the_line(client, read_page, words):
    """The line stays, with what is free and booked, and no money can be taken."""
    page = client.get(add(client, read_page, "C12", "3"))
    text = words(page.text)
    assert "2.50 lb is free and 3.00 lb lies on the scale; 2.10 lb is booked" in text
    assert 'name="way"' not in page.text


def test_a_board_that_moved_is_told_before_the_money_is_taken(client, shop, read_page, words):
    """The customer saw 7.80; the page shows 8.60 and sells only then."""
    at = add(client, read_page, "C11", "1")
    form = form_of(client, read_page, at) | {"way": "cash", "by": "dot"}
    shop.board_price("C11", UnitPrice.of("8.60", WeightUnit.LB), by="ines", why="up", key="p")
    answer = client.post("/sell", data=form)
    assert answer.status_code == 409
    assert "this is the new total" in words(answer.text)
    assert "cash 8.60" in words(answer.text)
    assert take(client, read_page, at).status_code == 303


def test_cuts_are_found_by_name_and_number_and_lines_stay(client, read_page, words):
    """A search filters the tiles without script; the sale so far goes along."""
    at = add(client, read_page, "C11", "1")
    found = client.get(f"{at}&find=rump")
    assert re.findall(r'name="cut" value="(C[0-9]+)"', found.text) == ["C13"]
    assert "Add C13" in words(found.text)  # the only one found is meant: no touch is needed
    form = read_page(found.text).form("/sell") | {"gross": "0.5"}
    assert "total 16.00" in words(
        client.get(client.post("/sell", data=form).headers["location"]).text
    )
    assert "total 7.80" in words(found.text)
    assert 'value="C11"' in client.get("/sell?find=c11").text
    assert "No cut is called zzz" in words(client.get("/sell?find=zzz").text)


def test_a_slip_tells_tax_cash_and_half_cents(client, shop, read_page, words):
    """Tax by class, the named rule at a half cent of a line and of a tax, the cash rounding."""
    facts = LabelFacts(product_class="raw whole", contains=(), tax_class="prepared")
    shop.tickets.set_facts("C09", facts, by="dot", key="facts")
    shop.change_settings(
        {"tax_classes": [{"name": "prepared", "percent": "12.5"}], "cash_rounding": "nearest-5"},
        by="ines", why="office", key="till",
    )  # fmt: skip
    answer = take(client, read_page, add(client, read_page, "C09", "0.95"))
    text = words(client.get(answer.headers["location"]).text)
    assert "8.455 is an exact half cent: half up gives 8.46" in text
    assert "Tax, prepared 12.5 % on 8.46" in text  # 1.0575
    assert "Cash rounding" in text
    # 0.40 lb is 3.56, whose tax is 0.445; of 1.60 lb it is 1.78
    tied, plain = (
        words(client.get(take(client, read_page, add(client, read_page, "C09", pounds),
                              "card").headers["location"]).text)
        for pounds in ("0.4", "1.6")
    )  # fmt: skip
    assert "0.445 is an exact half cent: half up gives 0.45" in tied
    assert "half cent" not in plain


def test_money_of_a_booking_is_noted_on_its_slip(client, shop, read_page, words):
    """Deposit before, the rest after hand-over; never more than is due; no number of a card."""
    here = "/sell/H8/money"
    page = client.get("/sell/H8")
    assert "Take the deposit: 20.00 is open." in words(page.text)
    form = read_page(page.text).form(here)
    assert (
        client.post(here, data=form | {"way": "cash", "by": "dot", "given": "50"}).headers[
            "location"
        ]
        == "/sell/H8?done=money&by=dot"
    )
    assert "Change: 30.00" in words(client.get("/sell/H8?done=money").text)
    (line,) = shop.booking("H8").lines
    shop.hand_over("H8", {line.id: lb("4.15")}, by="dot", key="go")
    assert 'href="/sell/H8"' in client.get("/hook/H8").text
    form = read_page(client.get("/sell/H8").text).form(here)
    bad = client.post(here, data=form | {"way": "card", "by": "dot", "amount": "17"})
    assert (bad.status_code, "e-amount" in read_page(bad.text).ids) == (422, True)
    card = form | {"way": "card", "by": "dot", "note": "4111111111111111"}
    assert "number of a card" in words(client.post(here, data=card).text)
    assert "Way: choose" in words(client.post(here, data=form | {"by": "dot"}).text)
    done = client.post(here, data=form | {"way": "card", "by": "dot", "note": "till 2"})
    assert done.status_code == 303
    assert shop.money.of("H8").due == Money(0)
    assert "till 2" in words(client.get("/sell/H8").text)


def test_a_booking_that_is_off_shows_the_rule_and_what_was_done(client, shop, read_page, words):
    """The sentence of the rule; giving back is noted, never done by itself."""
    shop.release("H8", by="dot", key="r", why="ill")
    page = client.get("/sell/H8")
    assert "of 20.00, 20.00 is given back and 0.00 kept" in words(page.text)
    form = read_page(page.text).form("/sell/H8/money")
    done = client.post("/sell/H8/money", data=form | {"what": "given back", "way": "card",
                                                      "by": "dot"})  # fmt: skip
    assert done.status_code == 303
    here = client.get("/sell/H8").text
    assert "Deposit, not noted yet: 20.00 is open" in words(here)
    form = read_page(here).form("/sell/H8/money")
    client.post("/sell/H8/money", data=form | {"way": "card", "by": "dot"})
    assert "Note the money" not in words(client.get("/sell/H8").text)


def test_a_weight_and_enter_add_the_cut_that_is_chosen(client, read_page):
    """Without script Enter is the first button of the form: Add, never the money."""
    at = add(client, read_page, "C11", "1") + "&find=C04"
    shown = client.get(at).text
    form = shown[shown.index('<form method="post" action="/sell"') :]
    first = form[form.index("<button") :].partition(">")[0]
    assert 'type="submit"' in first
    assert 'name="do" value="add"' in first
    # a typing scale that ends its line with Enter sends the form only where the cut is known
    assert 'data-scale="submit"' in form
    assert 'data-scale="submit"' not in client.get("/sell").text
    sent = form_of(client, read_page, at) | {"gross": "0.5", "do": "add"}
    assert client.post("/sell", data=sent).headers["location"].count("line=") == 2


def test_what_comes_back_is_taken_on_the_slip(client, shop, read_page, words):
    """Weight, why and who; the slip and the takings tell it; too much is refused at its field."""
    at = add(client, read_page, "C13", "1", add(client, read_page, "C11", "1"))
    take(client, read_page, at)
    here = "/sell/H11/back"
    form = read_page(client.get("/sell/H11").text).form(here) | {"by": "dot", "way": "cash"}
    assert "Line: choose" in words(client.post(here, data=form | {"why": "x"}).text)
    bad = client.post(here, data=form | {"line": "H11-1", "weight": "2", "why": "x"})
    assert (bad.status_code, 'href="#f-weight"' in bad.text) == (422, True)
    assert "say why" in words(client.post(here, data=form | {"line": "H11-1"}).text)
    done = client.post(here, data=form | {"line": "H11-1", "weight": "0.5", "why": "too fat"})
    assert done.status_code == 303
    text = words(client.get("/sell/H11?done=back").text)
    assert "Back: 0.50 lb Beef mince, 20 % fat too fat" in text
    assert shop.money.of("H11").due == Money(0)
    assert "too fat" in words(client.get("/takings").text)


def test_a_scanner_types_a_pack_into_the_sale(client, read_page, words):
    """Square code and till code, as they stand on the ticket, add its pack."""
    at = add(client, read_page, "", "", ticket="T1 B-41F.04")
    at = add(client, read_page, "", "", at, ticket="2 00107 11397 3")
    text = words(client.get(at).text)
    assert ("T1, lot B-41F.04" in text, "T2, lot B-41F.04" in text) == (True, True)
    assert "total 29.85" in text  # 15.88 + 13.97


def test_a_sale_is_undone_with_one_touch_within_the_hour(client, shop, clock, read_page, words):
    """All lines are in the bin, the cash is given back; after an hour the touch is gone."""
    at = add(client, read_page, "C13", "1", add(client, read_page, "C11", "1"))
    take(client, read_page, at)
    here = "/sell/H11/all-back"
    form = read_page(client.get("/sell/H11?done=sold&by=dot").text).form(here)
    answers = {client.post(here, data=form).headers["location"] for _ in range(2)}
    assert answers == {"/sell/H11?done=all&by=dot"}
    page = client.get("/sell/H11?done=all&by=dot").text
    assert "All of it is taken back. It is in the bin" in words(page)
    assert ("Undo the whole sale" in page, "Take back over" in page) == (False, False)
    assert shop.money.takings().drawer == Money(0)
    take(client, read_page, add(client, read_page, "C11", "1"))
    clock.put(clock.now() + timedelta(minutes=61))
    assert "Undo the whole sale" not in client.get("/sell/H12").text
    # a booking that was handed over is corrected line by line
    assert client.post("/sell/H8/all-back", data=form | {"key": "n"}).status_code == 409


def test_a_fault_of_the_return_leads_to_a_field_that_is_there(client, read_page):
    """On a slip that is paid the only Who is that of the return."""
    take(client, read_page, add(client, read_page, "C11", "1"))
    form = read_page(client.get("/sell/H11").text).form("/sell/H11/back")
    answer = client.post("/sell/H11/back", data=form | {"why": "x"})
    assert answer.status_code == 422
    assert 'href="#f-by"' in answer.text
    assert "f-by" in read_page(answer.text).ids


def test_what_is_back_already_is_not_offered_again(client, shop, read_page, words):
    """Of two lines one is back: only the other can be chosen, with what is still out."""
    take(client, read_page, add(client, read_page, "C13", "1", add(client, read_page, "C11", "1")))
    shop.selling.take_back("H11-1", None, "x", by="dot", key="b")
    shop.selling.take_back("H11-2", lb("0.4"), "x", by="dot", key="c")
    page = client.get("/sell/H11").text
    assert ('value="H11-1"' in page, 'value="H11-2"' in page) == (False, True)
    assert "0.60 lb" in words(page)


def test_the_pages_have_labels_and_nothing_inline(client, read_page):
    """Each field has its label; no inline script or style."""
    at = add(client, read_page, "C11", "1")
    take(client, read_page, at)
    for address in ("/sell", at, "/sell/H11", "/sell/H8", "/takings"):
        page = read_page(client.get(address).text)
        assert page.unlabelled() == [], address
        assert page.inline == [], address
