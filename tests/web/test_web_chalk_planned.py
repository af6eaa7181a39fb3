"""Prices planned for later: taken back one by one, told when another goes up before them."""

from __future__ import annotations

import re
from datetime import datetime, timedelta
from decimal import Decimal

import pytest

from collop.errors import BadValue
from collop.measures import UnitPrice, WeightUnit
from collop.shop import NewPrice
from collop.web.chalk_form import read_price
from collop.web.chalk_past import stood

LINE = "/chalk/line/C11"
TOMORROW = datetime.fromisoformat("2026-06-10T08:00")


def plan(shop, amount, hours, *, by="ines", why="dearer", case_id="C11"):
    """Plan a price of mince so many hours before or after tomorrow at 08:00."""
    price = UnitPrice.of(amount, WeightUnit.LB)
    shop.chalk.put([NewPrice(case_id, price)], by=by, why=why, key=f"{case_id}{amount}{hours}",
                   from_at=TOMORROW + timedelta(hours=hours))  # fmt: skip


def buttons(page):
    """Return what the buttons send that take a planned price back, in the table's order."""
    return re.findall(r'name="withdraw" value="([^"]*)"', page)


def price_at(shop, moment):
    """Return what mince will be then, by the board's own history."""
    past = stood(shop.chalk.history("C11"), moment)
    return next(str(one.change.price.amount) for one in past if one.change.from_at <= moment)


def test_each_planned_price_can_be_taken_back_however_late(client, shop, clock, words):
    """Hours and other changes later: the older plan goes, the newer stays, both are kept."""
    plan(shop, "8.40", 0)
    plan(shop, "8.80", 4)
    shop.chalk.put([NewPrice("C11", UnitPrice.of("8.00", WeightUnit.LB))], by="kofi", why="now",
                   key="now")  # fmt: skip
    clock.put(clock.now() + timedelta(hours=5))
    page = client.get(LINE).text
    later, sooner = buttons(page)
    assert page.count(' form="price-form" name="withdraw"') == 2
    sent = {"withdraw": sooner, "by": "kofi", "key": "back", "why": "not yet"}
    answer = client.post(LINE, data=sent)
    assert (answer.status_code, answer.headers["location"]) == (303, f"{LINE}?done=withdrawn")
    assert price_at(shop, TOMORROW + timedelta(hours=1)) == "8.00"
    assert price_at(shop, TOMORROW + timedelta(hours=5)) == "8.80"
    last = shop.chalk.history("C11")[-1]
    assert (last.from_at, last.by, last.why) == (TOMORROW, "kofi", "taken back: not yet")
    assert "8.40" in [str(one.price.amount) for one in shop.chalk.history("C11")]
    after = client.get(f"{LINE}?done=withdrawn").text
    assert buttons(after) == [later]
    assert "Taken back from Wed 08:00, Kofi" in words(after)
    clock.put(TOMORROW)
    assert next(one for one in shop.chalk.board() if one.case_id == "C11").price.amount == 8


def test_without_another_reason_the_plan_s_own_is_kept(client, shop):
    """Its price is then the one before it."""
    plan(shop, "8.40", 0, why="feed")
    (mark,) = buttons(client.get(LINE).text)
    client.post(LINE, data={"withdraw": mark, "by": "ines", "key": "back"})
    last = shop.chalk.history("C11")[-1]
    assert (str(last.price.amount), last.why) == ("7.80", "taken back: feed")
    assert shop.chalk.planned() == ()


def test_a_plan_that_replaced_another_leaves_neither(client, shop):
    """What stood before the hour stays, not the price somebody had replaced."""
    plan(shop, "8.40", 0)
    plan(shop, "8.60", 0)
    (mark,) = buttons(client.get(LINE).text)
    assert (
        client.post(LINE, data={"withdraw": mark, "by": "ines", "key": "back"}).status_code == 303
    )
    assert price_at(shop, TOMORROW) == "7.80"


