"""The Day Book: limits, late entries, corrections, rounds and gaps, time above, append-only."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, date, datetime, time, timedelta
from itertools import count

import pytest
from by_hand import REFUSES, raw
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from sqlalchemy import delete, update

from collop.errors import BadValue, CollopError, NotFound, StorageTrouble, WrongState
from collop.measures import Temperature, Weight, WeightUnit
from collop.reference.rulebook import rule_row
from collop.shop import Arrival, Person, Settings, StillClock, Told, create_shop, open_shop
from collop.shop.day_model import RoundState
from collop.shop.day_tables import day_checks

# Tuesday 9 June 2026, the shop's day; no case of the demo's own book stands in these shops
DAY = date(2026, 6, 9)
OVER = Told("moved to the walk-in", "Ann")


def f(amount):
    """Return a temperature in degF."""
    return Temperature.fahrenheit(str(amount))


def lb(text):
    """Return a weight in pounds."""
    return Weight.of(text, WeightUnit.LB)


def at(hour, minute=0, day=9):
    """Return a moment of June 2026."""
    return datetime(2026, 6, day, hour, minute)  # noqa: DTZ001 -- shop-local


class Book:
    """A shop of two people with a fridge, a freezer and a cutting room, on a clock that stands."""

    def __init__(self, shop, clock):
        self.shop, self.clock, self.day = shop, clock, shop.day
        self._keys = count(1)

    def key(self):
        """Return a key nobody used."""
        return f"k{next(self._keys)}"

    def place(self, place_id, name, **more):
        """Name or change a place."""
        more = {"why": "begins", "by": "ann", "key": self.key()} | more
        return self.day.set_place(place_id, name, **more)

    def cold(self, place, amount, when=None, **more):
        """Write a cold check, after putting the clock to `when`."""
        if when is not None:
            self.clock.put(when)
        more = {"by": "ben", "key": self.key()} | more
        return self.day.check_cold(place, f(amount), **more)

    def rows(self):
        """Return how many checks are written."""
        with self.shop._room.store.read() as conn:
            return conn.exec_driver_sql("SELECT count(*) FROM day_checks").scalar()


@pytest.fixture(scope="module")
def begun(places):
    """Return a shop that began its book on 1 June."""
    url = places.new("begun")
    people = [Person("ann", "Ann"), Person("ben", "Ben")]
    clock = StillClock(at(7, 0, day=1))
    with create_shop(url, settings=Settings("Ours"), people=people, clock=clock) as shop:
        for name, kind, limit in (
            ("Case", "chilled", 41),
            ("Freezer", "frozen", 0),
            ("Cutting room", "room", 50),
        ):
            shop.day.set_place(
                None, name, kind=kind, limit=f(limit), why="begins", by="ann", key=name
            )
    return url


@pytest.fixture
def book_url(begun, places):
    copy = places.copy(begun)
    yield copy
    places.drop(copy)


@pytest.fixture
def book(book_url):
    clock = StillClock(at(8))
    with open_shop(book_url, clock) as shop:
        yield Book(shop, clock)
        assert shop.check() == []


# limits


@pytest.mark.parametrize(("place", "rule_id", "published"), [
    # Food Code 3-501.16(A), in a state's violation 03F-07-5 (source id FL03F)
    ("case", "SF006", 41),
    # Tarrant county health page (source id TARRANT)
    ("freezer", "SF008", 0),
])  # fmt: skip
def test_the_limit_itself_is_within_and_a_tenth_over_it_is_over(book, place, rule_id, published):
    """41.0 F is no more than 41 F; 41.1 F is: SF006 (FL03F) and SF008 (TARRANT), both seen."""
    row = rule_row(rule_id)
    assert row.is_cited
    assert row.figure == published
    line = book.cold(place, f"{published}.0")
    assert not line.is_over
    assert line.source == row.citation()
    with pytest.raises(BadValue, match="say what was done about it, and who was told"):
        book.cold(place, f"{published}.1")


def test_over_the_limit_is_written_only_with_what_was_done_and_who_was_told(book):
    """Nothing is written without either; with both it is, and marked."""
    before = book.rows()
    for told, where in ((Told(), "action"), (Told(told="Ann"), "action"),
                        (Told("moved"), "told"), (Told("  ", "Ann"), "action")):  # fmt: skip
        with pytest.raises(BadValue) as refused:
            book.cold("case", 44, told=told)
        assert refused.value.where == where
        assert refused.value.message.startswith("Case is at 44 °F (6.7 °C) and its limit is 41")
    assert book.rows() == before
    line = book.cold("case", 44, told=OVER)
    assert (line.is_over, line.action, line.told) == (True, "moved to the walk-in", "Ann")


def test_a_place_may_be_stricter_than_published_and_never_laxer(book):
    """38 F is taken and rules at once; 42 F is refused with the source and the nearest allowed."""
    with pytest.raises(BadValue, match=r"laxer than 41 °F \(5 °C\) of .*\(SF006\); give that or"):
        book.place("case", "Case", kind="chilled", limit=f(42))
    with pytest.raises(BadValue, match=r"laxer than 0 °F .*\(SF008\)"):
        book.place("freezer", "Freezer", kind="frozen", limit=f("0.5"))
    place = book.place("case", "Case", kind="chilled", limit=f(38), why="the inspector asked")
    assert place.source.startswith("the shop's own, stricter than ")
    with pytest.raises(BadValue, match="its limit is 38 °F"):
        book.cold("case", 40)
    notes = [line for line in book.day.page().lines if line.tile == "note"]
    assert [(line.said, line.words) for line in notes] == [
        ("Case: limit 38 °F (3.3 °C)", "the inspector asked")
    ]


def test_a_fridge_called_a_cutting_room_is_told_as_what_it_is(book):
    """A cutting room has no limit; the note of one says so, whatever it is called."""
    book.place(None, "Walk-in 2", kind="room", limit=f(60), why="new")
    (said,) = [one.said for one in book.day.page().lines if one.tile == "note"]
    assert said == "Walk-in 2: a cutting room, held at 60 °F (15.6 °C), with no limit"


def test_a_stricter_rule_of_the_shop_rules_every_place(book):
    """What is chosen among the rules goes before a place's laxer limit."""
    book.shop.rules.change("cold_limit_f", "39", why="safer", by="ann", key="r")
    assert book.day.places()[0].limit == f(39)
    with pytest.raises(BadValue, match="its limit is 39 °F"):
        book.cold("case", 40)


