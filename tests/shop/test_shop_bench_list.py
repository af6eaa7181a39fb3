"""The list of the cutting room: what is on it and in which order, its marks, its clean-downs."""

from __future__ import annotations

import doctest
from dataclasses import replace
from datetime import date, datetime, time, timedelta
from decimal import Decimal
from itertools import pairwise

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from collop.errors import BadValue, NotFound, WrongState
from collop.measures import Weight, WeightUnit
from collop.shop import (
    KeptPlan,
    NewBooking,
    NewLine,
    Person,
    Settings,
    StillClock,
    create_shop,
)
from collop.shop import bench_list_breaks as breaks_module
from collop.shop import clean_downs as clean_module
from collop.shop.bench_list import load_bench
from collop.shop.bench_list_lines import last_day
from collop.shop.bench_list_model import Kind, Station
from collop.shop.bench_list_room import BenchListRoom
from collop.shop.model import State
from collop.shop.tables import booking_events


def at(day, hour, month=6):
    """Return an hour of a day of summer 2026."""
    return datetime.combine(date(2026, month, day), time(hour))


TUESDAY = at(9, 8)
PLAN = {
    "unit": "lb", "days": [f"2026-06-{day:02}" for day in range(9, 16)],
    "bins": [{"id": "pork-trim", "name": "Pork trim"}],
    "makes": [
        {"cut": "C19", "name": "Pork links with rusk", "day": 2, "weight": "20.0",
         "from": [{"bin": "pork-trim", "weight": "18.4"}], "fat": 0.246, "minutes": "30"},
        {"cut": "C11", "name": "Beef mince", "day": 5, "weight": "9", "from": [], "fat": None,
         "minutes": "5"},
    ],
    "breaks": [
        {"tag": "B-41H", "of": None, "day": 2, "style": "hind",
         "style_name": "Hindquarter for the case", "say": "Break B-41H on Thursday.",
         "covers": [{"cut": "C13", "name": "Beef rump", "booking": None, "first_day": 2,
                     "last_day": 4},
                    {"cut": "C12", "name": "Beef fillet", "booking": "H9", "first_day": 3,
                     "last_day": 3}]},
        {"tag": "L-207", "of": None, "day": 0, "style": "s1", "style_name": "Lamb for the case",
         "say": "Now.",
         "covers": []},
        {"tag": "gone", "of": None, "day": 0, "style": "x", "style_name": "x", "say": "",
         "covers": []},
    ],
    "short": [{"booking": "H4", "cut": "C14", "weight": "2.2"}],
}  # fmt: skip


def lb(text):
    """Return a weight in pounds."""
    return Weight.of(text, WeightUnit.LB)


class Planned(BenchListRoom):
    """The list beside a plan that the test writes."""

    plan = PLAN

    def latest(self):
        """Return the test's plan, kept on Tuesday."""
        return KeptPlan(1, TUESDAY, self.plan, {}, (), is_current=True) if self.plan else None


@pytest.fixture
def bench(shop):
    return Planned(shop._room)


@pytest.fixture
def bare(shop):
    room = Planned(shop._room)
    room.plan = None
    return room


def finish(bench, line, key=None, **more):
    """Finish a line at the weight it was promised."""
    bench.done(line.id, line.weight, by="marek", key=key or f"d {line.id}", **more)


def ids(lines):
    """Return the ids of lines."""
    return [one.id for one in lines]


# what is on it


def test_bookings_wants_claims_and_makes_of_the_next_open_days_are_lines(bench):
    """Tuesday's list goes to Thursday: H4, H7, H3 on its lamb, H8, the want of H4, Thursday's make.

    The mince of Sunday and the bookings of Friday and Saturday are not on it yet.
    """
    on = bench.lines()
    kinds = {one.id: one.kind for one in on.lines}
    assert kinds["H4-1"] is Kind.BOOKED
    assert kinds["H4+C14"] is Kind.WANTED
    assert kinds["H3@L-209"] is Kind.HANGS
    assert kinds["make C19 2026-06-11"] is Kind.MAKE
    assert {one.booking_id for one in on.lines} == {"H4", "H7", "H3", "H8", None}
    assert on.line("H3@L-209").weight == lb("23.8")
    assert on.line("H3@L-209").how == ("half of it",)
    assert on.line("make C19 2026-06-11").how == ("18.40 lb Pork trim", "25 % fat")