@pytest.mark.parametrize(
    ("change", "status", "says"),
    [
        ({"by": ""}, 422, "Who: choose who does this."),
        ({"withdraw": "x"}, 409, "That price is not planned any more"),
        ({"withdraw": "2026-06-10T08:00:00 2026-06-09T07:59:00"}, 409, "not planned any more"),
    ],
)
def test_what_cannot_be_taken_back_changes_nothing(client, shop, words, change, status, says):
    """Nobody named, or another plan than the page showed."""
    plan(shop, "8.40", 0)
    (mark,) = buttons(client.get(LINE).text)
    answer = client.post(LINE, data={"withdraw": mark, "by": "ines", "key": "back", **change})
    assert answer.status_code == status
    assert says in words(answer.text)
    assert len(shop.chalk.history("C11")) == 2


def test_a_plan_is_taken_back_once(client, shop, words):
    """The second touch is told so, and no further entry is written."""
    plan(shop, "8.40", 0)
    (mark,) = buttons(client.get(LINE).text)
    sent = {"withdraw": mark, "by": "ines", "key": "back"}
    assert client.post(LINE, data=sent).status_code == 303
    again = client.post(LINE, data=sent)
    assert again.status_code == 409
    assert "That price is not planned any more" in words(again.text)
    assert len(shop.chalk.history("C11")) == 3
    assert client.post("/chalk/line/C99", data=sent).status_code == 404


def test_a_price_that_went_up_now_says_what_will_overtake_it(client, shop, words):
    """On the line's page and on the animal's; a plan before the price is none to tell."""
    plan(shop, "5.00", 0, case_id="C09")
    sent = {"by": "kofi", "key": "k", "do": "put", "price": "9.40"}
    answer = client.post("/chalk/line/C09", data=sent)
    says = "From Wed 10 Jun 08:00 it becomes 5.00 /lb (planned by Ines)."
    for address in (answer.headers["location"], "/chalk/B-41F?done=put"):
        assert says in words(client.get(address).text)
    plan(shop, "9.80", 4, case_id="C09")
    assert "it becomes" not in words(client.get("/chalk/line/C09?done=put").text)


def test_two_lines_that_will_be_overtaken_are_named(client, shop, words):
    """One sentence for each, with its name."""
    plan(shop, "9.00", 0, case_id="C09")
    plan(shop, "10.00", 0, case_id="C10")
    client.post("/chalk/B-41F", data={"by": "kofi", "key": "k", "do": "put", "price-C09": "9.40",
                                      "price-C10": "10.20"})  # fmt: skip
    text = words(client.get("/chalk/B-41F?done=put").text)
    assert "From Wed 10 Jun 08:00 Beef short ribs becomes 9.00 /lb" in text
    assert "From Wed 10 Jun 08:00 Beef brisket becomes 10.00 /lb" in text


def test_a_present_price_finer_than_the_currency_may_stay(client, shop, words):
    """Left as it is it is no fault, typed anew it is; one sentence."""
    fine = UnitPrice.of("8.905", WeightUnit.LB)
    shop.chalk.put([NewPrice("C09", fine)], by="ines", why="", key="k")
    sent = {"by": "ines", "key": "x", "do": "put", "price-C09": "8.905", "price-C10": "10.20"}
    assert client.post("/chalk/B-41F", data=sent).status_code == 303
    assert shop.chalk.history("C09")[-1].price == fine
    again = {"by": "ines", "key": "y", "do": "put", "price": "8.906"}
    answer = client.post("/chalk/line/C09", data=again)
    assert answer.status_code == 422
    assert "New price: write at most 2 decimals." in words(answer.text)


@pytest.mark.parametrize(
    ("currency", "good", "finer"),
    [("USD", "9.80", "9.805"), ("JPY", "980", "980.5"), ("KWD", "9.805", "9.8055")],
)
def test_a_typed_price_has_the_decimals_of_its_currency(currency, good, finer):
    """Dollars two, yen none, dinars three: the minor units of ISO 4217 (from memory)."""
    assert read_price(good, "Price", "1", currency) == Decimal(good)
    with pytest.raises(BadValue, match="at most"):
        read_price(finer, "Price", "1", currency)
