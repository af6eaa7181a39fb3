"""Paper keyed back: the prices of its hour, both times kept, each row once, a sheet whole."""

from __future__ import annotations

from datetime import datetime, time, timedelta

import pytest

from collop.errors import BadValue, CollopError
from collop.measures import Money, Temperature, UnitPrice, Weight, WeightUnit
from collop.shop import DEMO_START, NewPrice, Told
from collop.shop.board_guard import put_all_on_board
from collop.shop.late_model import LateBench, LateCold, LateHandOver, LateOrder, LateSale
from collop.shop.papers_model import sheet_day, sheet_id, sheet_of
from collop.shop.selling_model import NewSale

SALES, COLD, BENCH = "P-0609-S1", "P-0609-C1", "P-0609-B1"
NOON = DEMO_START.replace(hour=12)


def lb(text):
    return Weight.of(text, WeightUnit.LB)


def sale(row, hour, minute, cut, net, paid="cash", **more):
    return LateSale(row=row, at=time(hour, minute), lines=(NewSale(cut, lb(net)),), paid=paid,
                    **more)  # fmt: skip


def board(shop, case_id, price):
    put_all_on_board(shop._room, [NewPrice(case_id, UnitPrice.of(price, WeightUnit.LB))],
                     by="ines", why="farm price rose", key=f"{case_id} {price}")  # fmt: skip


def counts(shop):
    """Return how many bookings, late acts and payments there are."""
    from sqlalchemy import func, select

    from collop.shop.tables import bookings
    from collop.shop.week_tables import late_acts, payments

    with shop._room.store.read() as conn:
        return [conn.scalar(select(func.count()).select_from(one))
                for one in (bookings, late_acts, payments)]  # fmt: skip


def test_a_late_sale_has_the_price_of_its_hour_and_both_times(shop, clock):
    """Sold at 08:40 at 7.80; the board moved to 8.60 at 10:00; keyed at noon it is 7.80 still."""
    clock.put(DEMO_START.replace(hour=10))
    board(shop, "C11", "8.60")
    clock.put(NOON)
    done = shop.papers.key_back(
        SALES, [sale(1, 8, 40, "C11", "2.00"), sale(2, 10, 20, "C11", "1.00", "card")], by="dot"
    )
    assert [row.was_before for row in done.rows] == [False, False]
    first, second = (shop.slip(row.answer) for row in done.rows)
    assert (str(first.total), str(second.total)) == ("15.60", "8.60")
    assert first.at == NOON
    (late,) = shop.papers.late_of(done.rows[0].answer)
    assert (late.done_at, late.at) == (DEMO_START.replace(minute=40), NOON)
    assert late.sheet == "P-0609-S1 row 1"
    assert [one.answer for one in shop.papers.late(NOON.date(), NOON.date())] == [
        row.answer for row in done.rows
    ]


