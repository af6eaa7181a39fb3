"""Lock-up: what is counted is where the money is at risk, and the day is locked with its facts."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from decimal import Decimal

import pytest
from wished import lb, line, order

from collop.chalk import markdown
from collop.chalk.counting import counting
from collop.errors import BadValue, NotEnoughFree, NotFound, WrongState
from collop.shop import State

EVENING = datetime.fromisoformat("2026-06-09T18:00")
WEDNESDAY = datetime.fromisoformat("2026-06-10T18:00")
SATURDAY = datetime.fromisoformat("2026-06-13T18:00")


@pytest.fixture
def shop(shop, clock):
    """Let it be six in the evening of the demo's Tuesday."""
    clock.put(EVENING)
    return shop


def words(shop):
    """Return a word for every booking that is open."""
    return {one.id: "carried over" for one in shop.lockup.sheet().open_bookings}


def test_the_sheet_is_the_kernels_choice_of_the_shops_own_figures(shop):
    """Ten of 34 lines, in the kernel's order, with its money."""
    sheet = shop.lockup.sheet()
    plan = counting(sheet.problem)
    assert [one.case_id for one in sheet.lines] == [one["id"] for one in plan["lines"]]
    assert [str(one.at_risk) for one in sheet.lines] == [one["at_risk"] for one in plan["lines"]]
    assert (len(sheet.lines), sheet.others, str(sheet.at_risk)) == (10, 24, plan["at_risk"])
    assert sheet == shop.lockup.sheet()
    # 34 lb of leg at 11.20, one per cent by the starting figure: 3.808
    assert str(next(one for one in sheet.lines if one.case_id == "C01").at_risk) == "3.81"


def test_what_is_past_its_day_before_the_shop_opens_is_all_at_risk(shop, clock):
    """On Saturday the shop opens on Tuesday: shoulder to be used by Saturday is lost whole."""
    clock.put(SATURDAY)
    sheet = shop.lockup.sheet()
    assert (sheet.next_open, sheet.is_last_day) == (date(2026, 6, 16), True)
    shoulder = sheet.line("C02")
    assert shoulder.passes == shoulder.free == lb("15")
    # 15 lb past its day and one per cent of 24 lb over five days, at 8.40
    assert shoulder.at_risk.decimal() == Decimal("136.08")
    with pytest.raises(WrongState, match="past its day before the shop opens on Tue 16 Jun"):
        shop.lockup.carry("C02", by="dot", key="c")


def test_the_sheet_stays_as_it_is_while_it_is_worked_through(shop):
    """A count changes neither the lines nor their order, and is shown on its line."""
    before = [one.case_id for one in shop.lockup.sheet().lines]
    entry = shop.lockup.count("C12", lb("4.3"), by="dot", key="1")
    assert (entry.gap, entry.what) == (lb("4.3") - lb("4.6"), "count")
    sheet = shop.lockup.sheet()
    assert [one.case_id for one in sheet.lines] == before
    assert sheet.line("C12").counted == entry
    assert sheet.counted == 1
    assert shop.lockup.count("C12", lb("4.3"), by="dot", key="1") == entry


def test_gaps_teach_the_share_that_goes_astray(shop, clock):
    """Fillet that lacks a tenth each night has more at risk, and the kernel is told each gap."""
    shop.lockup.count("C12", lb("4.6"), by="dot", key="0")
    clock.put(WEDNESDAY)
    before = next(one for one in shop.lockup.sheet().problem["lines"] if one["id"] == "C12")
    assert (before["days"], before["gaps"]) == (1, [])
    shop.lockup.count("C12", lb("4.2"), by="dot", key="1", why="trimmed")
    clock.put(WEDNESDAY + timedelta(days=1))
    told = next(one for one in shop.lockup.sheet().problem["lines"] if one["id"] == "C12")
    assert told["gaps"] == [{"gap": "0.400000", "handled": "4.600000"}]
    plan = counting(shop.lockup.sheet(also="C12").problem | {"most": 34})
    shares = {one["id"]: one["share"] for one in plan["lines"]}
    assert shares["C12"] > shares["C01"] > 0.0108


def test_the_money_of_a_way_is_the_mark_down_kernels(shop):
    """Freezing mince brings what the kernel says with its price left alone, and no other use."""
    way = next(one for one in shop.lockup.sheet().line("C11").ways if one.what == "freeze")
    move = next(one for one in shop.chalk.moves(most=34) if one.case_id == "C11")
    price = move.problem["price"]
    asked = dict(move.problem) | {"convert": None, "floor": price, "cap": price, "endings": None}
    plan = markdown(asked)
    assert str(way.money) == plan["gain"]
    worth = f"worth {way.money} more than letting it pass its day."
    assert way.say == f"Freeze {way.weight.text()}: {worth}"
    ways = shop.lockup.sheet().line("C02").ways
    gains = [one.money.minor if one.money else 0 for one in ways if not one.no]
    assert gains == sorted(gains, reverse=True)
    assert shop.lockup.sheet().line("C11").ways[-1].no.startswith("Beef mince, 20 % fat is ground")


