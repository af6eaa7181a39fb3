"""What the list of the cutting room hands out: frozen records, no database behind them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from decimal import Decimal
from enum import StrEnum
from typing import Any

from collop.measures import Temperature, Weight

__all__ = [
    "UNDO_WITHIN",
    "BenchBreak",
    "BenchLine",
    "BenchList",
    "CleanDue",
    "Done",
    "Kind",
    "Station",
]

#: So long a line may be undone; afterwards it is corrected.
UNDO_WITHIN = timedelta(hours=1)


class Kind(StrEnum):
    """What a line of work is for."""

    BOOKED = "booked"
    WANTED = "wanted"
    HANGS = "hangs"
    MAKE = "make"
    GRIND = "grind"

    @property
    def is_planned(self) -> bool:
        """Tell whether it is of the kept plan: for the case or the bins, on a day, at no hour."""
        return self in {Kind.MAKE, Kind.GRIND}


class Station(StrEnum):
    """Where it is done, in the order a day's work goes round the room."""

    BLOCK = "block"
    GRINDER = "grinder"
    FILLER = "filler"
    BOWL = "bowl"
    PACKING = "packing"

    @property
    def order(self) -> int:
        """Return its place in that order, from 0."""
        return list(Station).index(self)


@dataclass(frozen=True, slots=True)
class Done:
    """A line that was finished: what the scale said, when, by whom; `before` if it was corrected.

    `lasts` tells whether it may still be undone. `written` is the time on the paper, if it was
    entered later.
    """

    weight: Weight
    at: datetime
    by: str | None
    lasts: bool
    before: Weight | None = None
    written: time | None = None


@dataclass(frozen=True, slots=True)
class BenchLine:
    """One line of work.

    Parameters
    ----------
    id : str
        The same on every day: ``H1-2`` a booked line, ``H6+C19`` a want, ``H3@L-209`` a booking on
        a rail piece, ``make C19 2026-06-11`` a make of the kept plan,
        ``grind C15 beef-trim 2026-06-11`` a cut that the plan grinds into a bin.
    number : int
        What is called out for it; stays for the day.
    kind, station : Kind, Station
        What it is for, and where it is done.
    what, species : str
        Name of the cut and the animal; ``none`` for what is no meat.
    weight : Weight
        How much, with the unit it was promised in.
    pieces : tuple of Weight, optional
        The pieces of goods sold whole.
    how : tuple of str
        What the knife must know: style, note of the want or the claim, trim bin.
    case_id, booking_id, who : str, optional
        Line of the case, booking, and whose it is.
    due : datetime
        When it must be ready.
    contains : tuple of str
        Allergens that are in it, as declared.
    casing : str, optional
        Animal the casing of links is from.
    cares : tuple of str
        What those who eat it must not get, and what to do about it.
    note : str
        What is written on the booking.
    short : Weight, optional
        How much of it the plan cannot cover; None if it covers all.
    clean_first : str
        What has to happen at the station before this line, if another species was on it.
    cook_f : Decimal, optional
        Published cooking temperature of its kind [degF]; None for what is no meat.
    is_new : bool
        Whether nobody has seen it yet, though the list was seen on the day.
    was : mapping, optional
        What it said when it was last seen, for the facts that changed since: ``weight`` a Weight,
        ``due`` a datetime, ``pieces`` a number or None, and words.
    is_off : bool
        Whether it was cancelled after it was seen.
    done : Done, optional
        If it is finished.
    """

    id: str
    kind: Kind
    station: Station
    what: str
    species: str
    weight: Weight
    due: datetime
    pieces: tuple[Weight, ...] | None = None
    how: tuple[str, ...] = ()
    case_id: str | None = None
    booking_id: str | None = None
    who: str = ""
    contains: tuple[str, ...] = ()
    casing: str | None = None
    cares: tuple[str, ...] = ()
    note: str = ""
    short: Weight | None = None
    clean_first: str = ""
    cook_f: Decimal | None = None
    number: int = 0
    is_new: bool = False
    was: Mapping[str, Any] | None = None
    is_off: bool = False
    done: Done | None = None

    @property
    def is_open(self) -> bool:
        """Tell whether there is still work in it."""
        return self.done is None and not self.is_off

    @property
    def there(self) -> Weight:
        """Return how much of it is there by the plan."""
        return self.weight if self.short is None else max(self.weight - self.short, Weight.zero())

    @property
    def is_framed(self) -> bool:
        """Tell whether it is framed: it holds an allergen, or has a casing that some do not eat."""
        return bool(self.contains or self.casing)

    @property
    def is_changed(self) -> bool:
        """Tell whether it differs from what was last seen."""
        return bool(self.was)

    def shown(self) -> dict[str, Any]:
        """Return what somebody who looks at the line has seen, as JSON."""
        return {
            "kind": self.kind.value, "station": self.station.value, "what": self.what,
            "species": self.species, "weight": self.weight.count, "unit": self.weight.unit.value,
            "pieces": None if self.pieces is None else len(self.pieces), "how": list(self.how),
            "case_id": self.case_id, "booking_id": self.booking_id, "who": self.who,
            "due": self.due.isoformat(), "contains": list(self.contains), "cares": list(self.cares),
            "casing": self.casing,
        }  # fmt: skip


@dataclass(frozen=True, slots=True)
class BenchBreak:
    """A piece to be broken: `covers` tells what for, `under` is the number of a break under way.

    `style` and `say` are of the kept plan, empty if there is none, and `style_id` is the shop's
    style of that plan; `day` is when it is due.
    """

    tag: str
    what: str
    species: str
    days: int
    weight: Weight
    day: date
    covers: tuple[str, ...] = ()
    style: str = ""
    style_id: str = ""
    say: str = ""
    under: int | None = None


@dataclass(frozen=True, slots=True)
class CleanDue:
    """When the next clean-down is due.

    `hours` is the longest time between two at the temperature of the room `room`; `source` cites
    it. `last` and `due` are None as long as none is on record. `may_take_back` tells whether the
    last one was put down within the hour, so that a slip of the hand can be taken back.
    """

    last: datetime | None
    by: str | None
    due: datetime | None
    is_late: bool
    hours: Decimal
    room: Temperature
    source: str
    may_take_back: bool = False


@dataclass(frozen=True, slots=True)
class BenchList:
    """The list of the cutting room at one moment.

    Parameters
    ----------
    at, day : datetime, date
        When it was read, and the day it is for.
    lines : tuple of BenchLine
        Open and cancelled ones, in the order of work.
    finished : tuple of BenchLine
        What was done today, newest first.
    breaks : tuple of BenchBreak
        What goes under the knife next, soonest first.
    clean : CleanDue
        The next clean-down.
    thin : tuple of str
        Names of the case's lines that last less than two days, the thinnest first.
    digest : str
        Equal as long as nothing on the list differs; sent back when it is marked as seen.
    was_seen : bool
        Whether the list was marked as seen today.
    has_news : bool
        Whether anything is new, changed or cancelled since it was last seen.
    plan_at : datetime, optional
        When the cutting plan was made that makes and breaks come from.
    """

    at: datetime
    day: date
    lines: tuple[BenchLine, ...]
    finished: tuple[BenchLine, ...]
    breaks: tuple[BenchBreak, ...]
    clean: CleanDue
    thin: tuple[str, ...]
    digest: str
    was_seen: bool
    has_news: bool
    plan_at: datetime | None = None

    def line(self, line_id: str) -> BenchLine | None:
        """Return the line of an id, finished ones too; None if it is not on the list."""
        return next((one for one in (*self.lines, *self.finished) if one.id == line_id), None)
