"""The ask page: what it answers, what it refuses, and that a tap needs no script."""

from __future__ import annotations

from decimal import Decimal

import pytest
from starlette.testclient import TestClient

from collop.errors import PlanRejected
from collop.web import create_app

ASK = "/ask?heads=34&big=16&money=310&day=2026-06-12&time=18:30"


def test_an_empty_ask_asks_how_many_and_offers_three_typical_asks(client, read_page, words):
    """The empty screen tells the first thing to do."""
    answer = client.get("/ask")
    assert answer.status_code == 200
    assert "How many?" in words(answer.text)
    typical = [link for link in read_page(answer.text).links if link.startswith("/ask?")]
    assert len(typical) == 3
    assert all(client.get(link).status_code == 200 for link in typical)


def test_a_spread_shows_say_line_feeds_reasons_and_money_a_head(client, words):
    """What is read aloud, how many it feeds, and why, are all on the page."""
    text = words(client.get(ASK).text)
    for wanted in ("a head", "light 47", "usual 34", "hungry 29", "left", "Costs 38 % less"):
        assert wanted in text
    assert "Best value" in text
    assert "Helps the animal" in text


def test_the_same_address_gives_the_same_spread(client, words):
    """Same input, same answer: only the one-time key differs."""
    first, second = client.get(ASK), client.get(ASK)
    assert words(first.text) == words(second.text)


def test_the_script_gets_the_desk_alone_and_the_address_of_the_ask(client):
    """A tap answered for the script is a fragment; without script it is the whole page."""
    form = {"heads": "12", "day": "2026-06-12"}
    whole = client.post("/ask/spread", data=form)
    part = client.post("/ask/spread", data=form, headers={"HX-Request": "true"})
    assert "<!doctype html>" in whole.text
    assert "<!doctype html>" not in part.text
    assert part.headers["HX-Replace-Url"].startswith("/ask?heads=12")


@pytest.mark.parametrize(
    ("do", "wanted"),
    [
        ("heads+", "heads=35"),
        ("heads-", "heads=33"),
        ("child+", "child=1"),
        ("meat_free+", "meat_free=1"),
        ("lighter", "lighter=1"),
        ("cheaper", "to="),
        ("to:99.50", "to=99.50"),
        ("pin:C02@3.00", "pin=C02%403.00"),
        ("swap:C03", "leave=C03"),
        ("swap:C03>C04", "pin=C04"),
    ],
)
def test_each_tap_changes_the_ask_by_one_step(client, do, wanted):
    """The new ask is in the address that the answer brings."""
    form = {"heads": "34", "money": "310", "day": "2026-06-12", "do": do}
    answer = client.post("/ask/spread", data=form, headers={"HX-Request": "true"})
    assert answer.status_code == 200
    assert wanted in answer.headers["HX-Replace-Url"]


def test_undo_brings_the_earlier_version_back_and_keeps_those_before(client, read_page):
    """Each answer carries the chain of earlier asks; undo takes the last of them."""
    script = {"HX-Request": "true"}
    form = {"heads": "30", "day": "2026-06-12"}
    for _ in range(3):
        page = read_page(client.post("/ask/spread", data=form | {"do": "heads+"},
                                     headers=script).text)  # fmt: skip
        form = page.form("/ask/spread") | {"day": "2026-06-12"}
    assert form["heads"] == ["33"]
    assert len(form["was"]) == 2
    answer = client.post("/ask/spread", data=form | {"do": "undo"}, headers=script)
    back = read_page(answer.text).form("/ask/spread")
    assert back["heads"] == ["32"]
    assert len(back["was"]) == 1


def test_thirty_maybe_forty_five_is_planned_high_and_says_so(client, words):
    """Two head counts are both shown, with the number planned for as an assumption."""
    text = words(client.get("/ask", params={"heads": "thirty, maybe forty-five"}).text)
    assert "30 to 45 eat: planned for 42." in text
    assert "usual 42" in text


def test_a_no_is_big_and_each_nearest_yes_is_a_button_that_works(client, words):
    """When nothing fits, the way out is one tap."""
    form = {"heads": "26", "money": "10", "day": "2026-06-12"}
    answer = client.post("/ask/spread", data=form)
    assert answer.status_code == 200
    text = words(answer.text)
    assert "NO" in text
    assert "Spend 81.26" in text
    for way in range(3):
        taken = client.post("/ask/spread", data=form | {"do": f"yes:{way}"})
        assert taken.status_code == 200
        assert "Best value" in words(taken.text)


