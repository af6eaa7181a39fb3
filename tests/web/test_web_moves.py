"""The moves worth most on the case page: when they show, and the price a button puts up."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import datetime
from decimal import Decimal

import pytest

#: Mince in its last day, on the morning of the demo's Wednesday.
LAST_DAY = datetime.fromisoformat("2026-06-10T08:00")
AFTERNOON = datetime.fromisoformat("2026-06-09T16:00")


@pytest.fixture
def marked(client, shop, clock):
    """Return the move that marks a line down, and its form as the page sends it."""
    clock.put(LAST_DAY)
    move = next(one for one in shop.chalk.moves() if one.price is not None)
    form = {"line": move.case_id, f"price-{move.case_id}": f"{move.price.amount:.2f}",
            "by": "ines", "key": "k"}  # fmt: skip
    return move, form


def price_of(shop, case_id):
    """Return the amount in force."""
    return next(line.price.amount for line in shop.case() if line.id == case_id)


def by_hand(monkeypatch, shop, way):
    """Let the best move of the afternoon be one without a price, and return it."""
    found = replace(shop.chalk.moves(AFTERNOON)[0], way=way, price=None)
    monkeypatch.setattr(shop.chalk, "moves", lambda: (found,))
    return found


def test_before_the_hour_there_is_one_quiet_line(client, words):
    """At 08:00 only the hour and a way to look now."""
    answer = client.get("/case")
    assert "At 16:00: the three moves worth most. Look now" in words(answer.text)
    assert "Mark down" not in answer.text
    assert 'href="/case?moves=1"' in answer.text


def test_from_the_hour_on_they_show_by_themselves(client, shop, clock, words):
    """Best first, with what they are worth; at most three."""
    clock.put(AFTERNOON)
    text = words(client.get("/case").text)
    at = text.index("Three moves worth most")
    moves = shop.chalk.moves()
    assert 0 < len(moves) <= 3
    for move in moves:
        at = text.index(move.say, at)
        at = text.index(f"+{move.gain.decimal():,.2f}", at)


def test_looked_at_early_they_show_too(client, shop, words):
    """One touch on the quiet line."""
    text = words(client.get("/case?moves=1").text)
    assert all(move.say in text for move in shop.chalk.moves())


@pytest.mark.parametrize(
    ("way", "says"), [("freeze", "Freeze it"), ("convert", "Send it to the trim bin")]
)
def test_another_use_leads_to_its_act_filled_in(
    client, shop, words, read_page, monkeypatch, way, says
):
    """A count would book what is frozen or ground as lost, so none is offered beside it."""
    found = by_hand(monkeypatch, shop, way)
    page = client.get("/case?moves=1").text
    assert says in words(page)
    start = f"/lockup/line/{found.case_id}?do={way}&weight="
    (address,) = [one for one in read_page(page).links if one.startswith(start)]
    there = client.get(address).text
    assert f'value="{found.weight.decimal(found.weight.unit, 2)} lb"' in there
    assert "Count it after" not in page
    assert "/put-away?line=" not in page
    assert "Mark down to" not in page


def test_what_is_to_be_thrown_away_is_counted(client, shop, read_page, monkeypatch):
    """That weight is lost, and the line is chosen on the page the button leads to."""
    found = by_hand(monkeypatch, shop, "bin")
    address = f"/put-away?line={found.case_id}#put-count"
    assert address in read_page(client.get("/case?moves=1").text).links
    assert f'<option value="{found.case_id}" selected>' in client.get(address).text


def test_nothing_worth_doing_is_said(client, shop, words, monkeypatch):
    """An empty list is one sentence."""
    monkeypatch.setattr(shop.chalk, "moves", lambda: ())
    assert "No move is worth making" in words(client.get("/case?moves=1").text)


def test_a_mark_down_goes_on_the_board_with_its_reason(client, shop, marked, words):
    """The price on the button is in force at once; who and why are kept; twice is once."""
    move, form = marked
    page = client.get("/case?moves=1").text
    assert f'name="price-{move.case_id}" value="{form[f"price-{move.case_id}"]}"' in page
    assert f"Mark down to {form[f'price-{move.case_id}']}" in words(page)
    for _ in range(2):
        answer = client.post("/case/mark-down", data=form)
        assert (answer.status_code, answer.headers["location"]) == (
            303, f"/case?moves=1&done={move.case_id}",
        )  # fmt: skip
    assert price_of(shop, move.case_id) == Decimal(form[f"price-{move.case_id}"])
    history = shop.chalk.history(move.case_id)
    assert (len(history), history[-1].by, history[-1].why) == (2, "ines", "mark-down, last day")
    text = words(client.get(answer.headers["location"]).text)
    assert f"{move.name} is {move.price.amount} /lb on the board now." in text


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ({"by": ""}, "Who: choose who does this."),
        ({"by": "nobody"}, "is not known here"),
        ({"line": "C99"}, "that line is not in the case"),
        ({"line": ""}, "Mark down:"),
        ({"price": "x"}, "Mark down: write an amount"),
        ({"price": "0"}, "Mark down: enter more than 0"),
        ({"price": "4.505"}, "Mark down: write at most 2 decimals"),
    ],
)
def test_a_mark_down_that_cannot_be_changes_nothing(client, shop, marked, words, change, says):
    """422 beside the field; the board stays; the summary leads to what is there."""
    move, form = marked
    if "price" in change:
        change = {f"price-{move.case_id}": change["price"]}
    before = price_of(shop, move.case_id)
    answer = client.post("/case/mark-down", data={**form, **change})
    assert answer.status_code == 422
    assert says in words(answer.text)
    assert price_of(shop, move.case_id) == before
    for target in re.findall(r'<li><a href="#([^"]*)">', answer.text):
        assert f'id="{target}"' in answer.text


def test_the_panel_is_the_staff_s(client, clock, words):
    """Neither the board nor a customer's spread shows it."""
    clock.put(AFTERNOON)
    for address in ("/board", "/ask/customer?heads=34"):
        assert "moves worth most" not in words(client.get(address).text)