def test_a_gap_is_drip_or_found_and_is_asked_about_if_it_is_far_off(shop):
    """Less is drip, more is found by the scale; a gap under what is promised is refused."""
    with pytest.raises(BadValue, match="count again"):
        shop.lockup.count("C01", lb("20"), by="dot", key="a")
    assert shop.lockup.sheet().line("C01").entries == ()
    with pytest.raises(NotEnoughFree, match="is promised"):
        shop.lockup.count("C01", lb("20"), by="dot", key="b", sure=True)
    shop.lockup.count("C01", lb("34.4"), by="dot", key="c")
    assert shop.lockup.sheet().line("C01").expected == lb("34.4")
    with pytest.raises(NotFound, match="no case line"):
        shop.lockup.count("C99", lb("1"), by="dot", key="d")


def test_locking_writes_what_was_counted_done_and_left(shop):
    """Gaps in money, weights of each act, stock at board, the word of each booking, skips."""
    shop.lockup.count("C12", lb("4.3"), by="dot", key="1")
    shop.lockup.freeze("C31", lb("2"), by="kofi", key="2")
    shop.lockup.carry("C01", by="dot", key="3")
    shop.lockup.bin("C03", lb("1.5"), why="dropped", by="kofi", key="4")
    with pytest.raises(BadValue, match="H4, Restaurant standing order, was due Tue 11:00") as told:
        shop.lockup.lock(by="ines", key="5")
    assert told.value.where == "word-H4"
    value = shop.board_value().on_hand
    locked = shop.lockup.lock(by="ines", key="5", note="quiet", words={"H4": "short"})
    facts = locked.facts
    assert (locked.day, locked.by, locked.note) == (EVENING.date(), "ines", "quiet")
    assert facts["counted"][0]["gap_at_board"] == facts["gap_at_board"] == "-10.20"
    assert facts["freeze"] == {"weight": "2.000", "at_board": "20.60"}
    assert facts["carry"] == {"weight": "8.000", "at_board": "89.60"}
    assert facts["bin"] == {"weight": "1.500", "at_board": "7.65"}
    assert facts["at_board"] == str(value)
    assert facts["open_bookings"][0]["word"] == "short"
    assert [one["booking"] for one in facts["coming"]] == ["H10", "H7"]
    assert "C12" not in facts["skipped"]
    assert len(facts["skipped"]) == len(shop.lockup.sheet().lines) - 1
    assert shop.lockup.lock(by="ines", key="5", note="quiet", words={"H4": "short"}) == locked
    with pytest.raises(WrongState, match="was locked at 18:00"):
        shop.lockup.lock(by="ines", key="6", words={"H4": "short"})
    assert shop.lockup.lock_ups() == (locked,)


def test_what_was_not_counted_comes_first_the_next_day(shop, clock):
    """Lines left by the lock are skipped, lead the next sheet, and no longer once counted."""
    shop.lockup.lock(by="ines", key="5", words=words(shop))
    skipped = {one.case_id for one in shop.lockup.sheet().lines}
    clock.put(WEDNESDAY)
    sheet = shop.lockup.sheet()
    assert {one.case_id for one in sheet.lines} == skipped
    assert all(one.is_skipped for one in sheet.lines)
    for one in sheet.lines:
        shop.lockup.count(one.case_id, one.expected, by="dot", key=f"c-{one.case_id}")
    shop.lockup.lock(by="ines", key="6", words=words(shop))
    clock.put(WEDNESDAY + timedelta(days=1))
    assert not any(one.is_skipped for one in shop.lockup.sheet().lines)


def test_a_booking_that_was_told_of_is_not_asked_about_again(shop, clock):
    """H4 is short on Tuesday; on Wednesday only what was due since, and what was carried over."""
    shop.lockup.lock(by="ines", key="5", words={"H4": "short"})
    clock.put(WEDNESDAY)
    assert [one.id for one in shop.lockup.sheet().open_bookings] == ["H10", "H7"]
    shop.lockup.lock(by="ines", key="6", words={"H10": "gone", "H7": "carried over"})
    clock.put(WEDNESDAY + timedelta(days=1))
    assert "H7" in [one.id for one in shop.lockup.sheet().open_bookings]
    assert "H10" not in [one.id for one in shop.lockup.sheet().open_bookings]


