"""The weeks ahead: animals needed, hung, ordered and short; days opened; quotes kept."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime, time
from fractions import Fraction

import pytest

from collop.errors import BadValue, NotFound, ProblemError, WrongState
from collop.measures import Money, Temperature, UnitPrice, Weight, WeightUnit
from collop.shop import (
    NewBooking,
    NewDelivery,
    NewFarmOrder,
    NewLine,
    NewPiece,
    NewQuote,
)

MONDAY = date(2026, 6, 15)
DAY = datetime.combine(date(2026, 6, 11), time(7))
LAMBS = NewFarmOrder("Saltgrass Holding", "lamb", "Lamb", 3, date(2026, 6, 12), "Three lambs.")
LIVE = NewQuote("Upper Nimmock", "one steer", "live",
                {"species": "beef", "weight": "1200", "price": "2.1", "haulage": "60"})  # fmt: skip
BOX = NewQuote("Lock Wholesale", "rump", "box", {
    "species": "beef", "cuts": [{"cut": "C13", "weight": "20", "price": "9.60"}]})  # fmt: skip


def lb(text):
    """Return pounds."""
    return Weight.of(text, WeightUnit.LB)


def booking(day, line):
    """Return a booking of one line at ten."""
    return NewBooking("Tolle", datetime.combine(day, time(10)), "dot", lines=(line,))


def cells(sheet, name):
    """Return the cells of one row."""
    return next(row for row in sheet.rows if row.name == name).cells


def lamb(tag, at, farm="Saltgrass Holding"):
    """Return a lamb at the door."""
    return NewDelivery(
        tag=tag, species="lamb", farm=farm, invoiced=lb("50"),
        pieces=[NewPiece(tag, "lamb", "lamb carcass", lb("50"))],
        temperature=Temperature.fahrenheit("38"), killed_on=at.date(),
        papers=("inspection mark", "invoice"), price=UnitPrice.of("6.30", WeightUnit.LB),
    )  # fmt: skip


def test_the_demo_week_in_animals(shop):
    """Lambs: 26.0 lb of leg are booked, three hang; the standing order needs hanger of beef."""
    sheet = shop.season.long_list(weeks=3)
    assert [week.monday for week in sheet.weeks] == [date(2026, 6, day) for day in (8, 15, 22)]
    assert sheet.weeks[0].deposits == Money(12000, "USD")
    now, later = cells(sheet, "Lamb")[:2]
    assert (now.decides, now.tags) == ("Lamb leg, bone in", ("L-207", "L-208", "L-209"))
    # what hangs, less the half of L-209 that a household has: 50.5 + 53.4 + 23.8 over a mean of 52
    assert abs(now.hung - Fraction("127.7") / 52) < Fraction(1, 100)
    # twice 9.0 lb of shoulder, of which a lamb of 52 lb gives 23 %
    assert later.decides == "Lamb shoulder, bone in"
    assert abs(later.booked - Fraction(18) / (52 * Fraction("0.23"))) < Fraction(1, 100)
    assert (now.short, later.short) == (0, 2)
    beef = cells(sheet, "Beef side")[1]
    assert (beef.decides, beef.tags) == ("Beef hanger and skirt", ("B-42",))
    assert beef.next_need < beef.booked
    # the cap lets 3.8 lb of hanger twice; the 6.0 lb that are asked would be short 3
    assert (beef.short, beef.short_cut) == (2, "Beef hanger and skirt")
    # twice 14.0 lb of brisket, of which one hanging side gives half: that is short in the body
    assert (beef.body, beef.body_cut) == (1, "Beef brisket")
    assert not any(row.species == "none" for row in sheet.rows)


def test_a_small_cut_alone_is_not_short_in_the_body(shop):
    """20 lb of hanger for a Friday would need sides by the dozen: told apart, body is not short."""
    before = cells(shop.season.long_list(date(2026, 6, 29), weeks=1), "Beef side")[0]
    terms = shop.standing.order("S1").terms
    hanger = [one for one in terms.lines if one.case_id == "C14"]
    shop.standing.change("S1", replace(terms, lines=tuple(hanger), by="ines"), key="c")
    after = cells(shop.season.long_list(date(2026, 6, 29), weeks=1), "Beef side")[0]
    assert (before.body, before.body_cut) == (2, "Beef brisket")
    assert (after.short, after.short_cut) == (3, "Beef hanger and skirt")
    assert (after.body, after.body_cut) == (0, "")
    assert hanger[0].cap == lb("3.8")


def test_a_booking_for_a_date_needs_animals_of_its_week(shop):
    """What is set aside from the case is told apart, and a release takes it away again."""
    before = cells(shop.season.long_list(weeks=2), "Lamb")[0]
    made = shop.book(booking(date(2026, 6, 12), NewLine("C04", lb("1"))), key="k")
    after = cells(shop.season.long_list(weeks=2), "Lamb")[0]
    assert after.booked >= before.booked
    assert shop.season.long_list(weeks=1).weeks[0].bookings == 10
    shop.release(made.id, by="dot", key="r", why="off")
    assert cells(shop.season.long_list(weeks=2), "Lamb")[0] == before


def test_ordered_animals_fill_what_is_short(shop):
    """Three lambs for the week after: nothing short there; taken back, it is again."""
    new = NewFarmOrder("Saltgrass Holding", "lamb", "Lamb", 3, date(2026, 6, 16))
    made = shop.season.order(new, by="ines", key="a")
    assert shop.season.order(new, by="ines", key="a") == made
    cell = cells(shop.season.long_list(weeks=2), "Lamb")[1]
    assert (cell.ordered, cell.short) == (3, 0)
    back = shop.season.take_back(made.id, by="ines", key="b")
    assert (back.state(MONDAY), shop.season.expected()) == ("taken back", ())
    assert cells(shop.season.long_list(weeks=2), "Lamb")[1].short == 2
    with pytest.raises(WrongState, match="nothing to take back"):
        shop.season.take_back(made.id, by="ines", key="c")
    with pytest.raises(NotFound):
        shop.season.take_back("O99", by="ines", key="d")


def test_a_delivery_meets_the_order_of_its_farm_and_nearest_day(shop, clock):
    """Two of three came; another farm's lamb and an animal of another week do not count."""
    near = shop.season.order(LAMBS, by="ines", key="a")
    far = shop.season.order(
        NewFarmOrder("Saltgrass Holding", "lamb", "Lamb", 1, date(2026, 7, 7)), by="ines", key="b"
    )
    clock.put(DAY)
    for at, farm in (("L-301", LAMBS.farm), ("L-302", " saltgrass  holding"), ("L-303", "Other")):
        shop.cutting.receive(lamb(at, DAY, farm.strip()), by="ines", key=at)
    found = {one.id: one for one in shop.season.orders()}
    assert found[near.id].state(date(2026, 6, 11)) == "2 of 3 came"
    assert found[near.id].state(date(2026, 6, 13)) == "2 of 3 came, late"
    assert found[far.id].came == 0
    shop.cutting.receive(lamb("L-304", DAY), by="ines", key="L-304")
    assert {one.id: one.left for one in shop.season.orders()} == {near.id: 0, far.id: 1}


