"""The twelve conversations of the demo week, done in the browser by touch alone, and counted.

Who does them knows no more than the README tells. Bounds are those of the conversations' table.
"""

from __future__ import annotations

import csv
import json
import sqlite3
from contextlib import closing
from datetime import datetime
from decimal import Decimal
from fractions import Fraction
from pathlib import Path

import pytest
from tapping import Hand

from collop.measures import UnitPrice, Weight, WeightUnit
from collop.shop import NewBooking, NewLine, demo_case_friday, offers_of

TALKS = Path(__file__).parents[1] / "talks/scenario_talks.csv"
TOLD = Path(__file__).parents[2] / "docs/taps.md"
LB, KG = WeightUnit.LB, WeightUnit.KG


def bounds(talk):
    """Return the computed bounds of a conversation."""
    with TALKS.open(encoding="utf-8", newline="") as file:
        return next(json.loads(row["bounds_json"]) for row in csv.DictReader(file)
                    if row["talk"] == str(talk))  # fmt: skip


def at(day, hour, minute=0):
    """Return a shop-local time of the demo's June."""
    return datetime(2026, 6, day, hour, minute)  # noqa: DTZ001 -- shop-local


def told(talk):
    """Return the two counts that the page of the documents tells of a conversation."""
    row = next(line for line in TOLD.read_text(encoding="utf-8").splitlines()
               if line.startswith(f"| {talk} |"))  # fmt: skip
    cells = [cell.strip() for cell in row.strip("|").split("|")]
    return int(cells[2]), int(cells[3])


@pytest.fixture
def hand(counter, open_page):
    """Return a hand at a tablet that lies on the counter."""
    return Hand(open_page(width=1180, height=820, has_touch=True), counter.base)


def boneless(shop, lines, leaving_out=()):
    """Return the boneless pounds of lines."""
    part = {line.id: Fraction(line.boneless_fraction) for line in shop.case()}
    there = [one for one in lines if one.case_id not in leaving_out]
    return float(sum(one.weight.exact(LB) * part[one.case_id] for one in there))


def total(booking):
    return Decimal(str(booking.total))


def test_1_forty_of_whom_seven_eat_no_pork(counter, hand):
    """A drum on Saturday: within the money, enough without pork, and marked who may not."""
    want = bounds(1)
    hand.begin()
    hand.write("How many?", "40")
    hand.write("How many do not eat it, row 1", "7")
    hand.chip("big drum")
    hand.chip("Sat 13")
    hand.write("Money to spend", "420")
    hand.answered()
    assert "day=2026-06-13" in hand.page.url
    assert "not for: no pork" in hand.words() or not hand.page.locator(".line .warn").count()
    booking = counter.shop.booking(hand.book("Forty"))
    assert booking.heads == 40
    assert booking.ask["dont_eats"] == ["7 no pork"]
    assert Decimal(str(want["min_cost_cap35"])) * Decimal("0.8") <= total(booking) <= 420
    other = boneless(counter.shop, booking.lines, want["excluded_ids_for_nopork"])
    assert other >= want["min_nonpork_lb"] * 2 / 3
    whole = boneless(counter.shop, booking.lines)
    # sliced to share is planned with 6 oz, a plate with the 7 oz of the bound
    assert want["need_lb"] * 6 / 7 <= whole <= want["need_lb"] * 1.25
    assert hand.done() == told(1)


def test_2_a_tiny_grill(counter, hand):
    """Twelve on a kettle for an hour, no oven: every load fits, no whole bird."""
    want = bounds(2)
    hand.begin()
    hand.write("How many?", "12")
    hand.chip("balcony kettle")
    hand.button("1 h")
    hand.chip("no", "[aria-label=Oven]")
    hand.write("Money to spend", "140")
    hand.write("Eat at", "19:00")
    hand.answered()
    booking = counter.shop.booking(hand.book("Balcony"))
    assert booking.ask["use_at"] == "2026-06-09T19:00"
    assert "coals=60" in booking.ask["query"]
    spread = counter.shop.quote_by_id(hand.quote).plan
    assert max(load["area_sq_in"] for load in spread["loads"]) <= want["max_load_sq_in"] + 0.1
    assert not {line.case_id for line in booking.lines} & set(want["no_ids"])
    assert boneless(counter.shop, booking.lines) >= want["need_lb"] * 6 / 7
    assert total(booking) <= 140
    assert hand.done() == told(2)