def test_a_crumb_of_the_plan_is_no_line(bench):
    """0.04 lb of mince is what is left of the plan's sums, not work; 0.1 lb is."""
    make = PLAN["makes"][1] | {"day": 0}
    for weight, count in (("0.04", 0), ("0.1", 1)):
        bench.plan = PLAN | {"makes": [make | {"weight": weight}]}
        assert sum(one.kind is Kind.MAKE for one in bench.lines().lines) == count


def test_what_is_only_asked_or_came_further_is_no_work(shop, bench):
    """H10 is being quoted; a booking that was packed on the hook has no line left."""
    assert "H10" not in {one.booking_id for one in bench.lines().lines}
    shop.change_state("H7", State.PACKED, by="dot", key="p")
    assert "H7" not in {one.booking_id for one in bench.lines().lines}


def test_the_days_ahead_are_open_ones(shop):
    """From Saturday the next two open days are Tuesday and Wednesday."""
    chosen = shop.settings()
    assert last_day(date(2026, 6, 9), chosen) == date(2026, 6, 11)
    assert last_day(date(2026, 6, 13), chosen) == date(2026, 6, 17)
    assert last_day(date(2026, 6, 9), replace(chosen, open_days=())) == date(2026, 6, 23)


def test_overdue_lines_stay_for_a_fortnight(bench, clock):
    """On Friday the line of Tuesday still stands first; three weeks later it is no more."""
    clock.put(at(12, 8))
    assert bench.lines().lines[0].due == at(9, 11)
    clock.put(at(1, 8, month=7))
    assert bench.lines().lines == ()


def test_what_the_plan_cannot_cover_is_said_on_the_want(bench):
    """2.2 lb of hanger are short: on the want, not on what is reserved already."""
    on = bench.lines()
    assert on.line("H4+C14").short == lb("2.2")
    assert all(not one.short for one in on.lines if one.kind is Kind.BOOKED)


def test_a_want_says_from_which_make_it_comes(bench, clock):
    """The links of H6 for Saturday come from Thursday's make."""
    clock.put(at(11, 8))
    line = bench.lines().line("H6+C19")
    assert line.how == ("to make Thursday", "from the make of Thu")
    assert (line.station, line.casing, line.contains) == (Station.FILLER, "hog", ("wheat",))


def test_an_allergy_told_late_is_on_each_line_of_its_booking(bench, clock):
    """H2 tells of sesame only in words: every line says clean first, the thigh says ask."""
    clock.put(at(12, 8))
    lines = [one for one in bench.lines().lines if one.booking_id == "H2"]
    assert len(lines) == 5
    for one in lines:
        said = "this holds sesame, ask before it is cut" if one.case_id == "C25" else "clean first"
        assert one.cares == (f"sesame allergy: {said}",)


def test_asked_allergies_and_what_is_not_eaten_are_said(shop, bench):
    """As the ask has them; a word that covers more than itself counts for what it covers."""
    new = NewBooking(
        name="Tea", collect_at=at(10, 12), by="dot",
        ask={"contains": ["gluten"], "dont_eats": ["2 no pork"]},
        lines=(NewLine("C19", lb("1")), NewLine("C15", lb("1"))),
    )  # fmt: skip
    made = shop.book(new, key="b")
    on = bench.lines()
    assert on.line(f"{made.id}-1").cares == (
        "gluten allergy: this holds gluten, ask before it is cut", "2 no pork",
    )  # fmt: skip
    assert on.line(f"{made.id}-2").cares[0] == "gluten allergy: clean first"


# the order


def test_allergens_come_last_of_what_is_due_together(bench, clock):
    """On each day plain lines stand before those with an allergen; common practice, no source."""
    clock.put(at(12, 8))
    lines = [one for one in bench.lines().lines if one.due.date() == date(2026, 6, 12)]
    assert [bool(one.contains) for one in lines] == sorted(bool(one.contains) for one in lines)
    assert lines[-1].case_id == "C25"


def test_what_is_due_before_the_clean_down_comes_before_it(bench, clock):
    """Cleaned Monday 20:00, due Tuesday 12:00: all of H4, due 11:00, is first."""
    clock.put(at(8, 20))
    bench.clean_down(by="marek", key="c")
    clock.put(TUESDAY)
    assert bench.clean_due().due == at(9, 12)
    assert {one.booking_id for one in bench.lines().lines[:6]} == {"H4"}


