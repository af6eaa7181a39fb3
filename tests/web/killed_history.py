"""Counters that keep a history of every call and reply, and a checker that judges it.

After Jepsen (source id JEPSEN in shared/reference/rules/sources.csv, "Jepsen: distributed systems
safety research"): clients at work at once, a nemesis that causes faults, a history, and a checker
that decides if it could have happened under what is promised. The nemesis kills the server, cuts
the line of a client, and moves the clock. `Teller` is a `killed_server.Hand` that keeps its history
and whose line breaks now and then; `verdict` reads the file of the shop and the histories.
"""

from __future__ import annotations

import http.client
import socket
import sqlite3
import struct
import time
from bisect import bisect_right
from contextlib import closing
from dataclasses import dataclass, field
from decimal import Decimal
from urllib.parse import urlencode

from killed_server import Hand, ServerGone, fields_of

BOARD_LINE = "C11"  # the line whose price one of the tellers moves, and all of them sell
SCARCE_LINE = "C34"  # six pounds of it
#: What an act of each kind leaves under its key: table, and how many rows.
ROWS = {
    "sale": {"slips": 1, "payments": 1},
    "booking": {"bookings": 1},
    "scarce": {"bookings": 1},
    "release": {"booking_events": 1},
    "state": {"booking_events": 1},
    "undo": {"booking_events": 1},
    "hand-over": {"slips": 1},
    "money": {"payments": 1},
    "cold": {"day_checks": 1},
    "count": {"stock_counts": 1},
    "price": {"board_prices": 1},
}


class LineCut(ServerGone):
    """The line broke while an answer was awaited; the server stands."""


@dataclass
class Told:
    """One act as its client saw it: when it was first asked and last answered, and what came.

    `dropped` holds where answers led that reached the client's machine and were thrown away.
    """

    kind: str
    key: str
    call: float
    form: dict
    address: str
    reply: float | None = None
    place: str | None = None
    tries: int = 0
    dropped: list = field(default_factory=list)


@dataclass
class Teller(Hand):
    """A hand that keeps its history, and whose line breaks at `breaks` of its acts."""

    breaks: float = 0.15
    history: list = field(default_factory=list)
    kinds: tuple = ()

    def send(self, kind, address, form, key):
        """Send a form; its history begins here."""
        self.history.append(Told(kind, key, time.monotonic(), form, address))
        return super().send(kind, address, form, key)

    def settle(self):
        """Send what is pending, over a line that may break."""
        told = self.history[-1]
        told.tries += 1
        if self.chance.random() < self.breaks:
            self.break_line(told)
        told.place = super().settle()
        told.reply = time.monotonic()
        return told.place

    def break_line(self, told):
        """Send what is pending and lose the answer: before, while, or after it comes."""
        address, moment = self.pending.address, self.chance.choice(("before", "while", "after"))
        if moment == "after":
            status, place, _ = self.ask("POST", address, self.pending.form)
            if status == 303:
                told.dropped.append(place)
            raise LineCut
        body = urlencode(self.pending.form, doseq=True).encode()
        head = (f"POST {address} HTTP/1.1\r\nHost: 127.0.0.1\r\nContent-Length: {len(body)}\r\n"
                "Content-Type: application/x-www-form-urlencoded\r\n\r\n").encode()  # fmt: skip
        try:
            with closing(socket.create_connection(("127.0.0.1", self.port), timeout=30)) as line:
                # closing resets the line, as a machine that loses its power does not even do
                line.setsockopt(socket.SOL_SOCKET, socket.SO_LINGER, struct.pack("ii", 1, 0))
                line.sendall(head + body)
                if moment == "while":
                    line.recv(1)
        except OSError:
            raise ServerGone from None
        raise LineCut

    def work(self, ending):
        """Work until told to end or the server is gone; a broken line is tried again."""
        while not ending.is_set():
            try:
                if self.pending:
                    self.settle()
                else:
                    getattr(self, self.chance.choice(self.kinds or WORK))()
            except LineCut:
                continue
            except (ServerGone, http.client.HTTPException):
                return

    def again(self):
        """Send an act that was answered once more, as a touched-twice button does."""
        told = [one for one in self.history if one.place and one.kind != "scarce"]
        if not told:
            return
        old = self.chance.choice(told[-20:])
        status, place, _ = self.ask("POST", old.address, old.form)
        if status == 303:
            old.dropped.append(place)
        else:
            self.refused.append((f"again {old.kind}", status, old.key))

    def scarce(self):
        """Book a share of a line that has little, until nothing is left of it."""
        key = self.key()
        form = {"name": f"Hand {key}", "phone": "07700 900 4471", "day": "2026-06-12",
                "time": "10:00", "cut1": SCARCE_LINE, "amount1": "0.7", "by": "ines",
                "key": key}  # fmt: skip
        self.send("scarce", "/free-by/book", form, key)

    def hand_over(self):
        """Make one of its bookings ready and hand it over at a weight."""
        key = self.key()
        form = {"name": f"Hand {key}", "phone": "07700 900 4471", "day": "2026-06-13",
                "time": "10:00", "cut1": "C01", "amount1": "0.02", "by": "dot",
                "key": key}  # fmt: skip
        place = self.send("booking", "/free-by/book", form, key).partition("?")[0]
        if not place:
            return
        at, key = f"{place}/hand-over", self.key()
        form = fields_of(self.ask("GET", at)[2], at)
        weighed = next((name for name in form if name.startswith("weighed-")), None)
        if weighed is None:  # the line has run out
            return
        form |= {weighed: "0.02", "do": "hand-over", "by": "dot", "key": key}
        if self.send("hand-over", at, form, key):
            slip, key = place.replace("/hook/", "/sell/"), self.key()
            form = {"what": "payment", "way": "card", "amount": "0.05", "by": "dot", "key": key}
            self.send("money", f"{slip}/money", form, key)

    def price(self):
        """Put the next price of the shared line on the board: never one that stood before."""
        key = self.key()
        form = {"price": f"{12 + self.number / 100:.2f}", "why": "the market moved",
                "by": "marek", "key": key}  # fmt: skip
        self.send("price", f"/chalk/line/{BOARD_LINE}", form, key)