def test_3_too_little_money(counter, hand):
    """A plain no with the sum that would do; the stew that the money buys is booked."""
    want = bounds(3)
    hand.begin()
    hand.write("How many?", "26")
    hand.write("Money to spend", "55")
    hand.chip("no grill")
    hand.more("pots:")
    hand.write("Pots", "2")
    hand.answered()
    said = hand.words()
    assert "NO not as asked" in said
    assert f"{want['max_oz_per_head_at_budget']:.1f} oz a head" in said
    assert "cheap" not in said.lower()
    hand.button("Make it a stew")
    booking = counter.shop.booking(hand.book("Birthday"))
    assert Decimal(str(want["min_cost_4oz"])) <= total(booking) <= 55
    assert boneless(counter.shop, booking.lines) >= 26 * 4 / 16 * 0.99
    assert hand.done() == told(3)


def test_4_two_vegetarians(counter, hand):
    """Meat for sixteen, food of their own for the two, milk declared."""
    want = bounds(4)
    hand.begin()
    hand.write("How many?", "18")
    hand.write("Meat-free", "2")
    hand.write("Money to spend", "210")
    hand.chip("another size")
    hand.write("Area, sq in", "500")
    hand.answered()
    said = hand.words()
    booking = counter.shop.booking(hand.book("Eighteen"))
    ids = {line.case_id for line in booking.lines}
    assert ids & set(want["must_ids_any"])
    if "C33" in ids:
        assert "contains milk" in said
    meat = boneless(counter.shop, booking.lines, ("C33", "C34"))
    assert want["need_lb"] * 6 / 7 <= meat <= want["need_lb"] * 1.25
    assert Decimal(str(want["min_cost_cap40"])) * Decimal("0.8") <= total(booking) <= 210
    assert hand.done() == told(4)


def test_5_an_allergy_in_a_marinade(counter, hand):
    """Sesame takes its line off the rowing order, with weight, money and who took the call."""
    want = bounds(5)
    counter.clock.put(at(12, 9))
    hand.begin("/hook")
    hand.on(hand.page.locator(".slip a", has_text="Rowing-club").first)
    hand.button("Pick-up")
    hand.chip("Dot")
    hand.more("An allergy was told")
    hand.pick("Allergen", "sesame")
    hand.write("Told by", "the coach, by phone", then=None)
    hand.button("Stop the lines that hold it")
    hand.to_answer = 6
    said = hand.words()
    assert f"{want['removed_lb']:.2f} lb off, {want['removed_money']:.2f}" in said
    assert "free from" not in said.lower()
    booking = counter.shop.booking("H2")
    assert {line.case_id for line in booking.lines if line.off} == set(want["removed_ids"])
    kept = [line for line in booking.lines if not line.off]
    assert boneless(counter.shop, kept) == pytest.approx(want["left_lb"], abs=0.01)
    assert "the coach" in booking.events[-1].why
    assert hand.done() == told(5)


def test_6_only_fillet_for_sixty(counter, hand):
    """No, with weight, sides, money and tastes; the nearest yes beside it."""
    want = bounds(6)
    hand.begin()
    hand.write("How many?", "60")
    hand.more("Wanted in it")
    hand.pick("Only this cut", "C12")
    hand.answered()
    said = hand.words()
    assert "NO not as asked" in said
    for words in (
        f"{want['need_lb']} lb", f"{want['free_lb']:.2f} lb is free",
        f"{want['cost_at_board']:.2f} at the board",
        f"from {want['sides_needed_at_4_2_lb']} sides",
        f"reaches {want['tastes_2oz_now']} now", "The nearest yes",
    ):  # fmt: skip
        assert words in said
    assert hand.done() == told(6)


