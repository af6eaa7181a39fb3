"""The demo week is what its tables say, as computed by the product."""

from __future__ import annotations

import csv
from collections import Counter
from datetime import date
from decimal import Decimal
from fractions import Fraction
from importlib import resources

import pytest
from wished import case_line, free_lb, lb

from collop.errors import StorageTrouble
from collop.measures import Money, WeightUnit
from collop.shop import DEMO_START, State, create_shop, demo_case_friday, offers_of, open_shop


def rows(name):
    text = (resources.files("collop.shop") / "demo" / name).read_text(encoding="utf-8")
    return list(csv.DictReader(text.splitlines()))


def week(shop):
    return shop.bookings(date(2026, 6, 9), date(2026, 6, 13))


def test_every_case_line_shows_the_table_s_three_weights_and_price(shop):
    """On hand, booked, free, price and days left are those of the Tuesday table."""
    lines = {line.id: line for line in shop.case()}
    assert len(lines) == 34
    for row in rows("scenario_case.csv"):
        line = lines[row["id"]]
        assert line.on_hand == lb(row["on_hand_lb"])
        assert line.booked == lb(row["reserved_lb"])
        assert line.free == lb(row["free_lb"])
        assert line.price.amount == Decimal(row["price_per_lb"])
        assert line.days_left == int(row["days_left"])


def test_what_is_booked_equals_the_sum_of_order_lines(shop):
    """Each case line's booked weight is what the bookings of the week hold of it."""
    held = Counter()
    for booking in week(shop):
        for line in booking.lines:
            held[line.case_id] += line.held.count
    assert {line.id: line.booked.count for line in shop.case() if line.booked} == dict(held)


def test_whole_case_weighs_and_is_worth_what_the_week_says(shop):
    """507.4 lb on hand, 135.9 lb booked; 4,207.13 at the board, 2,973.50 of it free."""
    case = shop.case()
    assert sum(line.on_hand.count for line in case) == lb("507.4").count
    assert sum(line.booked.count for line in case) == lb("135.9").count
    value = shop.board_value()
    assert (str(value.on_hand), str(value.free)) == ("4207.13", "2973.50")


def test_piece_goods_hold_whole_pieces(shop):
    """Fifteen birds with five booked, twelve blocks of cheese with three booked, frozen whole."""
    free = {line.id: line.piece_lb for line in shop.case() if line.piece_lb is not None}
    counts = {name: (len(found), found[0]) for name, found in free.items()}
    assert counts == {
        "C23": (10, lb("4.1")),
        "C28": (4, lb("7.0")),
        "C29": (10, lb("5.2")),
        "C30": (2, lb("9.0")),
        "C33": (9, lb("0.5")),
    }
    assert len(shop.booking("H1").lines[1].pieces) == 3


def test_orders_of_the_week_stand_on_the_hook(shop):
    """Nine orders at their hours, with totals, deposits and states as told."""
    found = {booking.id: booking for booking in week(shop)}
    assert list(found) == ["H4", "H10", "H7", "H3", "H8", "H2", "H9", "H6", "H1"]
    assert found["H1"].total == Money.of("387.89")
    assert (found["H1"].deposit, found["H8"].deposit) == (Money.of("100"), Money.of("20"))
    assert found["H10"].state is State.ASKED
    assert found["H3"].lines == ()
    days = {"Tue": 9, "Wed": 10, "Thu": 11, "Fri": 12, "Sat": 13}
    for row in rows("scenario_orders.csv"):
        day, hour = row["collect"].split()[0], row["collect"].split()[-1]
        when = found[row["order"]].collect_at
        assert (when.day, f"{when:%H:%M}") == (days[day], hour)


def test_rail_has_lost_twenty_six_pounds_to_air(monday):
    """On Monday 1,023.0 lb were hung, 996.2 lb hang, and every piece shows its shrink."""
    rail = monday.rail()
    assert len(rail) == 9
    assert sum(piece.weight_in.count for piece in rail) == lb("1023.0").count
    assert sum(piece.weight_now.count for piece in rail) == lb("996.2").count
    shrink = {row["tag"]: Decimal(row["shrink_pct"]) for row in rows("scenario_rail.csv")}
    assert {piece.tag: piece.shrink_pct for piece in rail} == shrink


