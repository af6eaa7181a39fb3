"""The board as customers see it: prices in both units, and nothing else of the shop."""

from __future__ import annotations

import re
from datetime import datetime, timedelta

from collop.measures import UnitPrice, WeightUnit
from collop.shop import NewPrice
from collop.web.board import by_species, in_force_from
from collop.web.rendering import STATIC


def test_every_line_stands_under_its_species_per_lb_and_per_kg(client, shop, words):
    """The whole board in its order, the shop's own unit first."""
    text = words(client.get("/board").text)
    at = 0
    for species, lines in by_species(shop.chalk.board()):
        at = text.index(f" {species} ", at)
        for line in lines:
            out = " sold out today" if line.is_out else ""
            at = text.index(f" {line.name}{out} {line.per_lb} {line.per_kg} ", at)
    assert "Tuesday 9 June, prices from Mon 8 Jun, 18:00" in text
    assert " Cut a lb a kg " in text


def test_a_pound_and_a_kilogram_cost_what_the_definition_says(client, words):
    """International avoirdupois pound (seen): 11.20 / 0.45359237 = 24.6918, shown as 24.69."""
    assert round(11.20 / 0.45359237, 2) == 24.69
    assert "Lamb leg, bone in 11.20 24.69" in words(client.get("/board").text)


def test_what_is_out_is_said_in_words(client, shop, words):
    """Nothing free: the line stays, marked by words; what is free is not marked."""
    page = client.get("/board").text
    free = {line.id: bool(line.free) for line in shop.case()}
    assert page.count("sold out today") == sum(not is_free for is_free in free.values())
    assert "Beef brisket sold out today 9.60" in words(page)


def test_nothing_of_cost_stock_or_staff_is_on_it(client, shop, words):
    """No cost, no weight, no name, no reason, no way to the staff's pages."""
    shop.chalk.put(
        [NewPrice("C11", UnitPrice.of("8.60", WeightUnit.LB))], by="ines", why="beef is dearer",
        key="k",
    )  # fmt: skip
    page = client.get("/board").text
    text = words(page[page.index("<main") :])
    for hidden in ("dearer", "Ines", "cost", "free", "on hand", "margin", " lb ", "C11"):
        assert hidden not in text.replace(" a lb ", " ")
    assert 'href="/chalk' not in page
    assert "<nav" not in page
    assert "Beef mince, 20 % fat 8.60 18.96" in text


def test_a_new_price_is_dated_and_one_for_later_is_not_shown(client, shop, clock, words):
    """Since 08:00 once a price changed then; a planned one comes at its time."""
    mince = [NewPrice("C11", UnitPrice.of("8.60", WeightUnit.LB))]
    shop.chalk.put(mince, by="ines", why="", key="k", from_at=shop.now() + timedelta(hours=2))
    assert "Beef mince, 20 % fat 7.80" in words(client.get("/board").text)
    clock.put(datetime.fromisoformat("2026-06-09T10:00"))
    text = words(client.get("/board").text)
    assert "Beef mince, 20 % fat 8.60" in text
    assert "Tuesday 9 June, prices from 10:00" in text


def test_an_empty_board_says_so(client, shop, words, monkeypatch):
    """One sentence under the shop's name."""
    monkeypatch.setattr(shop.chalk, "board", lambda: ())
    text = words(client.get("/board").text)
    assert "No price is on the board yet." in text
    assert in_force_from((), shop.now()) == ""


def test_the_printer_opens_only_where_it_is_asked_for(client, words):
    """The mark that the script looks for; name, place and date are in the head for paper."""
    assert "data-print" not in client.get("/board").text
    page = client.get("/board?print=1").text
    assert "data-print" in page
    head = words(page[page.index("<header") : page.index("</header>")])
    assert "Weir Lane, Oddwater Lock. Tuesday 9 June 2026, prices from Mon 8 Jun" in head
    assert "Tollebank Meats" in head


def test_the_last_board_stays_with_its_time(client):
    """Hidden on a page just made; the offline script opens it, and never drops the board's copy."""
    page = client.get("/board").text
    assert re.search(r'<p class="as-of" role="status" data-as-of hidden>Prices as of 08:00', page)
    script = client.get("/sw.js").text
    assert 'const BOARD = "/board";' in script
    assert "path !== BOARD" in script


def test_names_and_prices_are_large():
    """At least 28 px on a tablet: 1.75 rem of 16 px."""
    css = (STATIC / "chalk.css").read_text(encoding="utf-8")
    smallest = re.search(r"\.board \{ font-size: clamp\(([0-9.]+)rem", css).group(1)
    assert float(smallest) * 16 >= 28
    assert len(css.encode()) <= 14_000
    assert not re.findall(r"#[0-9a-f]{6}\b", css)
    assert "url(" not in css
