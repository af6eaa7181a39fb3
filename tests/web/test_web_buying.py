"""What suppliers ask on the screen: quotes kept, laid side by side, taken off."""

from __future__ import annotations

import pytest

LIVE = {"basis": "live", "supplier": "Upper Nimmock", "name": "one steer", "species": "beef",
        "weight": "1200", "price": "2.10", "haulage": "60", "kill_fee": "95", "credits": "12",
        "labour_minutes": "2", "dressing": "62", "dressing_low": "60", "dressing_high": "64",
        "by": "ines", "key": "k1"}  # fmt: skip
BOX = {"basis": "box", "supplier": "Lock Wholesale", "name": "rump", "species": "beef",
       "cut1": "C13", "weight1": "20", "price1": "9.60", "trim1": "5", "by": "dot",
       "key": "k2"}  # fmt: skip
HUNG = {"basis": "hanging", "supplier": "Saltgrass", "name": "a kid", "species": "goat",
        "weight": "27", "weight_is": "cold", "price": "7.10", "by": "dot", "key": "k3"}  # fmt: skip


def test_three_ways_are_kept_and_compared(client, shop, words):
    """Side by side by animal, with the break-even and how it was worked out."""
    for data in (LIVE, BOX, HUNG):
        answer = client.post("/buying/new", data=data)
        assert answer.headers["location"] == "/buying?done=kept"
    text = words(client.get("/buying?done=kept").text)
    assert "1. Lock Wholesale rump" in text
    assert "Lock Wholesale, rump wins under" in text
    assert "dressing 62 % (60 to 64): given" in text
    assert "Goat" in text
    assert "own labour" in text
    kept = shop.season.quotes()
    assert kept[0].offer["dressing"] == {"pct": 62.0, "low": 60.0, "high": 64.0}
    assert kept[2].offer["weight_is"] == "cold"


def test_a_quote_is_taken_off(client, shop, words):
    """By somebody named; the second time it is not there."""
    client.post("/buying/new", data=BOX)
    assert client.post("/buying/B1/off", data={}).status_code == 422
    assert client.post("/buying/B1/off", data={"by": "ines", "key": "a"}).status_code == 303
    assert shop.season.quotes() == ()
    again = client.post("/buying/B1/off", data={"by": "ines", "key": "b"})
    assert again.status_code == 404
    assert "No quote is kept" in words(client.get("/buying").text)


@pytest.mark.parametrize(
    ("data", "change", "said"),
    [
        (LIVE, {"weight": ""}, "Weight"), (LIVE, {"weight": "0"}, "Weight"),
        (LIVE, {"price": "x"}, "Price"), (LIVE, {"price_head": "900"}, "give it or the price"),
        (LIVE, {"dressing": ""}, "usual figure"), (LIVE, {"dressing": "70"}, "not between"),
        (LIVE, {"animals": "0"}, "too few"), (LIVE, {"by": ""}, "choose"),
        (LIVE, {"credits": "99999"}, "worth more"), (LIVE, {"supplier": ""}, "Supplier"),
        (LIVE, {"good_until": "2026-06-01"}, "Good until"), (BOX, {"cut1": ""}, "at least one cut"),
        (BOX, {"weight1": ""}, "Weight"), (BOX, {"price1": "1e-999999"}, "Price"),
        (BOX, {"cut2": "C13", "weight2": "1", "price2": "1"}, "twice"),
        (HUNG, {"species": ""}, "Animal"),
    ],
)  # fmt: skip
def test_what_is_wrong_is_said_in_the_summary(client, shop, words, data, change, said):
    """And nothing is kept."""
    answer = client.post("/buying/new", data=data | change)
    assert answer.status_code == 422
    assert said in words(answer.text)
    assert shop.season.quotes() == ()


@pytest.mark.parametrize("address", ["/buying", "/buying/new", "/buying/new?basis=hanging",
                                     "/buying/new?basis=box"])  # fmt: skip
def test_every_field_is_named(client, read_page, address):
    """No inline script or style, no field without a label; with quotes kept too."""
    client.post("/buying/new", data=LIVE)
    client.post("/buying/new", data=BOX)
    page = read_page(client.get(address).text)
    assert page.inline == []
    assert page.unlabelled() == []