def test_allergens_are_last_before_the_clean_down_not_of_the_day(shop, bench, clock):
    """Soy thighs at 11:00 and plain shin at 17:00: the thighs go first if all is cleaned at 12:00.

    Without a clean-down between them the plain line goes first (common practice, no source).
    """
    for hour, case_id in ((11, "C25"), (17, "C15")):
        new = NewBooking(name="Tea", collect_at=at(9, hour), by="dot",
                         lines=(NewLine(case_id, lb("1")),))  # fmt: skip
        shop.book(new, key=case_id)

    def order():
        found = [one.case_id for one in bench.lines().lines if one.who == "Tea"]
        assert len(found) == 2
        return found

    assert order() == ["C15", "C25"]
    clock.put(at(8, 20))
    bench.clean_down(by="marek", key="c")
    clock.put(TUESDAY)
    assert order() == ["C25", "C15"]


def test_like_work_of_one_hour_stands_together(bench):
    """Wednesday and Thursday: of each hour one station after the other, one animal too."""
    lines = [one for one in bench.lines().lines if one.due.date() > date(2026, 6, 9)]
    for due in {one.due for one in lines}:
        of_day = [one for one in lines if one.due == due and not one.contains]
        stations = [one.station.order for one in of_day]
        assert stations == sorted(stations)
        animals = [(one.station, one.species) for one in of_day]
        assert len(set(animals)) == len([1 for place, one in enumerate(animals)
                                         if place == 0 or animals[place - 1] != one])  # fmt: skip


@pytest.mark.parametrize("day", [9, 10])
def test_inside_a_day_the_hour_comes_first_and_what_has_none_last(shop, bench, day):
    """Links at 12:00 before shin at 17:30, of today and of tomorrow; the mince for the case after.

    With an allergen the links go last all the same.
    """
    for hour, case_id in ((17, "C15"), (12, "C20"), (12, "C19")):
        new = NewBooking(name="Tea", collect_at=at(day, hour) + timedelta(minutes=30), by="dot",
                         lines=(NewLine(case_id, lb("1")),))  # fmt: skip
        shop.book(new, key=case_id)
    bench.plan = PLAN | {"makes": [PLAN["makes"][1] | {"day": day - 9}]}
    found = [one for one in bench.lines().lines if one.who in {"Tea", "the case"}]
    with_allergen = {one.case_id for one in found if one.contains}
    assert "C19" in with_allergen
    assert [one.case_id for one in found if not one.contains] == [
        one for one in ("C20", "C15", "C11") if one not in with_allergen
    ]
    assert [bool(one.contains) for one in found] == sorted(bool(one.contains) for one in found)


def test_what_the_plan_grinds_is_work_at_the_grinder_before_the_makes(bench):
    """8 lb of shin and 3 of lamb neck, by animal; a crumb and another week are not on the list."""
    grind = {"cut": "C15", "name": "x", "bin": "beef-trim", "day": 0, "weight": "8.0",
             "gives": "7.6"}  # fmt: skip
    bench.plan = PLAN | {
        "makes": [PLAN["makes"][1] | {"day": 0}],
        "bins": [{"id": "beef-trim", "name": "Beef trim"},
                 {"id": "lamb-trim", "name": "Lamb trim"}],
        "grinds": [grind, grind | {"cut": "C01", "bin": "lamb-trim", "weight": "3"},
                   grind | {"cut": "C13"}, grind | {"cut": "C14", "weight": "0.09"},
                   grind | {"day": 5}, grind | {"cut": "unknown"}],
    }  # fmt: skip
    planned = [one for one in bench.lines().lines if one.kind.is_planned]
    assert [one.case_id for one in planned] == ["C13", "C15", "C01", "C11"]
    shin = planned[1]
    assert (shin.kind, shin.station, shin.weight) == (Kind.GRIND, Station.GRINDER, lb("8"))
    assert (shin.what, shin.how, shin.who) == (
        "Beef shin on the bone to trim", ("gives 7.60 lb",), "Beef trim")  # fmt: skip
    assert planned[2].what == "Lamb leg, bone in, to trim"
    assert planned[2].clean_first == "clean first: beef was on it"
    finish(bench, shin)
    assert bench.lines().finished[0].id == "grind C15 beef-trim 2026-06-09"


def test_another_animal_on_the_same_station_is_cleaned_for_unless_heat_rises(bench, clock):
    """MN0845 and WA04605 (seen): beef to lamb clean; beef to chicken, hotter, not."""
    on = bench.lines()
    assert on.line("H4-1").clean_first == "clean first: beef was on it"
    clock.put(at(12, 8))
    chicken = next(one for one in bench.lines().lines if one.case_id == "C23")
    assert chicken.clean_first == ""


