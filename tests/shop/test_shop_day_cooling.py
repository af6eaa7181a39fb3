"""Animals that came warm as the law allows: due until a line says cold; what was late is a gap."""

from __future__ import annotations

from datetime import datetime, timedelta

import pytest
from making_floor import KILLED
from wished import lb

from collop.errors import BadValue, NotFound, WrongState
from collop.measures import Temperature
from collop.reference.rulebook import rule_row
from collop.shop import Arrival, NewDelivery, NewPiece, Told

TOLD = Told("moved beside the fan", "Ines")


def at(hour, minute=0, day=9):
    """Return a moment of June 2026."""
    return datetime(2026, 6, day, hour, minute)  # noqa: DTZ001 -- shop-local


def f(amount):
    """Return a temperature in degF."""
    return Temperature.fahrenheit(str(amount))


class Door:
    """A lamb that came at 08:00 at 50 F, and a person with a thermometer."""

    def __init__(self, shop, clock):
        self.shop, self.clock, self.keys = shop, clock, 0

    def take_in(self, tag="L-301"):
        """Take a warm lamb in, as the law allows."""
        self.shop.cutting.receive(
            NewDelivery(tag=tag, species="lamb", farm="Hill", invoiced=lb("50"), killed_on=KILLED,
                        pieces=[NewPiece(tag, "whole", "lamb carcass", lb("50"))],
                        temperature=f(50), arrived_warm_as_law_allows=True,
                        papers=("inspection mark", "invoice")),
            by="ines", key=f"in-{tag}",
        )  # fmt: skip

    def read(self, amount, when, tag="L-301", **more):
        """Write what it was read at, after putting the clock to `when`."""
        self.clock.put(when)
        self.keys += 1
        more = {"by": "kofi", "key": f"c{self.keys}"} | more
        return self.shop.day.check_cooled(tag, f(amount), **more)

    def tile(self):
        """Return state and words of the tile of the door."""
        tile = next(one for one in self.shop.day.page().tiles if one.key == "receive")
        return tile.state, tile.due, tile.words

    def gaps(self, day=9):
        """Return the gaps of the door on a day."""
        page = self.shop.day.page(at(8, day=day).date())
        return [(one.name, one.due, one.words, one.entered and one.entered.id)
                for one in page.gaps if one.tile == "receive"]  # fmt: skip


@pytest.fixture
def door(shop, clock):
    one = Door(shop, clock)
    one.take_in()
    return one


def test_the_four_hours_and_the_figure_are_those_of_the_published_rule(door):
    """Wisconsin Food Code 3-501.14(C) (source id WI501_14, row SF002, seen): 41 F within 4 h."""
    row = rule_row("SF002")
    assert (row.is_cited, row.figure, row.source.source_id) == (True, 41, "WI501_14")
    (warm,) = door.shop.day.to_cool()
    assert warm.cool_by - warm.came == timedelta(hours=4)
    line = door.read("41.0", at(12))
    assert (line.is_warm, line.source) == (False, row.citation())
    assert door.shop.day.to_cool() == ()


def test_it_is_due_until_a_line_says_that_it_is_cold(door):
    """A reading still warm before its hour is written and the tile goes on asking."""
    asks = "write when L-301 is cold; it came warm"
    assert door.tile() == ("due", at(12), asks)
    line = door.read(46, at(10))
    assert (line.is_warm, line.is_over, line.is_refused) == (True, False, False)
    assert line.said == "46 °F (7.8 °C); to be cold by Tue 9 Jun 12:00, still warm"
    assert door.tile() == ("due", at(12), asks)
    assert door.read(40, at(11, 30)).said.endswith(", is cold")
    assert door.tile()[0] == "none"
    door.clock.put(at(13))
    assert door.gaps() == []


def test_the_tile_does_not_forget_it_when_its_hour_is_past(door):
    """After noon it is late, and the book has a gap; a week later only the gap stays."""
    door.clock.put(at(12, 1))
    assert door.tile()[:2] == ("late", at(12))
    gap = ("L-301", at(12), "not shown to be cold by its hour", None)
    assert door.gaps() == [gap]
    door.clock.put(at(12, 1, day=16))
    assert door.tile()[0] == "none"
    assert door.gaps() == [gap]
    book = door.shop.day.inspector(at(8).date(), at(8, day=16).date())
    assert gap[2] in [one.words for one in book.gaps]