WORK = ("sale", "sale", "booking", "step", "step", "cold", "count", "hand_over")


def rows_by_key(conn):
    """Return by key and table how many rows were written, over every table that names its act."""
    found = {}
    tables = [name for (name,) in conn.execute("SELECT name FROM sqlite_master WHERE type='table'")]
    for table in tables:
        columns = [row[1] for row in conn.execute(f"PRAGMA table_info('{table}')")]
        if "key" in columns and table not in {"acts", "audit"}:
            for key, count in conn.execute(f"SELECT key, count(*) FROM '{table}' GROUP BY key"):  # noqa: S608
                found.setdefault(key, {})[table] = count
    return found


def gaps(path):
    """Return by running number what is missing between its first and its last, and its count."""
    found = {}
    with closing(sqlite3.connect(path)) as conn:
        for (table,) in conn.execute("SELECT name FROM sqlite_sequence").fetchall():
            name = next(row[1] for row in conn.execute(f"PRAGMA table_info('{table}')") if row[5])
            there = [one for (one,) in conn.execute(f"SELECT {name} FROM '{table}'")]  # noqa: S608
            missing = set(range(1, max(there, default=0))) - set(there)
            found[f"{table}.{name}"] = (missing, len(there) - len(set(there)))
    return found


def numbering(path, begun):
    """Return each running number that has a gap it did not begin with, or a repeat."""
    before = gaps(begun)
    return [f"{name}: {sorted(missing)} missing, {twice} twice"
            for name, (missing, twice) in gaps(path).items()
            if twice or missing - before.get(name, (set(), 0))[0]]  # fmt: skip


def below_zero(conn):
    """Return every lot and place that held less than nothing after some act."""
    held, said, last = {}, [], None
    touched = set()
    query = "SELECT key, lot_id, place, delta FROM ledger_entries ORDER BY seq"
    for key, lot, place, delta in [*conn.execute(query), (None, None, None, 0)]:
        if key != last:
            said += [f"{one} after {last}" for one in touched if held[one] < 0]
            touched, last = set(), key
        held[lot, place] = held.get((lot, place), 0) + delta
        touched.add((lot, place))
    return [one for one in said if "sold" not in one]