def test_what_was_just_finished_counts_as_on_the_station(bench, clock):
    """Lamb done last: the next beef is cleaned for, until a clean-down is on record."""
    lamb = bench.lines().line("H4-1")
    finish(bench, lamb)
    first = next(one for one in bench.lines().lines if one.station is Station.BLOCK)
    assert (first.species, first.clean_first) == ("beef", "clean first: lamb was on it")
    clock.put(TUESDAY + timedelta(minutes=5))
    bench.clean_down(by="marek", key="c")
    first = next(one for one in bench.lines().lines if one.station is Station.BLOCK)
    assert first.clean_first == ""


@given(
    st.lists(
        st.tuples(st.sampled_from(["beef", "lamb", "chicken"]),
                  st.sampled_from([None, Decimal(145), Decimal(155), Decimal(165)])),
        min_size=2, max_size=6,
    )
)  # fmt: skip
@settings(suppress_health_check=[HealthCheck.too_slow])
def test_cleaning_between_is_needed_exactly_where_the_rule_says(pairs):
    """A different raw animal without a higher cooking temperature, and nothing else."""
    for before, after in pairwise(pairs):
        needed = (
            None not in {before[1], after[1]}
            and before[0] != after[0]
            and not after[1] > before[1]
        )  # fmt: skip
        assert bool(clean_module.clean_between(before, after)) is needed


# numbers and what was seen


def test_reading_writes_nothing_and_numbers_stand_for_the_day(bench):
    """Read twice the same; seen, then with a line done, every other line keeps its number."""
    before = {one.id: one.number for one in bench.lines().lines}
    assert {one.id: one.number for one in bench.lines().lines} == before
    assert sorted(before.values()) == list(range(1, len(before) + 1))
    assert not bench.lines().was_seen
    bench.seen(bench.lines().digest, key="s")
    finish(bench, bench.lines().lines[0])
    after = {one.id: one.number for one in (*bench.lines().lines, *bench.lines().finished)}
    assert after == before


def test_a_number_of_today_is_not_given_twice(shop, bench):
    """A line that comes later gets the next number, even if it stands first."""
    bench.seen(bench.lines().digest, key="s")
    most = max(one.number for one in bench.lines().lines)
    new = NewBooking(name="Soon", collect_at=at(9, 9), by="dot",
                     lines=(NewLine("C15", lb("2")),))  # fmt: skip
    made = shop.book(new, key="b")
    line = bench.lines().lines[0]
    assert (line.id, line.number, line.is_new) == (f"{made.id}-1", most + 1, True)


def test_nothing_turns_new_because_a_line_was_done(bench):
    """Nobody marked the list as seen today, so done of one line says nothing of the others."""
    finish(bench, bench.lines().lines[0])
    on = bench.lines()
    assert not any(one.is_new for one in on.lines)
    assert (on.was_seen, on.has_news) == (False, True)


def test_what_was_seen_yesterday_alone_makes_nothing_new_today(shop, bench, clock):
    """A line that came overnight is NEW only beside a list that was seen today."""
    bench.seen(bench.lines().digest, key="s")
    clock.put(at(10, 8))
    assert not any(one.is_new for one in bench.lines().lines)
    bench.seen(bench.lines().digest, key="s2")
    new = NewBooking(name="Soon", collect_at=at(10, 9), by="dot",
                     lines=(NewLine("C15", lb("2")),))  # fmt: skip
    made = shop.book(new, key="b")
    assert [one.id for one in bench.lines().lines if one.is_new] == [f"{made.id}-1"]


def test_on_the_next_day_numbers_begin_again(bench, clock):
    """What was 5 on Tuesday may be 1 on Wednesday, and the list is not yet seen that day."""
    bench.seen(bench.lines().digest, key="s")
    clock.put(at(10, 8))
    on = bench.lines()
    assert [one.number for one in on.lines] == list(range(1, len(on.lines) + 1))
    assert (on.was_seen, on.has_news) == (False, True)


def test_a_changed_want_shows_its_old_weight_until_seen(shop, bench, clock):
    """20 lb become 21.5: CHANGED with the old weight; seen, it is plain again."""
    clock.put(at(11, 8))
    bench.seen(bench.lines().digest, key="s")
    assert not bench.lines().has_news
    shop.bench.want("H6", "C19", lb("21.5"), by="dot", key="w", note="to make Thursday")
    line = bench.lines().line("H6+C19")
    assert (line.was, line.weight, bench.lines().has_news) == (
        {"weight": lb("20")}, lb("21.5"), True,
    )  # fmt: skip
    bench.seen(bench.lines().digest, key="s2")
    assert bench.lines().line("H6+C19").was is None