def test_what_the_air_took_shows_as_money(monday):
    """Each lost pound cost its share of the invoice and haulage; the prices are invented."""
    rail = {piece.tag: piece for piece in monday.rail()}
    # B-41: 326.5 lb invoiced at 4.15 and 38.00 haulage, for 326.0 lb on the scale
    paid = Fraction("326.5") * Fraction("4.15") + 38
    want = round(paid / 326 * Fraction("7.3") * 100)
    assert rail["B-41F"].lost_money == Money(want)
    assert sum(piece.lost_money.minor for piece in rail.values()) == 12358
    assert sum(piece.lost.count for piece in rail.values()) == lb("26.8").count


def test_a_saleable_pound_costs_more_each_day_it_hangs(monday):
    """Draw price is what was paid over the saleable weight expected today."""
    piece = next(one for one in monday.rail() if one.tag == "B-41F")
    assert piece.saleable_share == Fraction("0.754")
    paid = (Fraction("326.5") * Fraction("4.15") + 38) * 174 / 326
    want = paid / (Fraction("166.7") * Fraction("0.754"))
    assert abs(Fraction(piece.draw_price.amount) - want) < Fraction(1, 20_000)
    monday.cutting.hang("B-41F", lb("165.7"), by="ines", key="w")
    later = next(one for one in monday.rail() if one.tag == "B-41F")
    assert later.draw_price.amount > piece.draw_price.amount
    assert later.lost == lb("8.3")


def test_tuesday_stands_on_monday_s_break(shop):
    """The forequarter is cut: parts, bone, fat, trim and loss are 166.7 lb, to the last count."""
    assert {piece.tag for piece in shop.rail()}.isdisjoint({"B-41F"})
    (cut,) = [shop.cutting.break_(1)]
    assert (cut.tag, cut.is_open, cut.start) == ("B-41F", False, lb("166.7"))
    assert cut.weighed + cut.loss == cut.start
    assert cut.loss == lb("1.8")
    assert case_line(shop, "C09").lot == "B-41F.03"


def test_four_people_work_here(shop):
    """Dot, Ines, Kofi and Marek, by name."""
    assert [person.name for person in shop.people()] == ["Dot", "Ines", "Kofi", "Marek"]


def test_demo_clock_starts_on_tuesday_at_eight_and_runs(url):
    """Without a clock of its own a demo shop stands in its demo week and time does not go back."""
    with open_shop(url) as shop:
        first = shop.now()
        assert first >= DEMO_START
        assert first.date() == date(2026, 6, 9)
        assert shop.now() >= first


def test_friday_has_more_than_half_of_the_case_booked():
    """175.5 lb on hand, 96.4 lb booked, and neither lamb leg nor pork links are offered."""
    lines = demo_case_friday()
    assert sum(line.on_hand.count for line in lines) == lb("175.5").count
    assert sum(line.booked.count for line in lines) == lb("96.4").count
    offers = offers_of(lines)
    assert len(offers) == 16
    assert {"C01", "C19"}.isdisjoint(offer["id"] for offer in offers)
    # 59.92 lb is the free meat; cheese and mushrooms come on top
    meat = [line for line in lines if line.species != "none"]
    boneless = sum(line.free.exact(WeightUnit.LB) * line.boneless_fraction.as_integer_ratio()[0]
                   / line.boneless_fraction.as_integer_ratio()[1] for line in meat)  # fmt: skip
    assert round(float(boneless), 2) == 59.92


def test_a_shop_that_is_there_is_not_made_anew(url, shop_file):
    """Making a shop over another is refused and leaves the file as it was."""
    before = shop_file.read_bytes()
    with pytest.raises(StorageTrouble, match="exists already"):
        create_shop(url, demo=True)
    assert shop_file.read_bytes() == before


def test_making_a_shop_leaves_nothing_else_beside_it(tmp_path):
    """Only the finished file remains; a half-made one has another name and is removed."""
    with create_shop(f"sqlite:///{tmp_path / 'new.db'}", demo=True) as shop:
        assert free_lb(shop, "C01") == "8.00"
        assert case_line(shop, "C01").lot == "C01-0609"
    assert [path.name for path in tmp_path.iterdir()] == ["new.db"]
