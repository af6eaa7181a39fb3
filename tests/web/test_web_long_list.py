"""Long List on the screen: the sheet, a day opened and shut, and the orders of the Farm Call."""

from __future__ import annotations

import re
from datetime import date
from fractions import Fraction

import pytest

from collop.web.long_list import animals

DAY = {"day": "2026-06-15", "why": "the feast", "by": "ines", "do": "open", "key": "k"}


def test_the_sheet_says_booked_hung_and_short_in_words(client, words):
    """With the cut that decides, what it would be without, deposits and days."""
    text = words(client.get("/long-list?weeks=2").text)
    assert "for Lamb leg, bone in" in text
    assert "L-207, L-208, L-209" in text
    assert "SHORT 1 for Beef brisket" in text
    assert "short 2 for Beef hanger and skirt only" in text
    assert "120.00" in text
    assert "Tue Wed Thu Fri Sat" in text


def test_a_cell_says_one_line_and_the_rest_lies_under_it(client, words):
    """What is short, else what is booked, hung or ordered; which cut and which tags in the fold."""
    html = client.get("/long-list?weeks=2").text
    lines = [words(one).strip() for one in re.findall(r"<summary>(.*?)</summary>", html, re.DOTALL)]
    cells = lines[: html.count('class="week-cell"')]
    assert {"booked 1.8", "SHORT 1"} <= set(cells)
    assert all(re.fullmatch(r"(SHORT|booked|hung|ordered|short) [0-9.]+", one) for one in cells)


def test_the_farm_call_is_what_to_do_next(client):
    """One main action; a day is opened and shut by ordinary buttons."""
    page = client.get("/long-list").text
    assert page.count("main-action") == 1
    assert '<a class="button main-action" href="/farm">Farm Call</a>' in page


def test_weeks_far_ahead_are_looked_at(client, words):
    """Earlier and later by links; far ahead only the standing orders are there."""
    answer = client.get("/long-list?week=2026-09-07&weeks=3")
    assert answer.status_code == 200
    assert "3 weeks from 7 September" in words(answer.text)
    assert client.get("/long-list?week=2036-09-07").status_code == 422
    assert client.get("/long-list?week=x&weeks=999").status_code == 422


def test_a_day_is_opened_then_shut_with_the_bookings_named(client, shop, words):
    """Saturday has two bookings; they are named to be called."""
    answer = client.post("/long-list/day", data=DAY)
    assert answer.headers["location"] == "/long-list?set=2026-06-15"
    assert "Monday 15 June is open for booking" in words(
        client.get(answer.headers["location"]).text
    )
    assert shop.settings().is_open(date(2026, 6, 15))
    shut = client.post("/long-list/day", data=DAY | {"day": "2026-06-13", "do": "close",
                                                     "key": "k2"})  # fmt: skip
    text = words(client.get(shut.headers["location"]).text)
    assert "2 bookings stay on that day" in text
    assert "H1 Wedding supper at the boathouse, 09:00, telephone ends 0172" in text


@pytest.mark.parametrize(
    ("change", "status", "said"),
    [
        ({"by": ""}, 422, "Who: choose"), ({"why": ""}, 422, "Why:"), ({"day": "x"}, 422, "Day"),
        ({"day": "2026-06-12"}, 409, "is open already"), ({"day": "2036-06-12"}, 422, "Day"),
    ],
)  # fmt: skip
def test_what_cannot_be_done_is_said(client, words, shop, change, status, said):
    """Beside its field, and nothing is changed."""
    answer = client.post("/long-list/day", data=DAY | change)
    assert answer.status_code == status
    assert said in words(answer.text)
    assert shop.setting_changes() == ()


def test_the_farm_call_writes_the_order_down_and_takes_it_back(client, shop, read_page, words):
    """One button for the whole call; it stands on the Farm Call, the Rail and the Long List."""
    form = read_page(client.get("/farm?lamb=3&beef-side=0&pig=0&goat=0").text).form("/farm-order")
    assert form["animals1"] == ["3"]
    assert form["farm1"] == ["Saltgrass Holding"]
    refused = client.post("/farm-order", data=form)
    assert refused.status_code == 422
    assert "Who: choose" in words(refused.text)
    assert read_page(refused.text).form("/farm-order")["animals1"] == ["3"]
    answer = client.post("/farm-order", data=form | {"by": "ines"})
    page = words(client.get(answer.headers["location"]).text)
    assert "Written down: 3 Lamb of Saltgrass Holding for Mon 15 Jun" in page
    for address in ("/farm", "/rail", "/long-list"):
        assert "3 Lamb" in words(client.get(address).text)
    (made,) = shop.season.expected()
    assert made.words
    back = client.post(f"/farm-order/{made.id}/back", data={"by": "ines", "key": "b"})
    assert back.status_code == 303
    assert shop.season.expected() == ()
    assert client.post("/farm-order/O99/back", data={"by": "ines"}).status_code == 404
    assert client.post("/farm-order/O1/back", data={}).status_code == 422


@pytest.mark.parametrize("address", ["/long-list", "/long-list?weeks=1", "/long-list?week=x",
                                     "/farm", "/rail"])  # fmt: skip
def test_every_field_is_named(client, read_page, shop, address):
    """No inline script or style, no field without a label."""
    page = read_page(client.get(address).text)
    assert page.inline == []
    assert page.unlabelled() == []


def test_animals_are_told_to_a_tenth():
    """Whole ones without a decimal; a trace is told as one."""
    told = [animals(one) for one in (Fraction(5, 2), Fraction(3), Fraction(1, 50), Fraction(0))]
    assert told == ["2.5", "3", "under 0.1", "0"]