def test_forty_sales_are_one_request(shop, clock):
    """Two full sheets' worth of sales go in with one call each, and the ledger holds."""
    clock.put(NOON)
    cuts = ["C03", "C11", "C15", "C24"]
    rows = [sale(row, 8 + row // 20, row % 60, cuts[row % 4], "0.05") for row in range(1, 41)]
    before = counts(shop)
    assert len(shop.papers.key_back(SALES, rows, by="dot").rows) == 40
    assert counts(shop) == [before[0] + 40, before[1] + 40, before[2] + 40]


def test_the_same_row_keyed_twice_is_written_once(shop, clock):
    """Keyed again with two rows more, the first stays as it was; another content is refused."""
    clock.put(NOON)
    one = sale(1, 8, 40, "C11", "2.00")
    shop.papers.key_back(SALES, [one], by="dot")
    again = shop.papers.key_back("p0609s1", [one, sale(2, 9, 0, "C11", "0.50")], by="ines")
    assert [row.was_before for row in again.rows] == [True, False]
    assert again.say == "1 row of P-0609-S1 written, 1 there before."
    before = counts(shop)
    with pytest.raises(BadValue, match="Row 1 of P-0609-S1: it was keyed in before"):
        shop.papers.key_back(SALES, [sale(1, 8, 40, "C11", "3.00")], by="dot")
    assert counts(shop) == before


@pytest.mark.parametrize(
    ("wrong", "said", "where"),
    [
        (sale(3, 9, 0, "C99", "1.00"), "no case line", "row 3"),
        (sale(3, 9, 0, "C11", "500"), "free", "row 3"),
        (sale(3, 12, 1, "C11", "1.00"), "lies ahead", "row 3 done_at"),
        (sale(3, 9, 0, "C11", "0"), "more than 0", "row 3"),
        (sale(3, 9, 0, "C11", "1", "gold"), "", "row 3"),
        (sale(3, 9, 0, "C11", "1", "account"), "needs a name", "row 3 name"),
    ],
)
def test_a_bad_row_is_named_and_nothing_is_written(shop, clock, wrong, said, where):
    """Two good rows before it are not written either."""
    clock.put(NOON)
    before = counts(shop)
    rows = [sale(1, 8, 40, "C11", "1.00"), sale(2, 8, 50, "C03", "1.00"), wrong]
    with pytest.raises(CollopError) as error:
        shop.papers.key_back(SALES, rows, by="dot")
    assert error.value.message.startswith("Row 3 of P-0609-S1: ")
    assert error.value.message.endswith("Nothing was written.")
    assert said in error.value.message
    assert error.value.where.startswith(f"P-0609-S1 {where}")
    assert counts(shop) == before


def test_a_cold_check_stands_in_the_day_book_with_both_times_and_its_sheet(shop, clock):
    """Read at 08:05, keyed at noon: a late entry; over the limit it asks what was done."""
    clock.put(NOON)
    place = shop.day.places()[0]
    good = LateCold(row=1, at=time(8, 5), place_id=place.id, reading=Temperature.fahrenheit(38))
    done = shop.papers.key_back(COLD, [good], by="kofi")
    line = shop.day.line(done.rows[0].answer)
    assert line.is_late
    assert (line.done_at.time(), line.at) == (time(8, 5), NOON)
    assert "P-0609-C1 row 1" in str(line)
    warm = LateCold(row=2, at=time(9, 0), place_id=place.id, reading=Temperature.fahrenheit(50))
    with pytest.raises(BadValue, match=r"Row 2 of P-0609-C1: .*say what was done"):
        shop.papers.key_back(COLD, [warm], by="kofi")
    told = LateCold(row=2, at=time(9, 0), place_id=place.id, reading=Temperature.fahrenheit(50),
                    told=Told("moved to the case", "Ines"))  # fmt: skip
    shop.papers.key_back(COLD, [told], by="kofi")


def test_a_hand_over_and_a_bench_weight_are_written_late(shop, clock):
    """H4 went at 11:00 with its scale weights and was paid in cash; a line of the list is done."""
    clock.put(NOON)
    number = next(line.number for line in shop.bench.lines().lines if line.booking_id == "H7")
    done = shop.papers.key_back(
        BENCH,
        [LateBench(row=1, at=time(9, 30), number=number, weight=lb("1.95"))], by="marek",
    )  # fmt: skip
    assert shop.bench.lines().line(done.rows[0].answer).done.weight == lb("1.95")
    booking = shop.booking("H4")
    weighed = {line.id: line.weight for line in booking.lines}
    shop.papers.key_back("P-0609-H1", [LateHandOver(row=1, at=time(11, 2), booking_id="H4",
                         weighed=weighed, paid="cash")], by="dot")  # fmt: skip
    assert shop.slip("H4").total == booking.total
    (late,) = shop.papers.late_of("H4")
    assert late.done_at == datetime.combine(NOON.date(), time(11, 2))


def test_an_order_from_the_pad_is_booked_at_the_board_of_its_hour(shop, clock):
    """Taken at 09:00 at 8.40, keyed after a rise: 8.40, with what they do not eat and a deposit."""
    clock.put(DEMO_START.replace(hour=10))
    board(shop, "C02", "9.20")
    clock.put(NOON)
    order = LateOrder(
        row=1, at=time(9, 0), name="River supper",
        collect_at=datetime.combine(NOON.date() + timedelta(days=3), time(15, 0)),
        lines=(("C02", lb("3.00")),), phone_end="4471", heads=6, dont_eats="one eats no pork",
        deposit=Money.of("10.00"),
    )  # fmt: skip
    done = shop.papers.key_back("P-0609-O1", [order], by="dot")
    booked = shop.booking(done.rows[0].answer)
    assert str(booked.total) == "25.20"
    assert "one eats no pork" in booked.note
    assert booked.ask["dont_eats"] == ["one eats no pork"]


def test_a_sheet_of_another_kind_and_no_sheet_are_refused(shop, clock):
    """Sales do not go on the sheet of cold checks."""
    clock.put(NOON)
    with pytest.raises(BadValue, match="no sheet for this"):
        shop.papers.key_back(COLD, [sale(1, 8, 40, "C11", "1")], by="dot")
    with pytest.raises(BadValue, match="no number of a sheet"):
        shop.papers.key_back("today", [sale(1, 8, 40, "C11", "1")], by="dot")
    with pytest.raises(BadValue, match="over 7 days ago"):
        shop.papers.key_back("P-0520-S1", [sale(1, 8, 40, "C11", "1")], by="dot")
    with pytest.raises(BadValue, match="twice"):
        shop.papers.key_back(SALES, [sale(1, 8, 40, "C11", "1")] * 2, by="dot")


def test_a_sheet_is_read_however_it_is_typed():
    """Letters, dashes and spaces do not matter; the year is the last that fits."""
    assert sheet_of(" p 0610-s 3 ") == ("P-0610-S3", "sales")
    assert sheet_id(NOON.date(), "orders", 2) == "P-0609-O2"
    assert sheet_day("P-1231-S1", NOON.date()).year == 2025
    with pytest.raises(BadValue):
        sheet_day("P-0230-S1", NOON.date())