def test_the_cutting_room_is_never_over_and_says_how_often_it_is_cleaned(book):
    """MN0845 (seen): 16 h up to 50 F, 10 h up to 55 F, 4 h beyond."""
    for amount, hours in ((41, "24"), (45, "20"), (50, "16"), (55, "10"), (56, "4")):
        line = book.cold("cutting-room", amount)
        assert not line.is_over
        assert line.said.endswith(f"; clean down every {hours} h at most")
        assert "4626.0845" in line.source


# times


def test_a_late_entry_says_both_times_and_a_prompt_one_does_not(book):
    """Fifteen minutes are prompt; sixteen are late (ours)."""
    book.clock.put(at(9))
    assert not book.cold("case", 39, done_at=at(8, 45)).is_late
    line = book.cold("freezer", -2, done_at=at(8, 44))
    assert (line.is_late, line.done_at, line.at) == (True, at(8, 44), at(9))


@pytest.mark.parametrize(("done_at", "said"), [
    (at(8, 1), "lies ahead"),
    (at(7, 59, day=2), "over 7 days ago"),
    (at(8).replace(tzinfo=UTC), "without a zone"),
])  # fmt: skip
def test_a_time_that_cannot_be_is_refused(book, done_at, said):
    """Neither the future nor last month is remembered."""
    with pytest.raises(BadValue, match=said):
        book.cold("case", 39, done_at=done_at)


def test_a_clock_put_back_an_hour_breaks_nothing(book):
    """At the end of summer time 01:30 comes twice: both lines stand, in the order of their time."""
    first = book.cold("case", 39, at(1, 30))
    second = book.cold("case", 38, at(0, 45))
    lines = [one for one in book.day.page(DAY).lines if one.tile == "cold"]
    assert [one.id for one in lines] == [second.id, first.id]
    assert not second.is_late
    assert book.day.inspector(DAY, DAY).lines["cold"] == tuple(lines)


