"""One cut alone, and the taps that make an ask short: coals, days, and a table without a grill."""

from __future__ import annotations

import re
from datetime import datetime

import pytest
from starlette.testclient import TestClient

from collop.web import create_app

HTMX = {"HX-Request": "true"}


@pytest.fixture
def counter(shop):
    """Return a client of the pages with the real kernel behind them."""
    with TestClient(create_app(shop), follow_redirects=False) as made:
        yield made


def names(html):
    """Return the lines of the spread on a page."""
    return [name.split("<")[0].strip() for name in re.findall(r'class="line-name">([^<]*)', html)]


def test_the_spread_holds_the_one_cut_alone(counter, words):
    """Eight eat lamb shoulder and nothing else; the address keeps it, and it can be taken back."""
    form = {"heads": "8", "only": "C02", "day": "2026-06-10", "time": "18:30"}
    answer = counter.post("/ask/spread", data=form, headers=HTMX)
    address = answer.headers["HX-Replace-Url"]
    assert "only=C02" in address
    again = counter.get(address)
    assert names(again.text) == names(answer.text) == ["Lamb shoulder, bone in"]
    assert "only Lamb shoulder, bone in: take back" in words(again.text)
    back = counter.post("/ask/spread", data=form | {"do": "unonly"}, headers=HTMX)
    assert "only=" not in back.headers["HX-Replace-Url"]
    assert names(back.text) != ["Lamb shoulder, bone in"]


def test_sixty_get_a_no_with_the_nearest_yes_and_its_button_takes_the_wish_away(counter, words):
    """Fillet for sixty: 26.25 lb needed, 2.50 lb free; with other cuts there is a spread."""
    form = {"heads": "60", "only": "C12", "day": "2026-06-10"}
    answer = counter.post("/ask/spread", data=form, headers=HTMX)
    text = words(answer.text)
    assert "not as asked" in text
    assert "26.25 lb boneless-equivalent; of what fits the ask 2.50 lb is free" in text
    assert "With other cuts beside it, carved alike, there is a spread." in text
    other = counter.post("/ask/spread", data=form | {"do": "yes:1"}, headers=HTMX)
    assert "only=" not in other.headers["HX-Replace-Url"]
    assert len(names(other.text)) > 1


@pytest.mark.parametrize(
    ("more", "said"),
    [
        ({"only": "C99"}, "Only this cut: none of it is free; choose a cut of the list."),
        ({"only": "C02", "leave": "C02"}, "Only this cut: C02 is left out of this ask"),
    ],
)
def test_a_cut_that_cannot_be_the_only_one_is_refused_with_one_sentence(client, words, more, said):
    """A line nobody knows, and one that is left out as well."""
    answer = client.post("/ask/spread", data={"heads": "8", "day": "2026-06-10"} | more)
    assert answer.status_code == 422
    assert said in words(answer.text)
    assert '#f-only"' in answer.text


def test_a_swap_of_the_only_cut_makes_the_other_the_only_one(client):
    """What is left out cannot be the only cut."""
    form = {"heads": "8", "only": "C03", "day": "2026-06-10", "do": "swap:C03>C04"}
    address = client.post("/ask/spread", data=form, headers=HTMX).headers["HX-Replace-Url"]
    assert "only=C04" in address
    assert "leave=C03" in address


@pytest.mark.parametrize(
    ("do", "wanted"), [("coals:60", "coals=60"), ("day:2026-06-13", "day=2026-06-13")]
)
def test_coals_and_days_are_one_tap(client, do, wanted):
    """The button's value is in the address that the answer brings."""
    form = {"heads": "8", "day": "2026-06-10", "do": do}
    answer = client.post("/ask/spread", data=form, headers=HTMX)
    assert wanted in answer.headers["HX-Replace-Url"]


@pytest.mark.parametrize("do", ["coals:5", "coals:x", "day:x", "day:2026-06-01"])
def test_a_button_nobody_made_changes_nothing(counter, do):
    """Out of range, unreadable, or past: refused, and no spread."""
    answer = counter.post("/ask/spread", data={"heads": "8", "day": "2026-06-10", "do": do})
    assert answer.status_code == 422


def test_the_days_at_one_tap_are_today_tomorrow_and_saturday(client, clock, words):
    """Tuesday offers Saturday 13; on a Friday, tomorrow is the Saturday."""
    shown = r'value="day:([0-9-]+)"'
    assert re.findall(shown, client.get("/ask?heads=8").text) == [
        "2026-06-09", "2026-06-10", "2026-06-13"]  # fmt: skip
    clock.put(datetime(2026, 6, 12, 10))  # noqa: DTZ001 -- shop-local
    assert re.findall(shown, client.get("/ask?heads=8").text) == ["2026-06-12", "2026-06-13"]


def test_a_table_without_a_grill_gets_nothing_grilled(counter, words):
    """Only the oven and the pots: told, and no fire of any size is in the address."""
    answer = counter.post(
        "/ask/spread", headers=HTMX,
        data={"heads": "8", "fire": "none", "fire_was": "half-drum", "area": "1200",
              "pots": "2", "day": "2026-06-10"},
    )  # fmt: skip
    address = answer.headers["HX-Replace-Url"]
    assert "fire=none" in address
    assert "area=" not in address
    assert "No grill: only the oven and the pots." in words(answer.text)
    assert words(counter.get(address).text).count("No grill: only the oven and the pots.") == 1