def wrong_prices(conn, told):
    """Return a sentence for each sale at a price that was not in force between call and reply.

    One teller writes the price, so its writes are one after another; a sale reads it. A sale may
    have the price of the last write answered before it was asked, or of a later one asked before
    it was answered; and of two sales one after the other, the second never has the older price.
    """
    price = dict(conn.execute(
        "SELECT key, price_amount FROM booking_lines JOIN bookings ON booking_number = number "
        "WHERE case_id = ?", (BOARD_LINE,)))  # fmt: skip
    first = conn.execute(
        "SELECT amount FROM board_prices WHERE case_id = ? ORDER BY seq", (BOARD_LINE,)
    ).fetchone()
    there = {key for (key,) in conn.execute("SELECT key FROM board_prices")}
    never = float("inf")
    writes = [(-1.0, 0.0, Decimal(first[0]))] + [
        (one.call, one.reply or never, Decimal(one.form["price"]))
        for one in told if one.kind == "price" and one.key in there
    ]  # fmt: skip
    place = {amount: at for at, (*_, amount) in enumerate(writes)}
    said, sales = [], []
    for one in told:
        if one.kind != "sale" or one.key not in price:
            continue
        reply, at = one.reply or never, place.get(Decimal(price[one.key]))
        least = bisect_right([end for _, end, _ in writes], one.call) - 1
        most = bisect_right([begin for begin, *_ in writes], reply) - 1
        if at is None or not least <= at <= most:
            said.append(f"{one.key} at {price[one.key]}: write {at}, allowed {least} to {most}")
        else:
            sales.append((one.call, reply, at, one.key))
    for call, _, at, key in sales:
        newest = max((was for _, end, was, _ in sales if end < call), default=0)
        if at < newest:
            said.append(f"{key} has price {at} after a sale had {newest}")
    return said


def answers(conn, told):
    """Return a sentence for each act whose answers differ, or that was done and then refused."""
    kept, said = dict(conn.execute("SELECT key, answer FROM acts")), []
    for one in told:
        places = {*one.dropped, *([one.place] if one.place else [])}
        if len(places) > 1:
            said.append(f"{one.kind} {one.key}: {sorted(places)}")
        if one.key in kept and one.place == "":
            said.append(f"{one.kind} {one.key} is done and was told as refused")
        answer = kept.get(one.key)
        is_made = one.kind in {"booking", "scarce"} and one.place
        if is_made and one.place.partition("?")[0] != f"/hook/{answer}":
            said.append(f"{one.kind} {one.key} was told {one.place} and is {answer}")
    return said


def verdict(path, begun, tellers):
    """Return by name of the rule one sentence for each thing that could not have happened.

    Parameters
    ----------
    path, begun : Path
        File of the shop, and the file it was copied from before the tellers began.
    tellers : list of Teller
        With their histories.

    Returns
    -------
    dict
        By rule its findings; all are empty when the promises hold.
    """
    told = [one for teller in tellers for one in teller.history]
    with closing(sqlite3.connect(path)) as conn:
        there = {key for (key,) in conn.execute("SELECT key FROM acts")}
        rows = rows_by_key(conn)
        ours = {one.key for one in told}
        answered = [one for one in told if one.place]
        half = [
            f"{one.kind} {one.key}: {rows.get(one.key)}"
            for one in told
            if one.key in there and not ROWS[one.kind].items() <= rows.get(one.key, {}).items()
        ]
        names = {teller.name for teller in tellers}
        return {
            "lost": [one.key for one in answered if one.key not in there],
            "half": half,
            "without an act": [key for key in rows if key not in there and key in ours],
            "not asked": [key for key in there if key.rpartition("-")[0] in names
                          and key not in ours],
            "answers": answers(conn, told) + [
                f"{kind} {key} was refused the second time" for teller in tellers
                for kind, _, key in teller.refused if kind.startswith("again")],
            "numbers": numbering(path, begun),
            "below zero": below_zero(conn),
            "prices": wrong_prices(conn, told),
        }  # fmt: skip