def test_a_line_under_a_clock_set_back_says_so(book):
    """A check of yesterday written under yesterday's clock is no late entry; the book still tells.

    Seconds, by which clocks are set right, say nothing.
    """
    book.cold("case", 39, at(8))
    book.cold("case", 39, at(8) - timedelta(seconds=20))
    back = book.cold("freezer", -2, at(13, day=8))
    assert not back.is_late
    lines = {one.id: one.words for one in book.day.page(date(2026, 6, 8)).lines}
    assert lines[back.id] == "the clock was set back: a line before it says Tue 9 Jun 08:00"
    printed = book.day.inspector(date(2026, 6, 8), DAY).lines["cold"]
    assert [one.words for one in printed if one.id != back.id] == ["", ""]


def test_reading_more_or_less_often_makes_and_undoes_no_gap_of_days_before(book):
    """Three checks a day until now; one from tomorrow: Monday keeps its gaps, Tuesday too."""
    first, last = date(2026, 6, 2), DAY
    book.clock.put(at(19))
    before = book.day.inspector(first, last).gaps
    assert len([gap for gap in before if gap.due.date() == first]) == 9
    book.shop.rules.change("cold_checks_a_day", "1", why="less", by="ann", key="r")
    assert book.day.inspector(first, last).gaps == before
    book.shop.rules.change("cold_checks_a_day", "5", why="more", by="ann", key="s")
    assert book.day.inspector(first, last).gaps == before
    book.clock.put(at(19, day=10))
    rounds = [one.due for one in book.day.page().rounds if one.place.id == "case"]
    assert len(rounds) == 5
    with pytest.raises(BadValue, match="give 5 to 12 hours"):
        book.day.set_rounds([time(8)], why="x", by="ann", key="t")


def test_own_hours_give_way_where_the_shop_reads_more_often(book):
    """Three own hours are no five checks; back at three, the own hours hold again."""
    own, tomorrow = (time(7), time(12), time(16)), date(2026, 6, 10)
    usual = book.day.rounds()
    book.day.set_rounds(own, why="early", by="ann", key="o")
    assert book.day.rounds(tomorrow) == own
    book.clock.put(at(9))
    book.shop.rules.change("cold_checks_a_day", "5", why="more", by="ann", key="r")
    assert len(book.day.rounds(tomorrow)) == 5
    book.clock.put(at(10))
    book.shop.rules.change("cold_checks_a_day", "3", why="enough", by="ann", key="s")
    assert book.day.rounds() == usual
    assert book.day.rounds(tomorrow) == own


def test_two_people_at_the_same_moment_write_a_line_each_and_one_key_writes_one(book):
    """Eight at once with own keys are eight lines; eight with one key are one line for all."""
    book.clock.put(at(8))
    with ThreadPoolExecutor(8) as pool:
        own = list(pool.map(lambda n: book.day.check_cold(
            "case", f(39), by="ann" if n % 2 else "ben", key=f"own{n}").id, range(8)))  # fmt: skip
        same = list(pool.map(lambda _: book.day.check_cold(
            "freezer", f(-2), by="ann", key="same").id, range(8)))  # fmt: skip
        number = int(same[0][1:])
        fixes = list(pool.map(lambda n: _fix(book, number, n), range(8)))
    assert len(set(own)) == 8
    assert len(set(same)) == 1
    assert len([one for one in fixes if one.startswith("D")]) == 1
    assert {one for one in fixes if not one.startswith("D")} == {"WrongState"}


def _fix(book, number, n):
    try:
        return book.day.check_cold("freezer", f(-3), corrects=number, told=Told(why="x"), by="ann",
                                   key=f"fix{n}").id  # fmt: skip
    except CollopError as error:
        return type(error).__name__


# corrections


def test_a_correction_is_a_further_line_that_names_the_one_it_corrects(book):
    """Both stand in the book; the second keeps the hour of the first and says why."""
    wrong = book.cold("case", 28, at(8, 2))
    book.clock.put(at(8, 5))
    right = book.cold("case", 38, told=Told(why="28 was typed for 38"), corrects=int(wrong.id[1:]))
    lines = {one.id: one for one in book.day.page().lines}
    assert lines[wrong.id].corrected_by == right.id
    assert lines[wrong.id].said == "28 °F (-2.2 °C)"
    assert (right.corrects, right.done_at, right.words) == (
        wrong.id, at(8, 2), "28 was typed for 38",
    )  # fmt: skip
    assert [one.stands for one in lines.values() if one.tile == "cold"] == [False, True]