def test_7_a_metric_customer(counter, hand):
    """2.2 kg of shoulder: price a kilogram, 40.74 in all, 63 degrees Celsius; booked by weight."""
    want = bounds(7)
    hand.begin("/hook")
    hand.on(hand.page.locator(".units label", has_text="kg"))
    hand.button("Free by")
    hand.pick("Cut", "C02")
    hand.write("How much", "2.2")
    hand.answered()
    said = hand.words()
    assert f"{want['per_kg']} /kg: {want['total']}" in said
    assert "cook to 63 °C (145 °F), rest 3 min" in said
    hand.button("Book it for")
    booking = counter.shop.booking(hand.say_who("Metric", "Book"))
    (line,) = booking.lines
    assert line.weight == Weight.of("2.2", KG)
    assert f"{line.weight.decimal(LB, 2)}" == str(want["lb"])
    assert str(booking.total) == str(want["total"])
    grams = boneless(counter.shop, booking.lines) * 453.59237 / 8
    assert round(grams) == want["g_boneless_per_head"]
    assert hand.done() == told(7)


def test_8_nothing_thaws_until_tomorrow(counter, hand):
    """Wednesday at four: no, with hours and the nearest day; then what is fresh for Thursday."""
    want = bounds(8)
    counter.clock.put(at(10, 16))
    hand.begin("/hook")
    hand.button("Free by")
    hand.pick("Cut", "C29")
    hand.write("How much", "3")
    hand.answered()
    said = hand.words()
    assert "Friday yes; Thursday no, none of Ducks" in said
    assert f"{want['fridge_thaw_h_min']:.2f} to" in said
    assert f"in {want['cold_water_h']:.2f} h and is then cooked at once" in said
    assert "never on the counter" in said
    hand.button("Ask what is fresh on Thursday")
    hand.write("How many?", "16")
    hand.write("Eat at", "13:00")
    assert "day=2026-06-11&time=13%3A00" in hand.page.url
    lines = hand.page.locator(".line-name").all_inner_texts()
    assert lines
    assert not any("frozen" in line for line in lines)
    assert hand.done() == told(8)


def test_9_a_price_that_moved(counter, hand):
    """What was quoted keeps its price; what is added has the new one, with its reason: 153.00."""
    want = bounds(9)
    shop = counter.shop
    counter.clock.put(at(10, 9, 40))
    lines = [
        NewLine("C11", Weight.of("9.0", LB), unit_price=UnitPrice.of("7.80", LB)),
        NewLine("C13", Weight.of("4.0", LB), unit_price=UnitPrice.of("16.40", LB)),
    ]
    quote = shop.quote(lines, ask={}, key="quote", by="dot")
    counter.clock.put(at(10, 10))
    shop.board_price("C11", UnitPrice.of("8.60", LB), by="ines", why="farm price", key="up")
    counter.clock.put(at(10, 10, 5))
    new = NewBooking(name="Lunch of sixteen", collect_at=at(10, 12), by="dot")
    booked = shop.book(new, quote_id=quote.id, key="yes")
    assert str(booked.total) == f"{want['quote_total']:.2f}"
    counter.clock.put(at(10, 10, 20))
    hand.begin("/hook")
    hand.on(hand.page.locator(".slip a", has_text="Lunch of sixteen").first)
    hand.button("Add to it")
    hand.pick("Cut", "C11")
    hand.write("How much", "2")
    hand.answered()
    said = hand.words()
    assert f"{want['held_total_with_added_at_new']:.2f}" in said
    assert "8.60" in said
    assert hand.page.locator(".why-price").count() == 1
    hand.chip("Dot")
    hand.button("Add for 17.20")
    grown = shop.booking(booked.id)
    prices = [(line.case_id, str(line.unit_price.amount)) for line in grown.lines]
    assert prices == [("C11", "7.80"), ("C13", "16.40"), ("C11", "8.60")]
    assert str(grown.total) == f"{want['held_total_with_added_at_new']:.2f}"
    assert hand.done() == told(9)


