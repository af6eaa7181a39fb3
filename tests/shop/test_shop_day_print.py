"""Clean-downs as the book keeps them, the 90-day print, its table, and the demo's own book."""

from __future__ import annotations

import csv
import io
from datetime import date, datetime, timedelta

import pytest
from sqlalchemy import event

from collop.errors import BadValue
from collop.measures import Temperature
from collop.shop import Person, Settings, StillClock, Told, create_shop, open_shop
from collop.shop.clean_downs import standing_clean_downs
from collop.shop.day_print import COLUMNS, as_csv

FIRST, LAST = date(2026, 3, 12), date(2026, 6, 9)


def at(hour, minute=0, day=9):
    """Return a moment of June 2026."""
    return datetime(2026, 6, day, hour, minute)  # noqa: DTZ001 -- shop-local


def f(amount):
    """Return a temperature in degF."""
    return Temperature.fahrenheit(str(amount))


@pytest.fixture(scope="module")
def bare(places):
    """Return the address of a shop of one person in which nothing was ever written."""
    url = places.new("bare")
    create_shop(url, settings=Settings("Ours"), people=[Person("ann", "Ann")]).close()
    return url


@pytest.fixture
def ours(bare, places):
    clock, copy = StillClock(at(8)), places.copy(bare)
    with open_shop(copy, clock) as made:
        made.still = clock
        yield made
    places.drop(copy)


# clean-downs


def test_the_warmest_reading_since_the_last_clean_down_says_when_the_next_is_due(ours):
    """MN0845 (seen): 16 h at 50 F, 10 h at 52 F; the setting counts only where nobody read."""
    ours.day.set_place(None, "Room", kind="room", limit=f(50), why="x", by="ann", key="p")
    due = ours.day.clean_down(by="ann", key="c")
    assert due.due == at(8) + timedelta(hours=16)
    for amount, hours in ((48, 16), (52, 10), (46, 10)):
        ours.still.put(ours.still.now() + timedelta(minutes=5))
        ours.day.check_cold("room", f(amount), by="ann", key=f"r{amount}")
        assert ours.day.clean_due().due == at(8) + timedelta(hours=hours)
    assert ours.day.clean_due().room == f(52)
    line = next(one for one in ours.day.page().lines if one.said.startswith("52"))
    ours.day.take_back(line.id, why="wrong room", by="ann", key="b")
    assert ours.day.clean_due().due == at(8) + timedelta(hours=16)


def test_a_clean_down_of_one_thing_moves_nothing_for_the_room(ours):
    """The grinder was stripped; the room is due as before, and both stand."""
    ours.day.clean_down(by="ann", key="c")
    ours.still.put(at(12))
    due = ours.day.clean_down("grinder", words="quat, 200 mg/L", by="ann", key="g")
    assert (due.last, due.due) == (at(8), at(0, 0, day=10))
    assert not due.may_take_back
    found = ours.day.clean_downs(at(0), at(23))
    assert [(one.what, one.done_at, one.words) for one in found] == [
        ("cutting room", at(8), ""), ("grinder", at(12), "quat, 200 mg/L"),
    ]  # fmt: skip


def test_a_clean_down_entered_later_says_both_times_and_counts_from_when_it_was_done(ours):
    """Done 07:30, written 08:00: due from 07:30; one of yesterday moves nothing."""
    due = ours.day.clean_down(done_at=at(7, 30), room=f(40), by="ann", key="c")
    assert (due.last, due.due, due.room) == (at(7, 30), at(7, 30, day=10), f(40))
    later = ours.day.clean_down(done_at=at(18, 0, day=8), by="ann", key="d")
    assert later.last == at(7, 30)
    line = next(one for one in ours.day.page().lines if one.id == "C1")
    assert (line.is_late, line.done_at, line.at) == (True, at(7, 30), at(8))
    with pytest.raises(BadValue, match="lies ahead"):
        ours.day.clean_down(done_at=at(9), by="ann", key="e")


def test_a_clean_down_taken_back_stands_no_more_and_both_lines_stay(ours):
    """The book shows both; what reads standing clean-downs sees neither."""
    ours.day.clean_down(by="ann", key="c")
    ours.still.put(at(8, 5))
    ours.day.take_back_clean_down(by="ann", key="b")
    with ours._room.store.read() as conn:
        assert standing_clean_downs(conn, at(0), at(23)) == ()
    lines = [one for one in ours.day.page().lines if one.tile == "clean"]
    assert [(one.id, one.corrected_by, one.corrects) for one in lines] == [
        ("C1", "C2", ""), ("C2", "", "C1"),
    ]  # fmt: skip


def test_an_open_day_without_a_clean_down_is_a_gap(ours):
    """Told the day after, from the first clean-down on; a shut day is none."""
    ours.day.clean_down(by="ann", key="c")
    ours.still.put(at(8, 0, day=16))
    gaps = [gap.due.date().day for gap in ours.day.inspector(LAST, date(2026, 6, 16)).gaps]
    assert gaps == [10, 11, 12, 13]