def test_a_line_is_corrected_once_by_its_own_kind_and_with_a_reason(book):
    """The newest one is corrected; never without a reason, never into another place."""
    line = book.cold("case", 39)
    number = int(line.id[1:])
    with pytest.raises(BadValue) as refused:
        book.cold("case", 38, corrects=number)
    assert refused.value.where == "why"
    with pytest.raises(BadValue, match="another place"):
        book.cold("freezer", -2, corrects=number, told=Told(why="wrong fridge"))
    with pytest.raises(BadValue, match="another kind of line"):
        book.day.check_probe("probe", f(32), corrects=number, told=Told(why="x"), by="ann", key="p")
    after = book.cold("case", 38, corrects=number, told=Told(why="misread"))
    with pytest.raises(WrongState, match=f"was corrected by {after.id} already"):
        book.cold("case", 37, corrects=number, told=Told(why="misread"))
    with pytest.raises(NotFound, match="no line D99"):
        book.cold("case", 37, corrects=99, told=Told(why="misread"))


def test_a_correction_over_the_limit_asks_what_was_done(book):
    """A good reading cannot be turned into a bad one without its action."""
    line = book.cold("case", 39)
    with pytest.raises(BadValue, match="say what was done"):
        book.cold("case", 49, corrects=int(line.id[1:]), told=Told(why="misread"))


def test_a_line_taken_back_leaves_its_round_open_again(book):
    """Read at the wrong fridge: both lines stay, and the round is due as before."""
    line = book.cold("case", 39)
    assert rounds(book)["case", 8] is RoundState.DONE
    back = book.day.take_back(line.id, why="it was the walk-in", by="ben", key="b")
    assert (back.is_void, back.corrects, back.said) == (True, line.id, "taken back: never so")
    assert rounds(book)["case", 8] is RoundState.DUE
    with pytest.raises(WrongState):
        book.day.take_back(line.id, why="again", by="ben", key="b2")
    with pytest.raises(WrongState, match="is no reading"):
        book.day.take_back(back.id, why="again", by="ben", key="b3")


# rounds and gaps


def rounds(book, day=DAY):
    """Return the state of each round by place and hour."""
    found = book.day.page(day).rounds
    return {(one.place.id, one.due.hour): one.state for one in found}


def test_a_round_is_due_then_overdue_then_a_gap_and_a_gap_stays(book):
    """An hour around its time, then overdue until the next one opens, then a gap."""
    for when, state in ((at(6, 59), RoundState.AHEAD), (at(7), RoundState.DUE),
                        (at(9), RoundState.DUE), (at(9, 1), RoundState.OVERDUE),
                        (at(11, 59), RoundState.OVERDUE), (at(12), RoundState.GAP)):  # fmt: skip
        book.clock.put(when)
        assert rounds(book)["case", 8] is state
    book.cold("case", 39, at(12, 30))
    assert rounds(book)["case", 8] is RoundState.GAP
    assert rounds(book)["case", 13] is RoundState.DONE
    gaps = [gap for gap in book.day.page().gaps if gap.name == "Case"]
    assert [(gap.due, gap.words, gap.entered) for gap in gaps] == [(at(8), "not read", None)]


def test_a_check_made_late_in_its_round_is_told_as_late(book):
    """09:30 is in the first round and over an hour after it."""
    book.cold("case", 39, at(9, 30))
    assert rounds(book)["case", 8] is RoundState.LATE
    assert not [gap for gap in book.day.page().gaps if gap.name == "Case"]


def test_a_gap_entered_from_paper_the_next_day_is_told_and_not_hidden(book):
    """The gap stays among the gaps and names the late entry."""
    book.clock.put(at(9, 0, day=10))
    line = book.cold("case", 39, done_at=at(8, 5), told=Told(paper="260609-0700 line 1"))
    assert rounds(book)["case", 8] is RoundState.ENTERED
    gap = next(gap for gap in book.day.page(DAY).gaps if gap.name == "Case" and gap.due == at(8))
    assert gap.entered.id == line.id
    assert gap.words == "not written in its time; entered Wed 10 Jun 09:00 as a late entry"


