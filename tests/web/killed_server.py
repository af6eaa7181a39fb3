"""A real server that may be killed at any moment, and hands that work at it over HTTP.

`Nursery` starts a process with everything imported; for each round that forks a server: the
application as it is served, on a socket of its own, over the file. `Hand` is one counter: it reads
pages, fills their forms in as a browser would, sends them, and notes a key only when the whole
answer has come, in one unbuffered write that is synced. What was sent and not answered is sent
again, the same form, to the next server.
"""

from __future__ import annotations

import http.client
import os
import re
import select
import shutil
import signal
import socket
import subprocess
import sys
import threading
import time
from contextlib import closing
from dataclasses import dataclass, field
from html import unescape
from pathlib import Path
from urllib.parse import urlencode

DEADLINE_S = 60
_INPUT = re.compile(r"<input\b[^>]*>")
_FACT = re.compile(r'([a-z-]+)(?:="([^"]*)")?')


def serve(path, port_out, *, slow_ms, sync, minutes):
    """Serve the shop until killed; write the port once it listens."""
    from datetime import timedelta

    from collop.shop import DemoClock, open_shop
    from collop.web import create_app
    from collop.web.serving import server_for

    class Moved(DemoClock):
        def now(self):
            return super().now() + timedelta(minutes=minutes)

    shop = open_shop(f"sqlite:///{path}", Moved())
    if sync != "FULL":
        # its one writing connection, behind the shop's back: the shop itself knows no such setting
        with shop._room.store._writer.connect() as conn:
            conn.connection.driver_connection.execute(f"PRAGMA synchronous={sync}")
    if slow_ms:
        slowly(slow_ms / 1000)
    listener = socket.socket()
    listener.bind(("127.0.0.1", 0))
    listener.listen(256)
    os.write(port_out, f"{listener.getsockname()[1]}\n".encode())
    server = server_for(create_app(shop), host="127.0.0.1", port=0, lifespan="off")
    server.run(sockets=[listener])


def slowly(seconds):
    """Make every commit wait, as a tired disk does."""
    from sqlalchemy import event
    from sqlalchemy.engine import Engine

    event.listen(Engine, "commit", lambda _conn: time.sleep(seconds))


def nursery_main(path, slow_ms, sync):
    """Fork a server for each line on the input, and tell its number and port."""
    import collop.web.app
    import collop.web.serving  # noqa: F401

    for minutes in sys.stdin:
        port_in, port_out = os.pipe()
        child = os.fork()
        if not child:
            os.close(port_in)
            serve(path, port_out, slow_ms=int(slow_ms), sync=sync, minutes=int(minutes))
            os._exit(0)
        os.close(port_out)
        with os.fdopen(port_in) as told:
            port = told.readline().strip()
        sys.stdout.write(f"{child} {port}\n")
        sys.stdout.flush()
        os.waitpid(child, 0)
        sys.stdout.write("gone\n")
        sys.stdout.flush()


class Nursery:
    """Starts servers one after another on one file, and kills them.

    Parameters
    ----------
    path : Path
        File of the shop.
    slow_ms : int
        Milliseconds that each commit waits.
    sync : str
        How SQLite syncs: FULL, as the shop does, or weaker.
    shim : Path, optional
        Library that keeps what was synced (`synced_only.c`).
    """

    def __init__(self, path, *, slow_ms=0, sync="FULL", shim=None):
        power = {"LD_PRELOAD": str(shim), "SYNCED_ONLY": str(path)} if shim else {}
        source = str(Path(__file__).parents[2] / "src")
        self.process = subprocess.Popen(
            [sys.executable, __file__, str(path), str(slow_ms), sync],
            stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True,
            env=os.environ | {"PYTHONPATH": source} | power,
        )  # fmt: skip
        self.child = self.port = 0

    def start(self, minutes=0):
        """Start the next server, its clock put so many minutes on or back; return its port."""
        self.process.stdin.write(f"{minutes}\n")
        self.process.stdin.flush()
        self.child, self.port = map(int, self._line().split())
        return self.port

    def _line(self):
        assert select.select([self.process.stdout], [], [], DEADLINE_S)[0], "no word of the nursery"
        return self.process.stdout.readline()

    def kill(self):
        """Kill the server as the kernel would, and wait until it is gone."""
        os.kill(self.child, signal.SIGKILL)
        assert self._line() == "gone\n"

    def close(self):
        """Let the nursery go."""
        self.process.stdin.close()
        self.process.wait(DEADLINE_S)
        self.process.stdout.close()


