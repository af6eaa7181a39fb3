"""A shop whose every call is written down, and what its tables say without its own checks."""

from __future__ import annotations

import sqlite3
from collections import defaultdict
from contextlib import closing
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from fractions import Fraction
from typing import Any

from collop.errors import CollopError
from collop.measures import Weight, WeightUnit
from collop.shop import NewPart, NewStyle, StillClock, open_shop

HELD = ("rail", "block", "case", "booked", "trim", "bone", "fat")
LEFT = ("sold", "bin", "drip")
DOOR = ("received", "found by the scale")


def grams(count):
    """Return a weight of whole grams."""
    return Weight.of(count, WeightUnit.G)


@dataclass(frozen=True)
class Call:
    """One call on the shop, as it was made and when."""

    at: datetime
    name: str
    args: tuple[Any, ...]
    named: dict[str, Any] = field(hash=False)

    def send(self, shop):
        """Make the call on any shop."""
        room = shop
        *rooms, name = self.name.split(".")
        for part in rooms:
            room = getattr(room, part)
        return getattr(room, name)(*self.args, **self.named)


class Floor:
    """A shop on a clock that stands, all calls of which are kept.

    Every refusal is held to its word at once: it must have changed no row of any table.
    """

    def __init__(self, file):
        self.file = file
        self.clock = StillClock()
        self.shop = open_shop(f"sqlite:///{file}", self.clock)
        self.calls = []
        self.refused = []
        last = datetime.fromisoformat(self.ask("SELECT max(at) FROM ledger_entries")[0][0])
        #: What was on hand after each step, and what the clock said then.
        self.told = [(last - timedelta(days=365), {}), (last, self.stock())]

    def close(self):
        """Close the shop."""
        self.shop.close()

    def ask(self, query, *values):
        """Return rows by a connection of our own."""
        with closing(sqlite3.connect(self.file)) as conn:
            return conn.execute(query, values).fetchall()

    def rows(self):
        """Return how many rows each table has."""
        tables = [name for (name,) in self.ask("SELECT name FROM sqlite_master WHERE type='table'")]
        counts = ", ".join(f"(SELECT count(*) FROM {name})" for name in tables)  # noqa: S608
        return dict(zip(tables, self.ask(f"SELECT {counts}")[0], strict=True))

    def call(self, name, *args, key=None, **named):
        """Make one call; return its answer, or the refusal as an error."""
        named["key"] = key or f"key-{len(self.calls) + len(self.refused) + 1}"
        made = Call(self.clock.now(), name, args, named)
        before = self.rows()
        try:
            answer = made.send(self.shop)
        except CollopError as error:
            self.refused.append(made)
            assert self.rows() == before, f"{name} was refused and wrote all the same: {error}"
            assert "\n" not in str(error)
            assert str(error).endswith((".", "?"))
            return error
        self.calls.append(made)
        self.told.append((made.at, self.stock()))
        return answer

    def stock(self, at=None):
        """Return what the shop says is on hand."""
        found = self.shop.cutting.stock(at)
        return {(one.lot_id, one.place): one.weight.count for one in found}

    def hanging(self):
        """Return the tags on the rail."""
        return [one.tag for one in self.shop.cutting.rail()]

    def lies(self, *places):
        """Return (lot, place, count) of what lies at these places, last touched first."""
        there = summed(self.file)
        touched = self.ask("SELECT lot_id, place FROM ledger_entries GROUP BY 1, 2 ORDER BY"
                           " max(seq) DESC")  # fmt: skip
        return [
            (lot, place, there[lot, place])
            for lot, place in touched
            if place in places and there.get((lot, place), 0) > 0
        ]


def summed(file):
    """Return the sum of entries by lot and place, added up one by one."""
    found = defaultdict(int)
    with closing(sqlite3.connect(file)) as conn:
        for lot, place, delta in conn.execute("SELECT lot_id, place, delta FROM ledger_entries"):
            found[lot, place] += delta
    return {key: count for key, count in found.items() if count}


def by_piece(file):
    """Return the sum of entries by lot, place and piece."""
    found = defaultdict(int)
    with closing(sqlite3.connect(file)) as conn:
        query = "SELECT lot_id, place, piece_id, delta FROM ledger_entries"
        for lot, place, piece, delta in conn.execute(query):
            found[lot, place, piece] += delta
    return {key: count for key, count in found.items() if count}


def came_in(file):
    """Return what came in at the door and what the scale found, altogether."""
    with closing(sqlite3.connect(file)) as conn:
        query = "SELECT sum(delta) FROM ledger_entries WHERE reason IN (?, ?)"
        return conn.execute(query, DOOR).fetchone()[0]


def written(file, *without):
    """Return every row of every table; moves are named in the order they come.

    Ids of moves are drawn by lot, so two shops with one history differ in them and in nothing
    else.
    """
    named = {}
    found = {}
    with closing(sqlite3.connect(file)) as conn:
        query = "SELECT name FROM sqlite_master WHERE type='table' AND name NOT LIKE 'sqlite_%'"
        for (table,) in conn.execute(query).fetchall():
            if table in without:
                continue
            cursor = conn.execute(f"SELECT * FROM {table} ORDER BY rowid")  # noqa: S608
            names = [column[0] for column in cursor.description]
            at = names.index("move") if "move" in names else None
            rows = [list(row) for row in cursor]
            if table == "audit":
                # the machine's own time, and the seal over it
                left = [place for place, name in enumerate(names) if name not in {"utc", "chain"}]
                rows = [[row[place] for place in left] for row in rows]
            for row in rows if at is not None else ():
                row[at] = named.setdefault(row[at], len(named))
            found[table] = rows
    return found


# legs of lamb are sold whole from this style: pieces on the block, each with a ticket
WHOLE_LEGS = NewStyle(
    "legs", "lamb", "lamb carcass", "Lamb with whole legs",
    [NewPart("Legs", "cut", "case", Fraction(1, 3), "C28", 60),
     NewPart("Loin", "cut", "block", Fraction(1, 3), None, 4),
     NewPart("Trim", "trim", "trim", Fraction(1, 4)),
     NewPart("Loss", "loss", "drip", Fraction(1, 12))],
)  # fmt: skip


def share_of(count, percent):
    """Return so many hundredths of a weight, in whole counts."""
    return Weight(count * percent // 100)