def test_a_list_that_moved_on_cannot_be_marked_as_seen(shop, bench):
    """A change nobody saw would be lost: refused, and nothing is marked."""
    digest = bench.lines().digest
    shop.bench.want("H7", "C15", lb("1"), by="dot", key="w", note="")
    with pytest.raises(WrongState, match="changed while it was looked at"):
        bench.seen(digest, key="s")
    assert not bench.lines().was_seen


def test_a_cancelled_booking_stays_crossed_until_it_is_touched(shop, bench):
    """H8 rings off: OFF, with what it was; touched, it is gone. Nothing else can be touched off."""
    bench.seen(bench.lines().digest, key="s")
    shop.release("H8", by="dot", key="r", why="they rang off")
    line = bench.lines().line("H8-1")
    assert (line.is_off, line.what, line.weight) == (True, "Beef short ribs", lb("5"))
    with pytest.raises(WrongState, match="is off"):
        finish(bench, line)
    with pytest.raises(WrongState, match="still wanted"):
        bench.cross_off("H7-1", key="x0")
    bench.cross_off("H8-1", key="x")
    assert bench.lines().line("H8-1") is None


def test_a_cancelled_line_that_nobody_saw_is_just_gone(shop, bench):
    """There is nothing to unlearn."""
    shop.release("H8", by="dot", key="r", why="they rang off")
    assert bench.lines().line("H8-1") is None


def test_a_line_that_is_cut_already_says_so_when_it_is_called_off(shop, bench):
    """The counter must hear that 5 lb of short rib lie there."""
    finish(bench, bench.lines().line("H8-1"))
    shop.release("H8", by="dot", key="r", why="they rang off")
    line = bench.lines().line("H8-1")
    assert line.is_off
    assert line.done.weight == lb("5")


def test_a_want_that_is_taken_back_and_a_make_the_plan_drops_are_off(shop, bench, clock):
    """Both stay crossed; with no plan at all nothing is said of makes."""
    clock.put(at(11, 8))
    bench.seen(bench.lines().digest, key="s")
    shop.bench.want("H6", "C19", lb("0"), by="dot", key="w", note="")
    bench.plan = PLAN | {"makes": []}
    off = [one.id for one in bench.lines().lines if one.is_off]
    assert sorted(off) == ["H6+C19", "make C19 2026-06-11"]
    bench.plan = None
    assert [one.id for one in bench.lines().lines if one.is_off] == ["H6+C19"]


def test_what_was_handed_over_is_not_called_off(shop, bench):
    """A booking that went from the counter leaves the list without a word."""
    bench.seen(bench.lines().digest, key="s")
    shop.hand_over("H7", {one.id: one.weight for one in shop.booking("H7").lines}, by="dot",
                   key="h")  # fmt: skip
    assert "H7" not in {one.booking_id for one in bench.lines().lines}


# done, undone, corrected


def test_a_finished_line_leaves_the_list_with_its_weight(bench):
    """Done today, by whom, at what the scale said."""
    line = bench.lines().line("H8-1")
    bench.done(line.id, lb("5.15"), by="Kofi", key="d")
    on = bench.lines()
    assert line.id not in ids(on.lines)
    found = on.finished[0]
    assert (found.done.weight, found.done.by, found.done.lasts) == (lb("5.15"), "kofi", True)
    assert found.number == line.number


def test_the_last_line_of_a_booking_makes_it_cut(shop, bench):
    """H7 has two lines: booked after the first, cut after the second."""
    first, second = [one for one in bench.lines().lines if one.booking_id == "H7"]
    finish(bench, first)
    assert shop.booking("H7").state is State.BOOKED
    finish(bench, second)
    assert shop.booking("H7").state is State.CUT
    assert shop.booking("H7").events[-1].why == "all lines weighed at the bench"


def test_undo_within_the_hour_puts_line_and_booking_back(shop, bench, clock):
    """The line waits again and the booking is booked; the other line stays finished."""
    lines = [one for one in bench.lines().lines if one.booking_id == "H7"]
    for one in lines:
        finish(bench, one)
    clock.put(TUESDAY + timedelta(minutes=60))
    bench.undo(lines[0].id, by="marek", key="u")
    on = bench.lines()
    assert shop.booking("H7").state is State.BOOKED
    assert lines[0].id in ids(on.lines)
    assert ids(on.finished) == [lines[1].id]
    finish(bench, lines[0], key="again")
    assert shop.booking("H7").state is State.CUT


def test_after_the_hour_a_line_is_corrected_not_undone(bench, clock):
    """Undo is refused in words; a second weight counts, and the first stays beside it."""
    line = bench.lines().line("H8-1")
    finish(bench, line)
    clock.put(TUESDAY + timedelta(minutes=61))
    with pytest.raises(WrongState, match="over an hour ago; correct"):
        bench.undo(line.id, by="marek", key="u")
    bench.done(line.id, lb("4.8"), by="marek", key="d2")
    done = bench.lines().finished[0].done
    assert (done.weight, done.before) == (lb("4.8"), lb("5"))


