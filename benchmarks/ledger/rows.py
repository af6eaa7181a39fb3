"""Rows of the shop's tables, kept until they are written by bulk."""

from __future__ import annotations

import hashlib
import json
import sqlite3
from collections.abc import Callable
from datetime import date, datetime, timedelta
from fractions import Fraction
from pathlib import Path
from typing import Any, TypeVar

__all__ = ["COLUMNS", "Rows"]

T = TypeVar("T")
_SUNDAY = 6
_PRICE = ("8.00", "lb")
_COUNTS_PER_LB = 45_359_237_000

COLUMNS = {
    "acts": "key kind digest answer at by_id",
    "lots": "id case_id species what farm weight_in unit since use_by kind piece delivery_number",
    "deliveries": "number lot_id farm species killed_on invoiced unit weighed is_hot temperature"
    " cool_by papers papers_missing price_amount price_per haulage note at by_id key",
    "ledger_entries": "seq move lot_id booking_line_id place delta unit reason at by_id key",
    "lot_links": "seq move parent_id child_id count at by_id key",
    "breaks": "number lot_id style_id start unit at by_id key",
    "weighings": "seq break_number part_id lot_id weight unit why at by_id key",
    "break_events": "seq break_number what gap closes why at by_id key",
    "bookings": "number name phone_end collect_at heads ask note deposit made_at by_id key",
    "booking_lines": "id booking_number position case_id weight unit price_amount price_per"
    " line_total",
    "booking_events": "seq booking_number what state at why by_id key",
    "slips": "number booking_number total deposit at by_id key",
    "slip_lines": "id slip_number booking_line_id weighed unit line_total",
}
_NUMBERED = {
    name: text.split()[0] for name, text in COLUMNS.items() if name not in {"acts", "lots"}
}