@pytest.mark.parametrize(
    ("form", "field", "sentence"),
    [
        ({"heads": "-3"}, "heads", "Eaters: -3 is too few; enter 1 or more."),
        ({"heads": "0"}, "heads", "Eaters: 0 is too few; enter 1 or more."),
        ({"heads": "10000"}, "heads", "10000 is too many for one ask; enter 500 or fewer."),
        ({"heads": "NaN"}, "heads", "write a number such as 34"),
        ({"heads": "34", "money": "NaN"}, "money", "Money: write an amount such as 310"),
        ({"heads": "34", "money": "-5"}, "money", "Money: enter more than 0"),
        ({"heads": "34", "money": "1e9"}, "money", "Money: enter 100000 or less."),
        ({"heads": "34", "contains": "moonbeam"}, "contains", "'moonbeam' is not known here"),
        ({"heads": "4", "child": "9"}, "child", "only 4 eat; lower one of them."),
        ({"heads": "4", "no_n": "9", "no_what": "pork"}, "no_n", "only 4 eat meat"),
        ({"heads": "4", "no_n": "2", "no_what": "mice"}, "no_n", "'mice' is not known here"),
        ({"heads": "4", "day": "2020-01-01"}, "day", "that day is past"),
        ({"heads": "4", "day": "tomorrow"}, "day", "choose a day, written like"),
        ({"heads": "4", "day": "2026-06-09", "time": "07:00"}, "time", "07:00 is past"),
        ({"heads": "4", "time": "25:00"}, "time", "write the time from 00:00 to 23:59"),
        ({"heads": "4", "fire": "own"}, "area", "enter the size of the fire"),
        ({"heads": "4", "fire": "volcano"}, "fire", "'volcano' is not known here"),
        ({"heads": "4", "coals": "0"}, "coals", "0 is too few; enter 10 or more."),
        ({"heads": "4", "style": "soup"}, "style", "'soup' is not known here"),
        ({"heads": "4", "slot": "bird", "meat_free": "4"}, "slot", "all eat meat-free"),
        ({"heads": "4", "pin": "C99"}, "pins", "not on offer"),
        ({"heads": "4", "pin": "C25", "contains": "sesame"}, "pins", "is pinned but"),
        ({"heads": "4", "patch": "[]"}, "ask", "accepted change cannot be read"),
    ],
)
def test_bad_input_gets_one_sentence_beside_its_field(
    client, read_page, words, form, field, sentence
):
    """422, the same sentence in the summary and beside the field, a link between, input kept."""
    answer = client.post("/ask/spread", data={"day": "2026-06-12"} | form)
    assert answer.status_code == 422
    page = read_page(answer.text)
    text = words(answer.text)
    assert "There is a problem" in text
    assert text.count(sentence) == 2
    assert f"#f-{field}" in page.links
    assert f"f-{field}" in page.ids
    assert "<title>Error: " in answer.text
    kept = {name: value for name, value in form.items() if name in {"heads", "money", "coals"}}
    sent = page.form("/ask/spread")
    assert all(value in sent[name] for name, value in kept.items())


def test_the_last_good_spread_stays_marked_before(client, words):
    """A fault does not take away what was on the screen; it cannot be booked."""
    good = "heads=34&money=310&day=2026-06-12&time=18%3A30"
    answer = client.post("/ask/spread", data={"heads": "-1", "last": good})
    assert answer.status_code == 422
    assert ">before<" in answer.text
    assert "Lamb breast" in words(answer.text)
    assert "Book spread" not in words(answer.text)


def test_an_empty_case_is_a_sentence_not_a_crash(client, shop, words):
    """With nothing free the ask says what to do."""
    shop.offers = lambda **_: []
    answer = client.get(ASK)
    assert answer.status_code == 422
    assert "The case has nothing free" in words(answer.text)


def test_a_plan_that_fails_its_check_is_never_shown(shop, words):
    """The checker's refusal is a sentence beside the form, not a broken spread."""

    def rejected(_problem):
        raise PlanRejected("the total is not the sum of the lines")

    with TestClient(create_app(shop, answer=rejected)) as client:
        answer = client.get(ASK)
    assert answer.status_code == 422
    assert "No spread passed the shop's own check" in words(answer.text)


def test_the_customer_side_shows_no_stock_cost_or_slow_mark(client, words):
    """Cuts, weights, total and a head; nothing that is the shop's own business."""
    answer = client.get(ASK.replace("/ask?", "/ask/customer?"))
    text = words(answer.text)
    assert "A head" in text
    assert "Lamb breast" in text
    assert 'class="slow"' not in answer.text
    for hidden in ("free", "on hand", "slow", "cost", "/lb", "Cheaper", "helps the animal"):
        assert hidden not in text


def test_units_change_what_is_shown_and_never_what_is_kept(client, words):
    """Kilograms on this device; the total stays to the cent."""
    pounds = words(client.get(ASK).text)
    changed = client.post("/device/units", data={"unit": "kg", "back": ASK})
    assert changed.status_code == 303
    assert changed.headers["location"] == ASK
    kilograms = words(client.get(ASK).text)
    assert "/kg" in kilograms
    assert "/lb" not in kilograms
    total = pounds.split("total ")[1].split()[0]
    assert Decimal(total) > 0
    assert f"total {total}" in kilograms


def test_going_back_never_leaves_the_shop(client):
    """The units form sends to own pages only."""
    for back in ("//elsewhere.example", "https://elsewhere.example", "/\\elsewhere.example"):
        answer = client.post("/device/units", data={"unit": "kg", "back": back})
        assert answer.headers["location"] == "/ask"