@pytest.mark.parametrize(
    ("change", "where"),
    [
        ({"animals": 0}, "animals"), ({"animals": 10_000}, "animals"), ({"farm": " "}, "farm"),
        ({"species": "x" * 99}, "species"), ({"what": ""}, "what"),
        ({"for_day": date(2026, 6, 1)}, "for_day"), ({"for_day": date(2036, 6, 1)}, "for_day"),
    ],
)  # fmt: skip
def test_an_order_that_cannot_be_is_refused_whole(shop, change, where):
    """One sentence, and none of the call is written."""
    facts = {name: getattr(LAMBS, name) for name in LAMBS.__dataclass_fields__}
    with pytest.raises(BadValue) as refused:
        shop.season.order_all([LAMBS, NewFarmOrder(**facts | change)], by="ines", key="k")
    assert refused.value.where == where
    assert shop.season.orders() == ()


def test_a_monday_is_opened_and_booked_and_shut_again(shop):
    """A booking for it goes; when it is shut the booking is named and stays."""
    new = booking(MONDAY, NewLine("C33", lb("0.5"), (lb("0.5"),)))
    with pytest.raises(ProblemError):
        shop.book(new, key="k1")
    assert shop.season.open_day(MONDAY, by="ines", why="the feast", key="a").is_open
    assert MONDAY in shop.season.long_list(weeks=2).weeks[1].opened
    made = shop.book(new, key="k2")
    shut = shop.season.close_day(MONDAY, by="ines", why="no feast", key="b")
    assert not shut.is_open
    assert [one.id for one in shut.bookings] == [made.id]
    assert shop.booking(made.id).state.holds
    assert [one.why for one in shop.setting_changes()] == ["the feast", "no feast"]


