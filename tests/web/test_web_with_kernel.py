"""The page over the real kernel: asks of the counter, each answered or refused in words."""

from __future__ import annotations

import re
from decimal import Decimal

import pytest
from starlette.testclient import TestClient

from collop.web import create_app

FRIDAY = "day=2026-06-12&time=18:30"


@pytest.fixture
def client(shop):
    with TestClient(create_app(shop), follow_redirects=False) as made:
        yield made


def total(text):
    """Return the total on a page."""
    return Decimal(text.split(" total ")[1].split()[0].replace(",", ""))


def test_forty_with_seven_who_eat_no_pork(client, words):
    """Within 420, and every line of pork says whom it is not for."""
    answer = client.get("/ask?heads=40&no_n=7&no_what=pork&fire=big-drum&money=420&day=2026-06-13")
    text = words(answer.text)
    assert total(text) <= 420
    assert "a head for 40" in text
    for line in answer.text.split('<li class="line">')[1:]:
        if "Pork" in line.split("</b>")[0]:
            assert "not for: no pork" in words(line)


def test_sesame_is_off_the_whole_table(client, words):
    """The marinade's sesame counts, although it is not in the name alone."""
    text = words(client.get(f"/ask?heads=34&contains=sesame&{FRIDAY}").text)
    shown = text.split("Taken for granted")[0].split("enough for all")[1]
    assert "soy-sesame" not in shown


def test_too_little_money_is_a_no_whose_every_way_out_works(client, words):
    """26 heads with 55: what it would take, and each button leads to a spread."""
    form = {"heads": "26", "money": "55", "day": "2026-06-12", "time": "18:30"}
    answer = client.post("/ask/spread", data=form)
    ways = re.findall(r'value="yes:(\d)"', answer.text)
    assert ways
    assert "What stands in the way: the money." in words(answer.text)
    for way in ways:
        taken = client.post("/ask/spread", data=form | {"do": f"yes:{way}"})
        assert taken.status_code == 200
        assert total(words(taken.text)) > 0


def test_two_who_eat_no_meat_get_food_of_their_own(client, words):
    """18 heads, two meat-free: a meat-free line is in the spread."""
    text = words(client.get("/ask?heads=18&meat_free=2&money=210&day=2026-06-12").text)
    assert "Grilling cheese" in text or "Flat mushrooms" in text


@pytest.mark.parametrize("do", ["cheaper", "finer", "lighter"])
def test_each_balance_moves_the_money_its_way_or_says_why_not(client, words, do):
    """Cheaper and lighter cost less, finer costs more and stays within the money."""
    form = {"heads": "34", "money": "310", "day": "2026-06-12", "time": "18:30"}
    before = total(words(client.post("/ask/spread", data=form).text))
    text = words(client.post("/ask/spread", data=form | {"do": do}).text)
    after = total(text)
    if do == "finer":
        assert before < after <= 310
    else:
        assert after < before


@pytest.mark.parametrize("query", ["heads=1", "heads=6&child=6", "heads=30-45&money=400",
                                   "heads=12&fire=kettle&coals=60&oven=no&money=140",
                                   "heads=20&style=stew", "heads=20&style=wraps",
                                   "heads=20&money=9&per=head"])  # fmt: skip
def test_odd_asks_are_answered(client, words, query):
    """One head, all children, two numbers, a tiny fire, one style only, money a head."""
    answer = client.get(f"/ask?{query}&{FRIDAY}")
    assert answer.status_code == 200
    assert " a head" in words(answer.text)


def test_lamb_pinned_at_a_table_that_eats_none_is_named_beside_the_pin(client, words):
    """Two wishes that cannot both hold, with the way out."""
    answer = client.get(f"/ask?heads=8&no_n=8&no_what=lamb&pin=C02&{FRIDAY}")
    assert answer.status_code == 422
    text = words(answer.text)
    assert text.count("is pinned but nobody at this table eats it") == 2
    assert "unpin C02" in text


def test_a_pinned_line_keeps_its_weight(client, words):
    """The rest is balanced around it."""
    text = words(client.get(f"/ask?heads=34&money=310&pin=C02@6.00&{FRIDAY}").text)
    assert "Lamb shoulder, bone in 6.00 lb" in re.sub(r" \(slow seller\)", "", text)


def test_a_no_says_what_is_missing_with_figures(client, words):
    """Too little money: what the table costs at least, and how far the money reaches."""
    text = words(client.get(f"/ask?heads=26&money=55&{FRIDAY}").text)
    assert "so 55.00 is" in text
    assert "oz a head, from the least dear cut alone" in text


def test_the_sentence_and_the_bar_name_the_same_money_left(client, words):
    """After a chosen balance the sentence counts the customer's own money, as the bar does."""
    text = words(client.get(f"/ask?heads=34&money=310&to=150&aim=showpiece&{FRIDAY}").text)
    said = re.search(r"a head for 34, ([0-9.]+) left\.", text)
    assert said
    assert float(said[1]) > 150
    bar = re.search(r"left ([0-9.]+) Book spread", text)
    assert bar is None or bar[1] == said[1]
    alone = words(client.get(f"/ask?heads=34&to=150&aim=showpiece&{FRIDAY}").text)
    assert "a head for 34." in alone


def test_finer_after_cheaper_moves_up(client, words):
    """A balance just over what was spent does not hold Finer where it is."""
    form = {"heads": "34", "money": "310", "day": "2026-06-12", "time": "18:30"}
    page = client.get("/ask", params=form).text
    points = sorted(float(one) for one in re.findall(r'value="to:([0-9.]+)"', page))
    assert len(points) >= 3
    low = form | {"to": f"{points[1]:.2f}", "aim": "showpiece"}
    before = total(words(client.post("/ask/spread", data=low).text))
    after = total(words(client.post("/ask/spread", data=low | {"do": "finer"}).text))
    assert before <= points[1] < after