def test_still_warm_after_its_hour_needs_what_was_done_and_who_was_told(door):
    """It is over then, and nothing is written before somebody says so."""
    with pytest.raises(BadValue, match=r"at 44 °F \(6.7 °C\) and was to be at 41 °F .* 12:00: say"):
        door.read(44, at(13))
    line = door.read(44, at(13), told=TOLD)
    assert (line.is_over, line.action) == (True, "moved beside the fan")
    cold = door.read(40, at(14))
    assert door.tile()[0] == "none"
    words = "first shown to be cold at Tue 9 Jun 14:00, after its hour"
    assert door.gaps() == [("L-301", at(12), words, cold.id)]


def test_a_reading_entered_long_after_stands_beside_the_gap(door):
    """Cold at 11:30, written at 15:00: a late entry, that hides no gap."""
    line = door.read(40, at(15), done_at=at(11, 30))
    assert line.is_late
    ((_, _, words, entered),) = door.gaps()
    assert words == "not written in its time; entered Tue 9 Jun 15:00 as a late entry"
    assert entered == line.id


def test_a_line_taken_back_asks_again_and_a_correction_keeps_its_hour(door):
    """What was never so cools nothing; 41 typed for 44 is corrected by a further line."""
    line = door.read(40, at(11))
    door.shop.day.take_back(line.id, why="the other lamb", by="kofi", key="b")
    assert door.tile()[0] == "due"
    wrong = door.read(41, at(11, 30))
    number = int(wrong.id[1:])
    right = door.read(44, at(11, 40), corrects=number, told=Told(why="41 for 44"))
    assert (right.done_at, right.is_warm, right.corrects) == (at(11, 30), True, wrong.id)
    assert door.tile()[0] == "due"
    with pytest.raises(WrongState, match="corrected by"):
        door.read(40, at(11, 50), corrects=number, told=Told(why="x"))


def test_what_cannot_be_is_refused_and_nothing_is_written(door):
    """Another animal, before it came, no temperature of meat, a line of something else."""
    with pytest.raises(NotFound, match="No animal 'B-41' came warm"):
        door.read(40, at(9), tag="B-41")
    with pytest.raises(NotFound, match="No animal"):
        door.read(40, at(9), tag="x" * 9_000)
    with pytest.raises(BadValue, match="came at Tue 9 Jun 08:00"):
        door.read(40, at(9), done_at=at(7, 59))
    with pytest.raises(BadValue, match="none of a kitchen"):
        door.read(900, at(9))
    box = Arrival(what="Salt", supplier="Mill", keeps="dry", is_meat=False)
    came = door.shop.day.receive(box, by="kofi", key="box")
    with pytest.raises(BadValue, match="of something else"):
        door.read(40, at(9), corrects=int(came.id[1:]), told=Told(why="x"))
    read = door.read(46, at(9))
    with pytest.raises(BadValue, match="of an animal"):
        door.shop.day.receive(
            box, corrects=int(read.id[1:]), told=Told(why="x"), by="kofi", key="y"
        )


def test_the_line_of_the_door_keeps_the_limit_of_its_day(shop, clock):
    """38 F was chosen when it came at 40 F: over then, and still so when 41 F is chosen again."""
    shop.rules.change("receiving_f", "38", why="stricter", by="ines", key="r")
    clock.put(at(9))
    shop.cutting.receive(
        NewDelivery(tag="L-302", species="lamb", farm="Hill", invoiced=lb("50"), killed_on=KILLED,
                    pieces=[NewPiece("L-302", "whole", "lamb carcass", lb("50"))],
                    temperature=f(40), arrived_warm_as_law_allows=True,
                    papers=("inspection mark", "invoice")),
        by="ines", key="in",
    )  # fmt: skip
    clock.put(at(10))
    shop.rules.change("receiving_f", "41", why="back", by="ines", key="s")
    line = next(one for one in shop.day.page().lines if one.subject == "L-302")
    assert (line.is_over, line.limit) == (True, "38 °F (3.3 °C) or below")
    assert "to be cold by Tue 9 Jun 13:00" in line.said