def fields_of(html, action):
    """Return the fields of a form as a browser would send them, every value of each name."""
    start = html.index(f'action="{action}"')
    sent = {}
    for found in _INPUT.findall(html[start : html.index("</form>", start)]):
        facts = dict(_FACT.findall(found))
        kind, name = facts.get("type", "text"), unescape(facts.get("name", ""))
        if not name or (kind in {"radio", "checkbox"} and "checked" not in facts):
            continue
        sent.setdefault(name, []).append(unescape(facts.get("value", "")))
    return sent


class ServerGone(Exception):
    """The server was killed while it was asked."""


@dataclass
class Sent:
    """One form that was sent: where, what, and its key."""

    address: str
    form: dict
    key: str
    kind: str


@dataclass
class Hand:
    """One counter.

    Parameters
    ----------
    name : str
        Part of every key.
    notes : Path
        Where answered keys go, each on a line, synced.
    chance : random.Random
        What it does next.
    """

    name: str
    notes: Path
    chance: object
    port: int = 0
    pending: Sent | None = None
    done: int = 0
    refused: list = field(default_factory=list)
    mine: list = field(default_factory=list)
    number: int = 0

    def ask(self, method, address, form=None):
        """Send one request and return status, place and text, or raise if the server is gone."""
        try:
            with closing(http.client.HTTPConnection("127.0.0.1", self.port, timeout=30)) as line:
                body = urlencode(form, doseq=True) if form is not None else None
                headers = {"Content-Type": "application/x-www-form-urlencoded"} if form else {}
                line.request(method, address, body=body, headers=headers)
                answer = line.getresponse()
                text = answer.read().decode()
                return answer.status, answer.getheader("location", ""), text
        except (OSError, http.client.HTTPException):
            raise ServerGone from None

    def send(self, kind, address, form, key):
        """Send a form that changes the shop; it is pending until its whole answer came."""
        self.pending = Sent(address, form, key, kind)
        return self.settle()

    def settle(self):
        """Send what is pending, note its key, and return where it leads; '' if it was refused."""
        sent = self.pending
        status, place, text = self.ask("POST", sent.address, sent.form)
        assert status < 500, (sent, status, text[:300])
        self.pending = None
        if status == 303:
            self.note(sent.key)
            self.done += 1
            return place
        self.refused.append((sent.kind, status, re.sub(r"<[^>]+>|\s+", " ", text)[-2000:]))
        return ""

    def note(self, key):
        """Note what was answered, down to the disk."""
        handle = os.open(self.notes, os.O_WRONLY | os.O_CREAT | os.O_APPEND)
        os.write(handle, f"{key}\n".encode())
        os.fsync(handle)
        os.close(handle)

    def key(self):
        """Return a key of its own."""
        self.number += 1
        return f"{self.name}-{self.number}"

    def sale(self):
        """Two lines over the glass, in the three steps of the page."""
        key, at = self.key(), "/sell"
        for cut, gross in (("C11", "0.02"), ("C04", "0.03")):
            form = fields_of(self.ask("GET", at)[2], "/sell")
            form |= {"cut": cut, "gross": gross, "key": key}
            _, at, _ = self.ask("POST", "/sell", form)
        form = fields_of(self.ask("GET", at)[2], "/sell") | {"way": "cash", "by": "dot", "key": key}
        self.send("sale", "/sell", form, key)

    def booking(self):
        """Book a little for Saturday."""
        key = self.key()
        form = {"name": f"Hand {key}", "phone": "07700 900 4471", "day": "2026-06-13",
                "time": "10:00", "cut1": "C01", "amount1": "0.01", "by": "dot",
                "key": key}  # fmt: skip
        place = self.send("booking", "/free-by/book", form, key)
        if place:
            self.mine.append((place.partition("?")[0], "booked"))

    def step(self):
        """Move one of its bookings on, or take it off."""
        if not self.mine:
            self.booking()
            return
        place, state = self.mine.pop(0)
        key = self.key()
        if state == "booked" and self.chance.random() < 0.5:
            form = {"by": "dot", "key": key, "why": "not wanted"}
            self.send("release", f"{place}/release", form, key)
        elif state == "booked":
            self.mine.append((place, "cut"))
            self.send("state", f"{place}/state", {"by": "marek", "key": key, "state": "cut"}, key)
        else:
            self.send("undo", f"{place}/undo", {"by": "marek", "key": key}, key)

    def cold(self):
        """Read a thermometer."""
        key = self.key()
        form = {"place": "case", "reading": "38", "by": "kofi", "degrees": "F", "key": key}
        self.send("cold", "/daybook/cold", form, key)

    def count(self):
        """Count a line: a hundredth less than the last time."""
        key, counted = self.key(), f"{10.9 - self.number / 100_000:.5f}"
        form = {"key": key, "case_id": "C13", "counted": counted, "by": "dot"}
        self.send("count", "/put-away/count", form, key)

    def work(self, ending):
        """Work until told to end or the server is gone."""
        acts = (self.sale, self.booking, self.booking, self.step, self.step, self.cold, self.count)
        try:
            if self.pending:
                self.settle()
            while not ending.is_set():
                self.chance.choice(acts)()
        except ServerGone:
            pass