def test_what_the_counter_took_further_cannot_be_undone_at_the_bench(shop, bench):
    """H8 is packed by now."""
    finish(bench, bench.lines().line("H8-1"))
    shop.change_state("H8", State.PACKED, by="dot", key="p")
    with pytest.raises(WrongState, match="H8 is packed by now"):
        bench.undo("H8-1", by="marek", key="u")
    assert bench.lines().finished[0].id == "H8-1"


def test_a_want_that_comes_after_the_cut_is_work_again(shop, bench, clock):
    """H8 is cut and asks for a pound of shin more."""
    finish(bench, bench.lines().line("H8-1"))
    clock.put(TUESDAY + timedelta(minutes=5))
    shop.bench.want("H8", "C15", lb("1"), by="dot", key="w", note="")
    assert "H8+C15" in ids(bench.lines().lines)


def test_one_touch_sent_twice_is_done_once(shop, bench):
    """The same key again changes nothing."""
    line = bench.lines().line("H8-1")
    for _ in range(2):
        finish(bench, line)
    assert len(bench.lines().finished) == 1
    with shop._room.store.read() as conn:
        rows = conn.execute(booking_events.select()).all()
    assert sum(row.why.startswith("all lines") for row in rows) == 1


@pytest.mark.parametrize(
    ("weight", "said"),
    [("0", "weighs nothing"), ("-1", "weighs nothing"), ("3.9", "5.00 lb is wanted"),
     ("6.1", "5.00 lb is wanted")],
)  # fmt: skip
def test_a_weight_that_cannot_be_or_is_far_off_is_asked_about(bench, weight, said):
    """Nothing is never right; over a fifth off (a figure of ours) is, if it is said to be."""
    with pytest.raises(BadValue, match=said):
        bench.done("H8-1", lb(weight), by="marek", key="d")
    assert "H8-1" in ids(bench.lines().lines)
    if not said.startswith("weighs"):
        bench.done("H8-1", lb(weight), by="marek", key="d2", sure=True)
        assert bench.lines().finished[0].done.weight == lb(weight)


def test_more_than_is_there_by_the_plan_is_asked_about(bench):
    """Of 5 lb 2.2 are short: 5 asks, 2.8 does not, 2.0 is far from it, and 5 goes if it is sure."""
    bench.plan = PLAN | {"short": [{"booking": "H8", "cut": "C16", "weight": "2.2"}]}
    line = bench.lines().line("H8-1")
    bench.plan["short"][0]["cut"] = line.case_id
    line = bench.lines().line("H8-1")
    assert (line.short, line.there) == (lb("2.2"), lb("2.8"))
    with pytest.raises(BadValue, match=r"the plan says 2\.20 lb of this is not there; weigh what"):
        bench.done("H8-1", lb("5"), by="marek", key="d1")
    with pytest.raises(
        BadValue, match=r"2\.80 lb is there by the plan and the scale says 2\.00 lb"
    ):
        bench.done("H8-1", lb("2"), by="marek", key="d2")
    with pytest.raises(BadValue, match=r"the plan says 0\.998 kg of this is not there"):
        bench.done("H8-1", Weight.of("2.3", WeightUnit.KG), by="marek", key="d3")
    bench.done("H8-1", lb("2.8"), by="marek", key="d4")
    bench.done("H8-1", lb("5"), by="marek", key="d5", sure=True)
    assert bench.lines().finished[0].done.weight == lb("5")


def test_of_what_is_not_there_at_all_any_weight_is_asked_about(bench):
    """The want of H4 is short as a whole."""
    assert bench.lines().line("H4+C14").there == lb("0")
    with pytest.raises(BadValue, match=r"2\.20 lb of this is not there"):
        bench.done("H4+C14", lb("0.1"), by="marek", key="d")


def test_what_is_entered_later_keeps_the_written_time(bench, clock):
    """07:30 on the paper is kept beside 08:00; a time to come is refused."""
    finish(bench, bench.lines().line("H8-1"), written=time(7, 30))
    done = bench.lines().finished[0].done
    assert (done.written, done.at) == (time(7, 30), TUESDAY)
    with pytest.raises(BadValue, match="09:00 is still to come"):
        finish(bench, bench.lines().line("H4-1"), written=time(9, 0))