def test_only_open_days_and_places_that_are_read_have_rounds(book):
    """Monday the shop is shut; a fridge that is retired is no gap from then on."""
    assert rounds(book, date(2026, 6, 8)) == {}
    book.clock.put(at(12, 30))
    book.day.retire_place("freezer", why="sold", by="ann", key="r")
    book.clock.put(at(20))
    states = rounds(book)
    assert ("freezer", 8) in states
    assert ("freezer", 13) not in states
    with pytest.raises(NotFound, match="choose from Case, Cutting room"):
        book.cold("freezer", -2)


def test_new_hours_of_the_rounds_count_from_tomorrow(book):
    """So a gap of today cannot be made to vanish by moving its hour."""
    book.clock.put(at(15))
    book.day.set_rounds([time(7), time(12), time(16)], why="earlier", by="ann", key="r")
    assert {hour for _, hour in rounds(book)} == {8, 13, 17}
    book.clock.put(at(6, 0, day=10))
    assert {hour for _, hour in rounds(book, date(2026, 6, 10))} == {7, 12, 16}
    for hours in ([time(8)], [time(8), time(8, 30), time(16)], [time(h) for h in range(13)]):
        with pytest.raises(BadValue, match="Rounds:"):
            book.day.set_rounds(hours, why="x", by="ann", key=book.key())


def test_the_tile_asks_first_for_what_was_over(book):
    """Due again within half an hour (ours), then late; a good reading ends it."""
    book.cold("case", 44, told=OVER)
    tile = next(one for one in book.day.page().tiles if one.key == "cold")
    assert (tile.state, tile.due) == ("due", at(8, 30))
    assert tile.words == "read Case again: over at 08:00, 44 °F (6.7 °C)"
    book.clock.put(at(8, 31))
    assert next(one for one in book.day.page().tiles if one.key == "cold").state == "late"
    book.cold("case", 40)
    assert "again" not in next(one for one in book.day.page().tiles if one.key == "cold").words


# time above


def test_time_above_is_told_between_two_bounds(book):
    """Good 08:00, over 13:00 and 13:29, good 13:58: 29 min at least, 358 min at most."""
    book.cold("case", 39, at(8))
    book.cold("case", 44, at(13), told=OVER)
    book.cold("case", 42, at(13, 29), told=OVER)
    book.cold("case", 39, at(13, 58))
    (event,) = book.day.page().over
    assert (event.at_least_min, event.at_most_min, event.is_open) == (29, 358, False)
    assert event.words == "over for at least 29 min, at most 5 h 58 min"


def test_time_above_without_a_good_reading_has_no_upper_bound(book):
    """Nobody knows how long it was over before the first reading of all."""
    book.cold("case", 44, told=OVER)
    (event,) = book.day.page().over
    assert (event.at_least_min, event.at_most_min, event.is_open) == (0, None, True)
    assert "no good reading stands before it" in event.words


def test_two_readings_of_one_minute_that_differ_break_nothing(book):
    """39 and 44 at 08:00: the one over counts, whichever came first."""
    book.cold("case", 39, at(8))
    book.cold("case", 44, at(8), told=OVER)
    book.cold("case", 39, at(8, 10))
    (event,) = book.day.page().over
    assert event.at_least_min == 0


@settings(max_examples=25, deadline=None,
          suppress_health_check=[HealthCheck.function_scoped_fixture])  # fmt: skip
@given(st.lists(st.tuples(st.integers(1, 40), st.integers(30, 55)), min_size=1, max_size=8))
def test_the_bounds_hold_whatever_was_between(book, steps):
    """At least is never more than at most, and every stretch begins with a reading over."""
    when = max(at(8), book.clock.now())
    for minutes, amount in steps:
        when += timedelta(minutes=minutes)
        book.cold("case", amount, when, told=OVER)
    found = book.day.inspector(DAY, when.date()).over
    for event in found:
        assert event.first <= event.last
        assert event.at_least_min >= 0
        assert event.at_most_min is None or event.at_least_min <= event.at_most_min
    last = steps[-1][1]
    assert any(event.is_open for event in found) == (last > 41)


# other lines


