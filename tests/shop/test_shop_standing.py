"""Standing orders: their days, the bookings they make within what is there, and what is said."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime, time, timedelta
from threading import Thread

import pytest
from hypothesis import given
from hypothesis import strategies as st
from wished import lb, line, order

from collop.errors import BadValue, NotEnoughFree, NotFound, WrongState
from collop.shop import NewStanding, StandingLine, StillClock, open_shop
from collop.shop.model import Settings
from collop.shop.standing_days import _collected
from collop.shop.standing_model import due_days

TUESDAY, FRIDAY = date(2026, 6, 9), date(2026, 6, 12)


def terms(*lines, **more):
    first = {
        "name": "Mill canteen", "days": (4,), "hour": time(10), "first_day": TUESDAY, "by": "dot",
    }  # fmt: skip
    return NewStanding(lines=lines or (StandingLine("C02", lb("3")),), **(first | more))


def made_for(shop, until=FRIDAY):
    (made,) = shop.standing.make_due(until, by="ines")
    return made, shop.booking(made.booking_id)


# days


@given(st.sets(st.integers(0, 6), min_size=1), st.integers(1, 5), st.integers(0, 13))
def test_the_days_are_those_of_a_calendar_walked_day_by_day(days, weeks, ahead):
    """Counted in another way: by ISO weeks since the week of the first day."""
    first = TUESDAY + timedelta(days=ahead)
    own = terms(days=tuple(days), every_weeks=weeks, first_day=first)
    found = due_days(own, TUESDAY, TUESDAY + timedelta(days=90))
    monday = date.fromisocalendar(*first.isocalendar()[:2], 1)
    wanted = [
        day for step in range(0, 91 + 14, 7 * weeks) for number in range(7)
        if (day := monday + timedelta(days=step + number)).weekday() in days
        and first <= day <= TUESDAY + timedelta(days=90)
    ]  # fmt: skip
    assert list(found) == wanted


def test_the_demo_s_orders_begin_after_its_bookings(shop):
    """The restaurant on Tuesday 16 June and twice a week, the box on the 24th and fortnightly."""
    assert [(one.id, one.state) for one in shop.standing.orders()] == [("S1", "on"), ("S2", "on")]
    due = [f"{one.order_id} {one.collect_at:%a %d %H:%M}"
           for one in shop.standing.due(date(2026, 7, 8))]  # fmt: skip
    assert due == [
        "S1 Tue 16 11:00", "S1 Fri 19 11:00", "S1 Tue 23 11:00", "S2 Wed 24 17:00",
        "S1 Fri 26 11:00", "S1 Tue 30 11:00", "S1 Fri 03 11:00", "S1 Tue 07 11:00",
        "S2 Wed 08 17:00",
    ]  # fmt: skip
    assert shop.standing.due(date(2026, 6, 15)) == ()


def test_a_shut_day_goes_to_the_open_day_before_it_and_says_so(shop):
    """Sunday: Saturday instead; if that is over, the next open day."""
    shop.standing.begin(terms(days=(6,), hour=time(9)), key="k")
    due = next(one for one in shop.standing.due(date(2026, 6, 13)))
    assert due.collect_at == datetime.combine(date(2026, 6, 13), time(9))
    assert due.moved == "Sunday 14 June the shop is shut: Saturday 13 June instead."
    made, booking = made_for(shop, date(2026, 6, 13))
    assert made.said == (due.moved,)
    assert due.moved in booking.note
    # nothing open before: the next that is
    chosen = Settings("x", closed_dates=(TUESDAY,))
    at, said = _collected(TUESDAY, time(9), datetime.combine(TUESDAY, time(8)), chosen)
    assert at == datetime.combine(date(2026, 6, 10), time(9))
    assert said == "Tuesday 9 June the shop is shut: Wednesday 10 June instead."


# making


def test_a_line_is_capped_at_what_is_there_and_what_was_agreed_stands_in(shop):
    """6 lb of hanger by Friday and 0.87 is all there is: the cap is said, rump stands in."""
    wanted = StandingLine("C14", lb("6"), stand_in="C13")
    shop.standing.begin(terms(wanted), key="k")
    made, booking = made_for(shop)
    assert made.said == (
        "6.00 lb Beef hanger and skirt asked, 0.87 lb there: capped; 5.13 lb short.",
        "5.13 lb Beef rump stands in for Beef hanger and skirt, as agreed.",
    )
    assert all(said in booking.note for said in made.said)
    wants = {one.case_id: one.left for one in shop.bench.wants() if one.booking_id == booking.id}
    assert (wants, booking.kind) == ({"C14": lb("0.87")}, "standing")
    assert [(one.case_id, one.held) for one in booking.lines] == [("C13", lb("5.13"))]
    event = shop.standing.order("S3").events[-1]
    (fact,) = event.facts["lines"]
    assert (fact["short"], fact["stands_in"], event.booking_id) == ("5.13", "5.13", booking.id)
    assert shop.check() == []


def test_a_line_is_capped_at_what_was_agreed(shop):
    """Nine asked, capped at two: two, and the words."""
    shop.standing.begin(terms(StandingLine("C02", lb("9"), cap=lb("2"))), key="k")
    made, booking = made_for(shop)
    assert made.said == ("9.00 lb Lamb shoulder, bone in asked, capped at 2.00 lb as agreed.",)
    assert [one.weight for one in booking.lines] == [lb("2")]


def test_all_there_says_nothing(shop):
    """Three pounds of shoulder are there: reserved at the board, no words."""
    shop.standing.begin(terms(note="Ring first.", on_account=True), key="k")
    made, booking = made_for(shop)
    assert (made.said, [one.held for one in booking.lines]) == ((), [lb("3")])
    assert booking.note == "S3. Ring first."
    assert booking.ask == {"standing": "S3", "day": "2026-06-12", "on_account": True}


def test_nothing_there_is_still_a_booking_that_says_so(shop):
    """No brisket by Friday: a booking without lines, so that somebody rings."""
    shop.standing.begin(terms(StandingLine("C10", lb("5"))), key="k")
    made, booking = made_for(shop)
    assert made.said == ("5.00 lb Beef brisket asked, none there; 5.00 lb short.",)
    assert booking.lines == ()
    assert ("standing", made.said[0]) in [
        (one.kind, one.say) for one in shop.promising.reminders(FRIDAY)
    ]


def test_whole_pieces_are_taken_whole(shop):
    """10 lb of chicken: two birds of 4.1 lb."""
    shop.standing.begin(terms(StandingLine("C23", lb("10"))), key="k")
    made, booking = made_for(shop)
    assert [len(one.pieces) for one in booking.lines] == [2]
    assert made.said == ("10.00 lb Chicken, whole asked, 8.20 lb there: capped; 1.80 lb short.",)


def test_stand_ins_and_lines_of_one_booking_share_what_is_there(shop):
    """Rump asked and rump that stands in are never more together than the 21.5 lb there is."""
    before = shop.promising.free_by(FRIDAY, "C13")[0].weight
    shop.standing.begin(
        terms(StandingLine("C13", lb("18")), StandingLine("C14", lb("9"), stand_in="C13")), key="k"
    )
    _, booking = made_for(shop)
    wants = {one.case_id: one.left for one in shop.bench.wants() if one.booking_id == booking.id}
    rump = sum(one.held.count for one in booking.lines if one.case_id == "C13")
    rump += wants["C13"].count
    assert lb("18").count < rump <= before.count
    assert shop.check() == []


def test_each_day_is_made_once_whoever_asks(url):
    """Two tills at the same moment, and again an hour later: one booking for each day."""
    clock = StillClock()
    with open_shop(url, clock) as shop, open_shop(url, clock) as other:
        shop.standing.begin(terms(days=(3, 4)), key="k")
        tills = [Thread(target=one.standing.make_due, args=(FRIDAY,), kwargs={"by": by})
                 for one, by in ((shop, "dot"), (other, "ines"), (shop, "marek"))]  # fmt: skip
        for one in tills:
            one.start()
        for one in tills:
            one.join()
        clock.put(datetime.combine(TUESDAY, time(9)))
        assert shop.standing.make_due(FRIDAY, by="dot") == ()
        assert len(shop.find("Mill canteen")) == 2
        events = [one.on_day for one in shop.standing.order("S3").events if one.what == "made"]
        assert sorted(events) == [date(2026, 6, 11), FRIDAY]


def test_what_was_left_out_while_a_till_looked_is_not_made(shop, monkeypatch):
    """The list of a till is a moment old: a day left out, or an order paused since, makes none."""
    shop.standing.begin(terms(days=(3, 4)), key="k")
    seen = shop.standing.due(FRIDAY)
    assert len(seen) == 2
    monkeypatch.setattr(type(shop.standing), "due", lambda _self, _until=None: seen)
    shop.standing.skip("S3", date(2026, 6, 11), by="dot", key="s")
    shop.standing.pause("S3", by="dot", key="p")
    assert shop.standing.make_due(FRIDAY, by="dot") == ()
    shop.standing.resume("S3", by="dot", key="r")
    assert [one.day for one in shop.standing.make_due(FRIDAY, by="dot")] == [FRIDAY]


def test_what_was_taken_off_is_not_made_again(shop):
    """A released booking of a standing order stays off."""
    shop.standing.begin(terms(), key="k")
    made, _ = made_for(shop)
    shop.release(made.booking_id, by="dot", key="r", why="away")
    assert shop.standing.make_due(FRIDAY, by="dot") == ()


def test_a_shut_day_whose_open_day_is_past_goes_to_the_next_one(shop, clock):
    """Sunday's order, not made by Saturday at ten, is Tuesday's; once made it is not due again."""
    shop.standing.begin(terms(days=(6,)), key="k")
    tuesday = date(2026, 6, 16)
    for moment in (datetime(2026, 6, 13, 12), datetime(2026, 6, 16, 8)):  # noqa: DTZ001
        clock.put(moment)
        (due,) = [one for one in shop.standing.due(tuesday) if one.order_id == "S3"]
        assert (due.day, due.collect_at) == (date(2026, 6, 14), datetime.combine(tuesday, time(10)))
        assert due.moved == "Sunday 14 June the shop is shut: Tuesday 16 June instead."
    shop.standing.make_due(tuesday, by="dot")
    assert [one for one in shop.standing.due(tuesday) if one.order_id == "S3"] == []
    clock.put(datetime(2026, 6, 17, 8))  # noqa: DTZ001
    late = [one.day for one in shop.standing.due(date(2026, 6, 23)) if one.order_id == "S3"]
    assert late == [date(2026, 6, 21)]


def test_what_was_shut_and_over_before_it_was_resumed_is_not_made(shop, clock):
    """Paused over that Sunday and resumed on Tuesday: Tuesday has nothing of it."""
    shop.standing.begin(terms(days=(6,)), key="k")
    shop.standing.pause("S3", by="dot", key="p")
    clock.put(datetime(2026, 6, 16, 8))  # noqa: DTZ001
    shop.standing.resume("S3", by="dot", key="r")
    due = [one for one in shop.standing.due(date(2026, 6, 16)) if one.order_id == "S3"]
    assert due == []


def test_an_hour_that_is_past_makes_nothing(shop, clock):
    """On Friday at noon the order for ten is not made late."""
    shop.standing.begin(terms(), key="k")
    clock.put(datetime.combine(FRIDAY, time(12)))
    assert shop.standing.make_due(FRIDAY, by="dot") == ()


def test_a_promise_made_before_is_not_eaten(shop):
    """All shoulder till Friday but one pound is promised: the standing order is capped at it."""
    (there,) = shop.promising.free_by(FRIDAY, "C02")
    left = there.weight - lb("1")
    amount = str(left.decimal(left.unit, 2))
    shop.promising.book(
        order(line("C02", amount), collect_at=datetime.combine(FRIDAY, time(9))), key="b"
    )
    shop.standing.begin(terms(), key="k")
    made, booking = made_for(shop)
    assert "capped" in made.said[0]
    with pytest.raises(NotEnoughFree):
        shop.promising.book(order(line("C02", "1"), collect_at=datetime.combine(FRIDAY, time(9))),
                            key="c")  # fmt: skip
    assert booking.id


# the order's life


def test_change_keeps_its_name_and_what_was_made(shop):
    """New terms stand in the place of the old; the booking made and the id stay."""
    first = shop.standing.begin(terms(days=(3, 4)), key="k")
    shop.standing.make_due(date(2026, 6, 11), by="dot")
    changed = shop.standing.change(first.id, terms(StandingLine("C05", lb("2"))), key="c")
    assert (changed.id, changed.terms.lines[0].case_id, changed.state) == ("S3", "C05", "on")
    again = shop.standing.change("S3", replace(changed.terms, hour=time(12)), key="c2")
    assert [one.what for one in again.events] == ["begun", "made", "begun", "begun"]
    made, booking = made_for(shop)
    assert [one.case_id for one in booking.lines] == ["C05"]
    assert (made.order_id, f"{booking.collect_at:%H:%M}") == ("S3", "12:00")
    assert len(shop.standing.orders()) == 3


def test_paused_makes_nothing_until_it_is_resumed_and_change_leaves_it_paused(shop):
    """Pause, change, resume; each refused where it makes no sense."""
    shop.standing.begin(terms(), key="k")
    assert shop.standing.pause("S3", by="dot", key="p", why="holidays").state == "paused"
    with pytest.raises(WrongState, match="is paused"):
        shop.standing.pause("S3", by="dot", key="p2")
    assert shop.standing.change("S3", terms(every_weeks=2), key="c").state == "paused"
    assert shop.standing.make_due(FRIDAY, by="dot") == ()
    assert shop.standing.resume("S3", by="dot", key="r").state == "on"
    with pytest.raises(WrongState, match="only a paused one"):
        shop.standing.resume("S3", by="dot", key="r2")
    assert len(shop.standing.make_due(FRIDAY, by="dot")) == 1


def test_one_day_is_left_out(shop):
    """That Friday is not made, the next is; a day that is none, or made, is refused."""
    shop.standing.begin(terms(), key="k")
    shop.standing.skip("S3", FRIDAY, by="dot", key="s", why="shut for a wedding")
    due = [one for one in shop.standing.due(date(2026, 6, 19)) if one.order_id == "S3"]
    assert [one.day for one in due] == [date(2026, 6, 19)]
    with pytest.raises(WrongState, match="left out already"):
        shop.standing.skip("S3", FRIDAY, by="dot", key="s2")
    with pytest.raises(BadValue, match="no coming day"):
        shop.standing.skip("S3", date(2026, 6, 13), by="dot", key="s3")
    shop.standing.make_due(date(2026, 6, 19), by="dot")
    with pytest.raises(WrongState, match="hangs for 2026-06-19 already"):
        shop.standing.skip("S3", date(2026, 6, 19), by="dot", key="s4")


def test_ended_is_ended(shop):
    """Nothing is made, changed or paused any more."""
    shop.standing.begin(terms(), key="k")
    assert shop.standing.end("S3", by="dot", key="e", why="moved away").state == "ended"
    assert shop.standing.make_due(FRIDAY, by="dot") == ()
    for act in (
        lambda: shop.standing.end("S3", by="dot", key="e2"),
        lambda: shop.standing.change("S3", terms(), key="c"),
        lambda: shop.standing.skip("S3", FRIDAY, by="dot", key="s"),
        lambda: shop.standing.pause("S3", by="dot", key="p"),
    ):
        with pytest.raises(WrongState):
            act()


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"name": " "}, "needs a name"), ({"days": ()}, "at least one weekday"),
        ({"days": (7,)}, "at least one weekday"), ({"every_weeks": 0}, "from 1 to 52"),
        ({"every_weeks": 53}, "from 1 to 52"), ({"hour": time(7)}, "open 08:00 to 18:00"),
        ({"first_day": date(2026, 6, 8)}, "first day"),
        ({"first_day": date(2030, 1, 1)}, "first day"),
        ({"last_day": date(2026, 6, 1)}, "turn them round"), ({"heads": 0}, "heads"),
        ({"note": "x" * 1001}, "shorten"), ({"lines": ()}, "from 1 to 50"),
        ({"lines": (StandingLine("C02", lb("0")),)}, "how much"),
        ({"lines": (StandingLine("C02", lb("1"), cap=lb("0")),)}, "cap"),
        ({"lines": (StandingLine("C02", lb("-1")),)}, "more than 0"),
        ({"lines": (StandingLine("C02", lb("200000")),)}, "under 100,000"),
        ({"lines": (StandingLine("C02", lb("1")),) * 2}, "twice"),
        ({"lines": (StandingLine("C02", lb("1"), stand_in="C02"),)}, "for itself"),
    ],
)  # fmt: skip
def test_terms_that_cannot_be_are_refused_in_words(shop, change, said):
    """One sentence each, and nothing is written."""
    with pytest.raises(BadValue, match=said):
        shop.standing.begin(replace(terms(), **change), key="k")
    assert len(shop.standing.orders()) == 2


def test_unknown_lines_orders_and_people_are_not_found(shop):
    """And days too far ahead are refused."""
    with pytest.raises(NotFound, match="no case line 'C99'"):
        shop.standing.begin(terms(StandingLine("C99", lb("1"))), key="k")
    with pytest.raises(NotFound, match="no case line 'C98'"):
        shop.standing.begin(terms(StandingLine("C02", lb("1"), stand_in="C98")), key="k")
    for name in ("S99", "H1", "x", "S0"):
        with pytest.raises(NotFound, match="no standing order"):
            shop.standing.order(name)
    with pytest.raises(BadValue, match="62 days ahead"):
        shop.standing.due(date(2027, 1, 1))
    with pytest.raises(BadValue, match="62 days ahead"):
        shop.standing.make_due(date(2026, 6, 1), by="dot")
    shop.standing.begin(terms(), key="k")
    with pytest.raises(NotFound, match="Nobody called"):
        shop.standing.make_due(FRIDAY, by="zed")


def test_the_demo_s_restaurant_next_tuesday(url):
    """The day before, most of the case is over: what hangs and is planned says what it gets."""
    with open_shop(url, StillClock(datetime(2026, 6, 15, 9))) as shop:  # noqa: DTZ001
        (made,) = shop.standing.make_due(date(2026, 6, 16), by="ines")
        booking = shop.booking(made.booking_id)
        assert made.said[0] == "6.00 lb Beef hanger and skirt asked, capped at 3.80 lb as agreed."
        assert made.said[1].startswith("3.80 lb Beef hanger and skirt asked, 3.2")
        assert (booking.heads, booking.name) == (40, "Restaurant standing order")
        assert shop.check() == []