def test_a_line_that_is_not_there_is_said(bench):
    """Done, undo and cross off of an unknown line."""
    for act in (
        lambda: bench.done("H99-1", lb("1"), by="marek", key="a"),
        lambda: bench.undo("x" * 500, by="marek", key="b"),
        lambda: bench.cross_off("", key="c"),
    ):
        with pytest.raises(NotFound, match="not on the list any more"):
            act()
    with pytest.raises(WrongState, match="nothing to undo"):
        bench.undo("H8-1", by="marek", key="d")


# what is broken next


def test_breaks_come_from_the_plan_with_what_they_cover(bench, clock):
    """Today's first; on Thursday the hindquarter for rump until Saturday and the fillet of H9."""
    assert [one.tag for one in bench.lines().breaks] == ["L-207"]
    clock.put(at(11, 8))
    found = {one.tag: one for one in bench.lines().breaks}
    assert found["B-41H"].covers == ("Beef fillet H9", "Beef rump Sat")
    assert (found["B-41H"].style, found["B-41H"].days) == ("Hindquarter for the case", 16)
    assert "gone" not in found


def test_without_a_plan_the_days_of_the_rail_count(bare, clock):
    """Lambs and kid on Tuesday; later what is overdue too."""
    assert {one.tag for one in bare.lines().breaks} == {"L-207", "L-208", "G-031"}
    clock.put(at(10, 8))
    found = {one.tag: one for one in bare.lines().breaks}
    assert found["L-209"].covers == ("H3 Household freezer order",)
    assert all(one.day == date(2026, 6, 10) for one in found.values())


def test_a_plan_whose_days_are_over_is_not_followed(bench, clock):
    """In July the plan of June makes nothing."""
    clock.put(at(20, 8))
    on = bench.lines()
    assert on.plan_at is None
    assert all(one.kind is not Kind.MAKE for one in on.lines)


def test_with_nothing_due_today_the_next_break_is_told(bare, clock):
    """On Monday nothing is planned for the day: the soonest to come is shown with its day."""
    clock.put(at(8, 7))
    assert [one.day for one in bare.lines().breaks] == [date(2026, 6, 9)]


def test_what_is_under_the_knife_stands_first(shop, bare):
    """With the number of its break, to go on with."""
    begun = shop.cutting.start_break("L-208", shop.cutting.styles_for("L-208")[0].id, by="marek",
                                     key="k")  # fmt: skip
    first = bare.lines().breaks[0]
    assert (first.tag, first.under) == ("L-208", begun.number)
    assert [one.tag for one in bare.lines().breaks].count("L-208") == 1


def test_many_covers_are_cut_short():
    """Four are named, the rest counted; a single fifth is named too."""

    def made(count):
        return {"covers": [{"name": f"Cut {at}", "booking": "H1", "first_day": 0, "last_day": 0}
                           for at in range(count)]}  # fmt: skip

    assert breaks_module.covers_of(made(7), [])[-1] == "3 more"
    assert len(breaks_module.covers_of(made(5), [])) == 5


def test_the_plans_style_is_found_among_the_shops(shop, bench):
    """By its id, or by its name where the plan wrote the kind beside the id; else none."""
    styles = shop.cutting.styles_for("L-207")
    first = styles[0]

    def found(**made):
        plan = {"breaks": [{"tag": "L-207", "of": None} | made]}
        return breaks_module.planned_style(plan, "L-207", styles)

    assert found(style=first.id, style_name="other") == first.id
    assert found(style=f"{first.id} (lamb)", style_name=first.name) == first.id
    assert found(style="x", style_name="x") == ""
    assert breaks_module.planned_style(None, "L-207", styles) == ""
    assert breaks_module.planned_style(PLAN, "L-999", styles) == ""


# clean-downs


def test_the_next_clean_down_is_due_by_the_rooms_temperature(shop, bench, clock):
    """MN0845 (seen): at 50 F 16 h after the last; at 41 F 24 h."""
    assert bench.clean_due().due == bench.clean_due().last + timedelta(hours=16)
    bench.clean_down(by="marek", key="c")
    due = bench.clean_due()
    assert (due.last, due.due, due.by) == (TUESDAY, at(10, 0), "marek")
    assert "4626.0845" in due.source
    shop.change_settings({"cut_room_f": Decimal(41)}, by="ines", why="new cooler", key="s")
    assert bench.clean_due().due == TUESDAY + timedelta(hours=24)
    clock.put(TUESDAY + timedelta(hours=24))
    assert not bench.clean_due().is_late
    clock.put(TUESDAY + timedelta(hours=24, seconds=1))
    assert bench.clean_due().is_late