def test_a_thermometer_is_right_within_two_degrees_of_melting_ice(book):
    """30.0 and 34.0 F are well, 34.1 F is not. The row SF010 is from memory, not checked."""
    row = rule_row("SF010")
    assert not row.is_cited
    for amount in ("30", "34"):
        line = book.day.check_probe("probe 1", f(amount), by="ann", key=book.key())
        assert not line.is_over
        assert line.source.endswith("from memory, not checked")
    with pytest.raises(BadValue, match=r"more than 2 °F from 32 °F \(0 °C\)"):
        book.day.check_probe("probe 1", f("34.1"), by="ann", key=book.key())


def test_a_scale_is_right_within_its_tolerance_by_load(book):
    """10 lb in steps of 0.01 lb are 1000 steps: two steps either way (WM007, from memory)."""
    assert not rule_row("WM007").is_cited
    for reading, over in (("10.02", False), ("9.98", False), ("10.03", True)):
        weights = (lb("10"), lb(reading), lb("0.01"))
        line = book.day.check_scale("counter", weights, told=OVER, by="ann", key=book.key())
        assert line.is_over is over
    with pytest.raises(BadValue, match=r"more than 0\.02 lb out"):
        book.day.check_scale("counter", (lb("10"), lb("10.03"), lb("0.01")), by="ann", key="x")
    for weights, where in (((lb("10"), lb("10.005"), lb("0.01")), "reading"),
                           ((lb("10"), lb("10"), lb("0.03")), "division"),
                           ((lb("0"), lb("0"), lb("0.01")), "test"),
                           ((lb("9000"), lb("9000"), lb("0.01")), "load")):  # fmt: skip
        with pytest.raises(BadValue) as refused:
            book.day.check_scale("counter", weights, by="ann", key=book.key())
        assert refused.value.where == where


def box(**more):
    """Return a box of chilled meat as it should be."""
    usual = {"what": "trim", "supplier": "Ours", "keeps": "chilled", "is_meat": True,
             "establishment": "F-01", "lot": "A1", "temperature": f(40), "mark": True}  # fmt: skip
    return Arrival(**usual | more)


@pytest.mark.parametrize(("changed", "said"), [
    ({"temperature": f("41.1")}, "it is at 41.1 °F"),
    ({"mark": False}, "it bears no inspection mark (SF005)"),
    ({"keeps": "frozen", "frozen_solid": False}, "it is not frozen solid (SF003)"),
    ({"temperature": f(50), "mark": False}, "(SF001) and it bears no inspection mark"),
])  # fmt: skip
def test_a_box_that_may_not_come_in_is_not_taken_in(book, changed, said):
    """Each reason is told, and what was done with it; the rows are from memory, not checked."""
    with pytest.raises(BadValue) as refused:
        book.day.receive(box(**changed), by="ann", key="x")
    assert said in refused.value.message
    line = book.day.receive(box(**changed), told=Told("sent back", "Ann"), by="ann", key="y")
    assert line.is_over
    assert f"not taken in: {line.said.split('not taken in: ')[1]}" in line.said
    assert said.split(" and ")[0] in line.said
    assert line.source.endswith("from memory, not checked")


def test_a_box_as_it_should_be_is_taken_in_and_dry_goods_need_no_thermometer(book):
    """Supplier, number, lot and weight stand in the line."""
    line = book.day.receive(box(weight=lb("40")), by="ann", key="x")
    assert line.said == (
        "from Ours, establishment F-01, lot A1, 40.00 lb, 40 °F (4.4 °C), with its mark; taken in"
    )
    trays = Arrival(what="trays", supplier="Paper", keeps="dry", is_meat=False)
    assert book.day.receive(trays, by="ann", key="y").said == "from Paper; taken in"
    for changed, where in (({"temperature": None}, "temperature"), ({"establishment": ""},
                           "establishment"), ({"weight": lb("0")}, "weight"), ({"what": " "},
                           "what"), ({"keeps": "warm"}, "keeps")):  # fmt: skip
        with pytest.raises(BadValue) as refused:
            book.day.receive(box(**changed), by="ann", key=book.key())
        assert refused.value.where == where


# the database, and hostile values