def test_a_usual_day_is_shut_and_opened_again(shop):
    """It leaves and comes back; what it is already is refused, so is a day that is over."""
    day = date(2026, 6, 13)
    assert [one.id for one in shop.season.close_day(day, by="ines", why="x", key="a").bookings] == [
        "H6", "H1",
    ]  # fmt: skip
    assert shop.settings().closed_dates == (day,)
    with pytest.raises(WrongState, match="shut already"):
        shop.season.close_day(day, by="ines", why="x", key="b")
    shop.season.open_day(day, by="ines", why="after all", key="c")
    assert (shop.settings().closed_dates, shop.settings().opened_dates) == ((), ())
    for bad, why in ((date(2026, 6, 1), "x"), (date(2030, 6, 1), "x"), (MONDAY, " ")):
        with pytest.raises(BadValue):
            shop.season.open_day(bad, by="ines", why=why, key="d")


def test_quotes_are_kept_compared_and_taken_off(shop, clock):
    """A live steer against a box of rump, at this shop's yields and board."""
    first = shop.season.quote(LIVE, by="ines", key="a")
    assert shop.season.quote(LIVE, by="ines", key="a") == first
    shop.season.quote(BOX, by="ines", key="b")
    (found,) = shop.season.compare()
    assert (found.species, found.plan["by"]) == ("beef", "cost over board value")
    assert {one["id"] for one in found.plan["offers"]} == {"B1", "B2"}
    assert found.plan["break_even"][0]["box"] == "B2"
    figures = next(one for one in found.plan["offers"] if one["id"] == "B1")["figures"]
    assert figures[-1]["source"] == "the shop's own yields"
    shop.season.take_off("B1", by="ines", key="c")
    assert [one.id for one in shop.season.quotes()] == ["B2"]
    with pytest.raises(NotFound):
        shop.season.take_off("B1", by="ines", key="d")


def test_a_quote_that_is_over_is_kept_and_not_compared(shop, clock):
    """Good until the day, and that day still."""
    facts = {name: getattr(BOX, name) for name in BOX.__dataclass_fields__}
    shop.season.quote(NewQuote(**facts | {"good_until": date(2026, 6, 9)}), by="ines", key="a")
    assert len(shop.season.compare()) == 1
    clock.put(DAY)
    assert shop.season.compare() == ()
    assert shop.season.quotes()[0].is_over(date(2026, 6, 10))


@pytest.mark.parametrize(
    "change",
    [
        {"basis": "pen"}, {"supplier": ""}, {"name": ""}, {"offer": {}},
        {"offer": {"species": "beef"}}, {"good_until": date(2026, 6, 1)},
        {"offer": {"species": "beef", "weight": "NaN", "price": "1"}},
        {"offer": {"species": "beef", "weight": "1", "price": "1", "zzz": 1}},
    ],
)  # fmt: skip
def test_a_quote_that_cannot_be_compared_is_not_kept(shop, change):
    """One sentence."""
    facts = {name: getattr(LIVE, name) for name in LIVE.__dataclass_fields__}
    with pytest.raises(ProblemError) as refused:
        shop.season.quote(NewQuote(**facts | change), by="ines", key="k")
    assert str(refused.value).endswith(".")
    assert shop.season.quotes() == ()


@pytest.mark.parametrize("weeks", [0, 54, True])
def test_weeks_out_of_range_are_refused(shop, weeks):
    """From 1 to 53, within a year."""
    with pytest.raises(BadValue):
        shop.season.long_list(weeks=weeks)
    with pytest.raises(BadValue):
        shop.season.long_list(date(2036, 1, 1))