def test_a_clean_down_by_a_slip_of_the_hand_is_taken_back(bench, clock):
    """Within the hour, then it stays; the one before counts again."""
    bench.clean_down(by="marek", key="c1")
    clock.put(TUESDAY + timedelta(hours=2))
    bench.clean_down(by="kofi", key="c2")
    bench.take_back_clean_down(by="kofi", key="b")
    assert bench.clean_due().last == TUESDAY
    with pytest.raises(WrongState, match="over an hour old"):
        bench.take_back_clean_down(by="kofi", key="b2")


def test_no_clean_down_can_be_taken_back_if_there_is_none(new_url, clock):
    """Said in words, in a shop that has none yet."""
    people = [Person("kofi", "Kofi")]
    with create_shop(new_url(), settings=Settings("Bare"), people=people, clock=clock) as bare:
        assert bare.bench.clean_due().due is None
        with pytest.raises(WrongState, match="No clean-down is on record"):
            bare.bench.take_back_clean_down(by="kofi", key="b")


def test_two_touches_within_a_minute_are_one_clean_down(bench, clock):
    """The second writes nothing, so one taking back takes it away."""
    before = bench.clean_due().last
    bench.clean_down(by="marek", key="c1")
    clock.put(TUESDAY + timedelta(seconds=30))
    bench.clean_down(by="marek", key="c2")
    bench.take_back_clean_down(by="marek", key="b")
    assert bench.clean_due().last == before != TUESDAY


@pytest.mark.parametrize("what", ["", " ", "x" * 121, "taken back"])
def test_a_clean_down_of_nothing_is_refused(bench, what):
    """It must say what was cleaned."""
    with pytest.raises(BadValue, match="Say what was cleaned down"):
        bench.clean_down(by="marek", key="c", what=what)


def test_somebody_who_works_here_cleans_down_and_weighs(bench):
    """An unknown name writes nothing."""
    with pytest.raises(NotFound, match="Nobody called"):
        bench.clean_down(by="ghost", key="c")
    with pytest.raises(NotFound, match="Nobody called"):
        bench.done("H8-1", lb("5"), by="ghost", key="d")


# empty, large, whole


def test_an_empty_list_tells_where_the_case_is_thin(shop, bare, clock):
    """What lasts less than two days, the thinnest first; in July nothing is booked at all."""
    thin = bare.lines().thin
    case = {line.name: line.cover_days for line in shop.case()}
    cover = [case[name] for name in thin]
    assert thin[:2] == ("Beef brisket", "Beef hanger and skirt")
    assert cover == sorted(cover)
    assert all(days < 2 for days in cover)
    assert "Beef short ribs" not in thin
    clock.put(at(14, 8, month=7))
    assert bare.lines().lines == ()


def test_a_shop_with_nothing_in_it_has_an_empty_list(new_url):
    """No line, no break, no clean-down, nothing thin."""
    with create_shop(new_url(), settings=Settings("Ours"),
                     clock=StillClock()) as empty:  # fmt: skip
        on = empty.bench.lines()
        assert (on.lines, on.finished, on.breaks, on.thin) == ((), (), (), ())


def test_the_shops_own_bench_has_the_list(shop):
    """`Shop.bench` reads and marks without a plan kept."""
    on = shop.bench.lines()
    shop.bench.seen(on.digest, key="s", by="marek")
    shop.bench.done(on.lines[0].id, on.lines[0].weight, by="marek", key="d")
    shop.bench.undo(on.lines[0].id, by="marek", key="u")
    assert shop.bench.lines().was_seen


def test_only_what_differs_is_written_when_the_list_is_seen(shop, bench):
    """Seen again without a change, no row is added."""
    with shop._room.store.read() as conn:

        def rows():
            return len(conn.exec_driver_sql("SELECT seq FROM bench_marks").all())

        bench.seen(bench.lines().digest, key="s1")
        first = rows()
        bench.seen(bench.lines().digest, key="s2")
        assert rows() == first == len(bench.lines().lines)


def test_a_plan_given_by_hand_is_read_at_any_moment(shop):
    """`load_bench` needs a connection, a moment and a plan, nothing else."""
    with shop._room.store.read() as conn:
        on = load_bench(conn, TUESDAY, shop.settings(), PLAN, TUESDAY)
    assert (on.plan_at, on.day) == (TUESDAY, date(2026, 6, 9))


def test_the_examples_hold():
    """The figures in the docstrings are what the functions return."""
    for module in (breaks_module, clean_module):
        result = doctest.testmod(module)
        assert (result.attempted > 0, result.failed) == (True, 0)