def test_no_line_is_ever_edited_or_deleted(book, book_url):
    """Neither through the shop's own connection nor past it."""
    book.cold("case", 39)
    with pytest.raises(StorageTrouble, match="never edited"), book.shop._room.store.write() as conn:
        conn.execute(update(day_checks).values(action="nothing"))
    with pytest.raises(StorageTrouble, match="never edited"), book.shop._room.store.write() as conn:
        conn.execute(delete(day_checks))
    book.day.clean_down(by="ann", key="c")
    with raw(book_url) as conn:
        for table in ("day_checks", "cold_places", "clean_downs"):
            for statement in (f"UPDATE {table} SET at = at", f"DELETE FROM {table}"):  # noqa: S608
                with pytest.raises(REFUSES, match="never edited"):
                    conn.execute(statement)


def test_a_check_sent_twice_is_written_once(book):
    """The same key is one line; with another reading it is refused."""
    first = book.cold("case", 39, key="once")
    assert book.cold("case", 39, key="once").id == first.id
    with pytest.raises(BadValue, match="was used for another request"):
        book.cold("case", 38, key="once")
    assert [line.id for line in book.day.page().lines if line.tile == "cold"] == [first.id]


@pytest.mark.parametrize("text", ["a\nb", "\x00", "x" * 401, "\u202eevil", "\ud800", 7, None])
def test_hostile_text_is_refused_in_one_sentence(book, text):
    """No control characters, nothing over its length, nothing but text."""
    before = book.rows()
    for told in (Told(text, "Ann"), Told("moved", text), Told("moved", "Ann", text)):
        with pytest.raises(CollopError) as refused:
            book.cold("case", 44, told=told)
        assert "\n" not in str(refused.value)
    assert book.rows() == before


@pytest.mark.parametrize("line_id", ["", "D", "X1", "D-1", "D1e9", "D" + "9" * 400, "D\u0661"])
def test_a_line_that_is_none_is_not_found(book, line_id):
    """In one sentence, whatever is asked for."""
    with pytest.raises(NotFound):
        book.day.line(line_id)


def test_a_reading_no_kitchen_has_is_refused(book):
    """-61 C and 121 C are slips of the hand."""
    for reading in (Temperature.celsius(-61), Temperature.celsius(121)):
        with pytest.raises(BadValue, match="none of a kitchen"):
            book.day.check_cold("case", reading, told=OVER, by="ann", key=book.key())


def test_places_keep_their_names_apart_and_their_kind(book):
    """Two of one name, an unknown kind and a change of kind are refused."""
    for place_id, name, kind in ((None, "case", "chilled"), (None, "Cellar", "warm"),
                                 ("case", "Case", "frozen"), (None, " ", "chilled")):  # fmt: skip
        with pytest.raises(BadValue):
            book.place(place_id, name, kind=kind, limit=f(-5))
    with pytest.raises(NotFound):
        book.place("cellar", "Cellar", kind="chilled", limit=f(40))
    assert book.place(None, "Walk-in (back)", kind="chilled", limit=f(40)).id == "walk-in-back"


def test_the_steps_are_ours_until_the_shop_writes_its_own(book):
    """Marked as ours; the shop's own come with a reason."""
    assert book.day.steps()[1] is False
    book.day.set_steps(["Call Ann", "Move the meat"], why="ours are better", by="ann", key="s")
    assert book.day.steps() == (("Call Ann", "Move the meat"), True)
    for steps in ([], ["x"] * 9, ["x\ny"]):
        with pytest.raises(BadValue, match="Steps:"):
            book.day.set_steps(steps, why="x", by="ann", key=book.key())


def test_a_word_is_a_line_of_its_own_and_is_never_edited(book):
    """By itself or on a line; one that is not there is refused, and a word has no correction."""
    line = book.day.note("the ice machine was serviced", by="ann", key="a")
    assert (line.tile, line.said, line.may_be_corrected) == (
        "note", "the ice machine was serviced", False,
    )  # fmt: skip
    on = book.day.note("written twice by a slip", line=line.id.lower(), by="ann", key="b")
    assert on.said == f"on {line.id}: written twice by a slip"
    for name in ("D999", "C0", "Z1", "1", "D1; DROP"):
        with pytest.raises(BadValue, match="There is no line"):
            book.day.note("a word", line=name, by="ann", key=name)
    with pytest.raises(BadValue, match="What is said"):
        book.day.note("\n", by="ann", key="c")