def _money(count: int) -> int:
    """Return the price of a weight at the one price of this shop, in minor units."""
    return (count * 800 + _COUNTS_PER_LB // 2) // _COUNTS_PER_LB


class Rows:
    """Rows by table, numbered on from what the file holds.

    Parameters
    ----------
    file : Path
        A shop that is there.
    """

    def __init__(self, file: Path) -> None:
        self.conn = sqlite3.connect(file)
        self.conn.execute("PRAGMA synchronous=OFF")
        self.kept: dict[str, list[tuple[Any, ...]]] = {name: [] for name in COLUMNS}
        self.last = {
            name: self.conn.execute(f"SELECT max({column}) FROM {name}").fetchone()[0] or 0  # noqa: S608
            for name, column in _NUMBERED.items()
        }
        self.at = datetime.min  # noqa: DTZ901 -- shop-local, put to each hour of each day
        self.acts = 0
        self.key = ""
        self.moves = 0

    @property
    def entries(self) -> int:
        """Return how many ledger entries there are by now."""
        return self.last["ledger_entries"]

    @property
    def stamp(self) -> str:
        """Return the moment as the database keeps it."""
        return f"{self.at:%Y-%m-%d %H:%M:%S}.000000"

    @staticmethod
    def days_ago(today: date, open_days: int) -> date:
        """Return the open day so many open days before."""
        while open_days:
            today -= timedelta(days=1)
            open_days -= today.weekday() != _SUNDAY
        return today

    def cuts(self, style: str, make: Callable[..., T]) -> list[T]:
        """Return the parts of a style that are weighed."""
        found = self.conn.execute(
            "SELECT id, name, place, case_id, share FROM style_parts"
            " WHERE style_id = ? AND kind <> 'loss' ORDER BY position",
            (style,),
        )
        return [make(*row[:4], Fraction(row[4])) for row in found]

    def _add(self, table: str, *values: object) -> int:
        """Keep one row that counts by itself, and return its number."""
        self.last[table] += 1
        self.kept[table].append((self.last[table], *values))
        return self.last[table]

    def act(self, kind: str) -> None:
        """Begin an act, to which all that follows belongs; a second passes with each."""
        self.at += timedelta(seconds=1)
        self.acts += 1
        key = self.key = f"past-{self.acts}"
        digest = hashlib.sha256(key.encode()).hexdigest()
        self.kept["acts"].append((key, kind, digest, "done", self.stamp, "marek"))

    def move(self) -> str:
        """Return the id of a new move."""
        self.moves += 1
        return hashlib.md5(str(self.moves).encode(), usedforsecurity=False).hexdigest()

    def entry(
        self, move: str, lot_id: str, place: str, delta: int, reason: str, *,
        line: int | None = None,
    ) -> None:  # fmt: skip
        """Keep one entry."""
        self._add("ledger_entries", move, lot_id, line, place, delta, "kg", reason, self.stamp,
                  "marek", self.key)  # fmt: skip

    def pair(
        self, lot_id: str, way: tuple[str, str], count: int, reason: str,
        line: int | None = None,
    ) -> None:  # fmt: skip
        """Keep a move inside one lot; of nothing, nothing is kept."""
        if count:
            move = self.move()
            self.entry(move, lot_id, way[0], -count, reason, line=line)
            self.entry(move, lot_id, way[1], count, reason, line=line)

    def cut(self, parent: str, child: str, way: tuple[str, str], count: int, reason: str) -> None:
        """Keep a move out of one lot into another, with its link."""
        move = self.move()
        self.entry(move, parent, way[0], -count, reason)
        self.entry(move, child, way[1], count, reason)
        self._add("lot_links", move, parent, child, count, self.stamp, "marek", self.key)

    def lot(
        self, lot_id: str, kind: str, species: str, delivery: int, *, farm: str, count: int,
        what: str = "", case_id: str | None = None, use_by: date | None = None,
        piece: str | None = None,
    ) -> None:  # fmt: skip
        """Keep one lot."""
        self.kept["lots"].append(
            (lot_id, case_id, species, what or piece or f"{species}, whole animal", farm, count,
             "kg", self.stamp, None if use_by is None else str(use_by), kind, piece, delivery)
        )  # fmt: skip

    def delivery(self, tag: str, farm: str, species: str, count: int) -> int:
        """Keep one delivery and return its number."""
        papers = json.dumps(["inspection mark", "invoice"])
        return self._add(
            "deliveries", tag, farm, species, str(self.at.date() - timedelta(days=2)), count, "kg",
            count, 0, None, None, papers, "[]", *_PRICE, 1000, "", self.stamp, "marek", self.key,
        )  # fmt: skip

    def break_(self, lot_id: str, style: str, count: int) -> int:
        """Keep the start of a break."""
        return self._add("breaks", lot_id, style, count, "kg", self.stamp, "marek", self.key)

    def weighing(self, number: int, part_id: int, lot_id: str, count: int) -> None:
        """Keep one weighing."""
        self._add(
            "weighings", number, part_id, lot_id, count, "kg", "", self.stamp, "marek", self.key
        )

    def closed(self, number: int, gap: int) -> None:
        """Keep the close of a break."""
        self._add("break_events", number, "closed", gap, 1, "", self.stamp, "marek", self.key)

    def booking(self, collect_on: date) -> int:
        """Keep one booking with its first event."""
        collect = f"{collect_on} 11:00:00.000000"
        number = self._add("bookings", "Walk-in", "", collect, None, "{}", "", 0, self.stamp,
                           "dot", self.key)  # fmt: skip
        self.event(number, "book", "booked")
        return number

    def booking_line(self, number: int, position: int, case_id: str, count: int) -> int:
        """Keep one line of a booking."""
        return self._add("booking_lines", number, position, case_id, count, "kg", *_PRICE,
                         _money(count))  # fmt: skip

    def event(self, number: int, what: str, state: str) -> None:
        """Keep what happened to a booking."""
        self._add("booking_events", number, what, state, self.stamp, "", "dot", self.key)

    def slip(self, number: int) -> int:
        """Keep one slip; what it comes to is not what is measured."""
        return self._add("slips", number, 0, 0, self.stamp, "dot", self.key)

    def slip_line(self, slip: int, line: int, count: int) -> None:
        """Keep one line of a slip."""
        self._add("slip_lines", slip, line, count, "kg", _money(count))

    def flush(self) -> None:
        """Write what is kept."""
        with self.conn:
            for name, rows in self.kept.items():
                names = COLUMNS[name].split()
                marks = ", ".join("?" * len(names))
                text = f"INSERT INTO {name} ({', '.join(names)}) VALUES ({marks})"  # noqa: S608
                self.conn.executemany(text, rows)
                rows.clear()

    def close(self) -> None:
        """Write the rest and close the file."""
        self.flush()
        self.conn.close()