def test_what_went_is_no_longer_open_and_unpaid_until_money_is_noted(shop):
    """A booking handed over today is not asked about; its open money is told."""
    new = order(line("C13", "2"), collect_at=EVENING, name="Late walk-in")
    made = shop.book(new, key="b")
    assert made.id in [one.id for one in shop.lockup.sheet().open_bookings]
    shop.change_state(made.id, State.PACKED, by="dot", key="p")
    slip = shop.hand_over(made.id, {made.lines[0].id: lb("2.05")}, by="dot", key="h")
    sheet = shop.lockup.sheet()
    assert made.id not in [one.id for one in sheet.open_bookings]
    assert (made.id, "Late walk-in", slip.due) in sheet.unpaid
    shop.money.note(made.id, "payment", "card", by="dot", key="m")
    assert made.id not in {number for number, _, _ in shop.lockup.sheet().unpaid}


def test_what_is_written_after_the_lock_is_told_as_after_it(shop, clock):
    """A count at half past six stands on the sheet as after lock-up."""
    shop.lockup.lock(by="ines", key="5", words=words(shop))
    assert shop.lockup.sheet().after == ()
    clock.put(EVENING + timedelta(minutes=30))
    entry = shop.lockup.count("C03", lb("8.9"), by="dot", key="c")
    sheet = shop.lockup.sheet()
    assert [(one.what, one.by) for one in sheet.after] == [("lock-up count", "dot")]
    assert sheet.line("C03").counted.seq == entry.seq
    assert sheet.line("C03").counted.after


def test_yesterday_is_locked_the_morning_after_and_no_earlier_day(shop, clock):
    """Past midnight the evening before may still be locked."""
    clock.put(EVENING + timedelta(hours=13))
    told = {one.id: "gone" for one in shop.lockup.sheet(EVENING.date()).open_bookings}
    locked = shop.lockup.lock(EVENING.date(), by="ines", key="5", words=told)
    assert (locked.day, locked.at) == (EVENING.date(), EVENING + timedelta(hours=13))
    with pytest.raises(BadValue, match="neither today nor yesterday"):
        shop.lockup.lock(EVENING.date() - timedelta(days=1), by="ines", key="6")
    with pytest.raises(BadValue, match="still to come"):
        shop.lockup.sheet(EVENING.date() + timedelta(days=9))


def test_money_at_risk_is_in_the_shops_unit_and_rounding(shop):
    """The problem names currency, unit and rule, and holds weights as text."""
    problem = shop.lockup.sheet().problem
    chosen = shop.settings()
    assert (problem["unit"], problem["currency"]) == (chosen.legal_unit.value, chosen.currency)
    assert problem["rounding"] == chosen.rounding.value
    assert all(isinstance(one["on_hand"], str) for one in problem["lines"])


def test_the_word_of_a_booking_stands_in_its_diary_and_it_is_told_as_long_as_it_holds(shop, clock):
    """H4 is said to be off: its diary says so, the next sheet names it until it is released."""
    shop.lockup.lock(by="ines", key="5", words={"H4": "off"})
    booking = shop.booking("H4")
    assert (booking.events[-1].what, booking.events[-1].why) == ("lock-up", "Tue 09 Jun: off")
    assert booking.state is State.BOOKED
    clock.put(WEDNESDAY)
    sheet = shop.lockup.sheet()
    assert [(one.id, word) for one, word in sheet.told_bookings] == [("H4", "off")]
    shop.release("H4", by="ines", key="6", why="off")
    assert shop.lockup.sheet().told_bookings == ()


def test_what_may_be_sold_on_the_day_the_shop_opens_does_not_pass(shop, clock):
    """Shoulder to be used by Saturday is carried on Friday, as Saturday is open."""
    clock.put(SATURDAY - timedelta(days=1))
    shoulder = shop.lockup.sheet(also="C02").line("C02")
    assert (shoulder.use_by, shoulder.passes) == (SATURDAY.date(), lb("0"))
    assert shop.lockup.carry("C02", by="dot", key="c").what == "carry"


def test_stock_at_cost_is_the_sum_of_its_lots(shop):
    """What the lots of the case cost, added up apart from the lock-up, to a cent a lot."""
    facts = shop.lockup.lock(by="ines", key="5", words=words(shop)).facts
    lots = [one for one in shop.chalk.costs() if one.place in {"case", "booked"} and one.cost]
    assert 0 < facts["cost_known_pct"] < 100
    away = Decimal(facts["at_cost"]) - sum(one.cost.decimal() for one in lots)
    assert abs(away) <= Decimal("0.01") * len(lots)