def test_10_half_the_case_is_booked(counter, hand, tmp_path):
    """Friday at three for tonight: what is booked never shows; only what is free is sold.

    What is free is that of Friday's table. The lots behind it are Tuesday's, kept until Saturday.
    """
    want = bounds(10)
    with closing(sqlite3.connect(tmp_path / "shop.db")) as there:
        there.execute("UPDATE lots SET use_by = '2026-06-13' WHERE use_by < '2026-06-13'")
        there.commit()
    counter.clock.put(at(12, 15))
    friday = demo_case_friday()
    counter.shop.offers = lambda *_args, **_named: offers_of(friday)
    hand.begin()
    hand.write("How many?", "22")
    hand.write("Money to spend", "200")
    hand.chip("today")
    hand.answered()
    assert "day=2026-06-12" in hand.page.url
    names = {line.name: line for line in friday}
    shown = [line.inner_text().split("(slow")[0].strip()
             for line in hand.page.locator(".line-name").all()]  # fmt: skip
    assert shown
    assert set(shown) <= set(names)
    assert not {names[name].id for name in shown} & set(want["never_ids"])
    money = Decimal(hand.page.locator(".sum b").first.inner_text())
    assert Decimal(str(want["min_cost_cap40"])) * Decimal("0.8") <= money <= 200
    booking = counter.shop.booking(hand.book("Tonight"))
    assert total(booking) == money
    assert booking.collect_at.date() == at(12, 15).date()
    free = {line.id: line.free for line in friday}
    assert all(line.weight <= free[line.case_id] for line in booking.lines)
    assert hand.done() == told(10)


def test_11_the_wedding_is_off(counter, hand):
    """All it held is free at once; the boned legs are a line of their own, with their floor."""
    want, shop = bounds(11), counter.shop
    counter.clock.put(at(11, 16))
    leg = next(line for line in shop.booking("H1").lines if line.case_id == "C01")
    work = shop.pickup.work(leg.id, Weight.of("13.0", LB), Weight.of("9.36", LB),
                            into="Lamb leg, boned and tied", words="boned and tied", by="marek",
                            key="work")  # fmt: skip
    before = {line.id: line for line in shop.case()}
    counter.clock.put(at(11, 17))
    hand.begin("/hook")
    hand.on(hand.page.locator(".slip a", has_text="Wedding").first)
    hand.chip("Ines")
    hand.button("Release ")
    hand.answered()
    hand.button("Re-home")
    said = hand.words()
    assert f"{want['meat_value']:.2f}" in said
    after = {line.id: line for line in shop.case()}
    for case_id, pounds in (dict(want["released"]) | {"C01": 13.0}).items():
        risen = after[case_id].free.count - before[case_id].free.count
        assert risen == Weight.of(str(pounds), LB).count, case_id
    item = after[work.into_case]
    assert item.free == Weight.of("9.36", LB)
    assert str(item.price.amount) == f"{want['boned_floor_per_lb']:.2f}"
    assert hand.done() == told(11)


def test_12_short_at_pick_up(counter, hand):
    """4.15 of 5.0 lb: told with its share, the plate and three ways; taken as it is."""
    want = bounds(12)
    counter.clock.put(at(11, 17, 20))
    hand.begin("/hook")
    hand.on(hand.page.locator(".slip a", has_text="short ribs").first)
    hand.button("Pick-up")
    hand.chip("Marek")
    hand.more("If it is short")
    hand.write("Weighed, lb", "4.15", then=None)
    hand.chip("cut gave less")
    hand.to_answer = hand.taps
    hand.button("Weigh Beef short ribs")
    said = hand.words()
    assert f"{want['short_pct']:g} %" in said
    assert f"{want['oz_each_now']:.1f} oz" in said
    assert "still a full plate" in said
    assert str(want["line_exact"]) in said
    hand.chip("take")
    hand.write("Agreed with the customer", "taken as it is", then=None)
    hand.button("Keep what was agreed")
    (line,) = counter.shop.booking("H8").lines
    assert line.ready == Weight.of("4.15", LB)
    assert "36.94" in hand.words()
    assert hand.done() == told(12)