def shim_in(folder):
    """Compile the library that keeps what was synced; None where there is no compiler."""
    compiler = shutil.which("cc") or shutil.which("gcc")
    if compiler is None:
        return None
    made = folder / "synced_only.so"
    source = Path(__file__).with_name("synced_only.c")
    subprocess.run([compiler, "-shared", "-fPIC", "-O1", "-o", made, source, "-ldl"], check=True)
    return made


def all_synced(path):
    """Take what is in a shop's files for surely on the disk, before a server begins."""
    for end in ("", "-wal"):
        file = path.with_name(path.name + end)
        kept = path.with_name(f"{path.name}{end}.synced")
        kept.unlink(missing_ok=True)
        if file.exists():
            shutil.copy(file, kept)


def power_cut(path, chance):
    """Put each file of a shop back to what was synced; of the rest some blocks, by chance.

    A disk may have written any of the blocks that it was not told to sync, in any order.
    """
    for end in ("", "-wal"):
        file = path.with_name(path.name + end)
        kept = path.with_name(f"{path.name}{end}.synced")
        if not file.exists():
            continue
        new = file.read_bytes()
        old = kept.read_bytes() if kept.exists() else b""
        data = bytearray(old)
        for at in range(0, len(new), 512):
            block = new[at : at + 512]
            if block != old[at : at + 512] and chance.random() < 0.3:
                data.extend(b"\0" * (at + len(block) - len(data)))
                data[at : at + len(block)] = block
        file.write_bytes(bytes(data))
    path.with_name(f"{path.name}-shm").unlink(missing_ok=True)


def round_of(nursery, hands, wait, minutes=0):
    """Start a server, let the hands work, call `wait`, kill; return the hands' troubles."""
    port, ending, troubles = nursery.start(minutes), threading.Event(), []

    def work(hand):
        try:
            hand.work(ending)
        except Exception as error:  # noqa: BLE001 -- told to the test's own thread
            troubles.append((hand.name, error))

    threads = [threading.Thread(target=work, args=(hand,)) for hand in hands]
    for hand in hands:
        hand.port = port
    for one in threads:
        one.start()
    wait()
    nursery.kill()
    ending.set()
    for one in threads:
        one.join(DEADLINE_S)
    return troubles


def wait_for(hands, more, longest_s=20):
    """Wait until so many more acts were answered."""
    target, until = sum(hand.done for hand in hands) + more, time.monotonic() + longest_s
    while sum(hand.done for hand in hands) < target and time.monotonic() < until:
        time.sleep(0.003)


def noted_keys(notes):
    """Return the keys noted so far; a last line without its end was never written whole."""
    text = notes.read_text() if notes.exists() else ""
    return text.splitlines() if text.endswith("\n") else text.splitlines()[:-1]


if __name__ == "__main__":
    nursery_main(*sys.argv[1:])