# the print


def test_the_print_of_the_demo_is_complete_and_its_gaps_are_on_top(shop):
    """Every check written is in it, each once; two honest gaps, one time over the limit."""
    book = shop.day.inspector(FIRST, LAST)
    with shop._room.store.read() as conn:
        checks = conn.exec_driver_sql("SELECT count(*) FROM day_checks").scalar()
        cleans = conn.exec_driver_sql("SELECT count(*) FROM clean_downs").scalar()
        doors = conn.exec_driver_sql("SELECT count(*) FROM deliveries").scalar()
    ids = [line.id for lines in book.lines.values() for line in lines]
    assert len(ids) == len(set(ids))
    assert sum(one[0] == "D" for one in ids) == checks
    assert sum(one[0] == "C" for one in ids) == cleans
    assert sum(one[0] == "R" for one in ids) == doors
    assert [(gap.name, gap.due.isoformat(timespec="minutes")) for gap in book.gaps] == [
        ("Freezer", "2026-05-28T13:00"), ("Cutting room", "2026-06-03T17:30"),
    ]  # fmt: skip
    (over,) = book.over
    assert (over.name, over.at_least_min, over.at_most_min) == ("Case", 29, 351)
    assert all(line.at < datetime(2026, 6, 9, 8) for lines in book.lines.values()  # noqa: DTZ001
               for line in lines)  # fmt: skip


def test_the_print_asks_the_database_as_often_for_90_days_as_for_one(shop):
    """A handful of questions, however many lines there are."""

    def asked(first):
        seen = []
        engine = shop._room.store._reader
        listen = lambda *args: seen.append(args[2])  # noqa: E731
        event.listen(engine, "before_cursor_execute", listen)
        shop.day.inspector(first, LAST)
        event.remove(engine, "before_cursor_execute", listen)
        return len([one for one in seen if one.lstrip().upper().startswith("SELECT")])

    # 16 of them are of the one mince lot of the demo
    assert asked(FIRST) == asked(LAST) <= 40


@pytest.mark.parametrize(("first", "last"), [(LAST, FIRST), (date(2026, 3, 11), LAST)])
def test_days_the_wrong_way_round_or_over_ninety_are_refused(shop, first, last):
    """In one sentence."""
    with pytest.raises(BadValue) as refused:
        shop.day.inspector(first, last)
    assert refused.value.where == "from"


@pytest.mark.parametrize("text", ["=1+1", "+1", "-1", "@cmd", "\t=1", "'=1"])
def test_no_cell_of_the_table_is_a_formula(ours, text):
    """What a spreadsheet would work out gets a mark before it."""
    ours.day.set_place(None, "Case", kind="chilled", limit=f(41), why="x", by="ann", key="p")
    told = Told(text.strip() or text, text.strip() or text)
    ours.day.check_cold("case", f(44), told=told, by="ann", key="k")
    table = as_csv(ours.day.inspector(LAST, LAST).as_rows({"ann": text}))
    rows = list(csv.DictReader(io.StringIO(table)))
    assert tuple(rows[0]) == COLUMNS
    for row in rows:
        for cell in row.values():
            assert not cell.startswith(("=", "+", "-", "@", "\t", "\r"))
    line = next(row for row in rows if row["over"] == "yes")
    assert line["action"].removeprefix("'") == told.action.removeprefix("'")


def test_the_demo_keeps_one_correction_and_late_entries_from_paper(shop):
    """28 for 38 on the 26th; the first round of the 30th came from a sheet."""
    corrected = [line for line in shop.day.page(date(2026, 5, 26)).lines if line.corrected_by]
    assert [line.words for line in shop.day.page(date(2026, 5, 26)).lines if line.corrects] == [
        "28 was typed for 38"
    ]
    assert len(corrected) == 1
    late = [line for line in shop.day.page(date(2026, 5, 30)).lines if line.is_late]
    assert [line.words for line in late] == [
        f"from paper: 260530-0700 line {number}" for number in (1, 2, 3, 4)
    ]


def test_the_breaking_day_begins_with_the_book_of_the_weeks_before(monday):
    """Nothing in it lies ahead of Monday 06:00."""
    book = monday.day.inspector(FIRST, date(2026, 6, 8))
    assert len(book.gaps) == 2
    assert max(line.at for lines in book.lines.values() for line in lines) < at(6, 0, day=8)


def test_an_empty_book_says_so_and_tells_no_gap(ours):
    """No place, no clean-down, no line: nothing is invented."""
    on = ours.day.page()
    assert (on.lines, on.gaps, on.rounds, on.over) == ((), (), (), ())
    words = {tile.key: tile.words for tile in on.tiles}
    assert words["cold"] == "name your fridges first"
    assert words["clean"] == "no clean-down of the room on record yet"
    assert ours.day.inspector(FIRST, LAST).gaps == ()
