"""Replicas on one machine: what waiting for a standby costs, and what a failover loses.

Run ``python benchmarks/reliability/replicas.py [--bookings N] [--json]``. A primary and two
streaming standbys stand on loopback, each with its own folder, all syncing. Bookings are made one
after another by the shop's own service. Then three writers book, the line to the standby that will
be promoted is cut (a proxy stands in between), half a second later every process of the primary is
killed with signal 9, and the standby is promoted. The writers' address names both servers; they
are told nothing. What was acknowledged is then looked for on the new primary.

Everything is on one disk and one machine: the times show what waiting costs, not a network.
"""

from __future__ import annotations

import argparse
import contextlib
import itertools
import json
import os
import pwd
import shutil
import signal
import socket
import statistics
import subprocess
import tempfile
import threading
import time
from concurrent.futures import ThreadPoolExecutor
from datetime import datetime, timedelta
from pathlib import Path

import psycopg

from collop.errors import StorageTrouble
from collop.measures import Weight, WeightUnit
from collop.shop import NewBooking, NewLine, create_shop, open_shop

WHEN = datetime(2026, 6, 13, 10)  # noqa: DTZ001 -- shop-local
SETTINGS = """
listen_addresses = '127.0.0.1'
port = {port}
unix_socket_directories = '{folder}'
shared_buffers = 64MB
max_wal_senders = 8
hot_standby = on
wal_keep_size = 256MB
"""


def programs() -> Path:
    """Return the folder of the newest server's programs."""
    folders = sorted(Path("/usr/lib/postgresql").glob("*/bin/initdb"),
                     key=lambda path: int(path.parent.parent.name))  # fmt: skip
    found = folders[-1] if folders else Path(shutil.which("initdb") or "/none")
    if not found.is_file():
        raise SystemExit("PostgreSQL is not on this machine: apt-get install postgresql")
    return found.parent


def free_port() -> int:
    """Return a port nobody listens on."""
    with socket.socket() as trial:
        trial.bind(("127.0.0.1", 0))
        return int(trial.getsockname()[1])


class Cluster:
    """One server in a folder of its own."""

    def __init__(self, folder: Path) -> None:
        self.folder, self.port = folder, free_port()
        folder.mkdir()
        self._as: list[str] = []
        if os.geteuid() == 0:  # the server refuses to run as root
            account = pwd.getpwnam("postgres")
            os.chown(folder, account.pw_uid, account.pw_gid)
            self._as = ["runuser", "-u", "postgres", "--"]

    @property
    def data(self) -> Path:
        """The server's files."""
        return self.folder / "data"

    def tool(self, name: str, *words: str) -> None:
        """Run one of the server's programs."""
        subprocess.run([*self._as, str(programs() / name), *words],  # noqa: S603 -- our own words
                       check=True, cwd=self.folder, stdout=subprocess.DEVNULL,
                       stderr=subprocess.DEVNULL)  # fmt: skip

    def write(self, name: str, text: str) -> None:
        """Add text to one of the server's files."""
        words = [*self._as, "tee", "-a", str(self.data / name)]
        subprocess.run(words, input=text, text=True, check=True,  # noqa: S603 -- our own words
                       stdout=subprocess.DEVNULL)  # fmt: skip

    def make(self) -> None:
        """Make an empty primary and start it."""
        self.tool("initdb", "-A", "trust", "-U", "postgres", "-E", "UTF8", "--locale=C",
                  "-D", str(self.data))  # fmt: skip
        self.write("postgresql.conf", SETTINGS.format(port=self.port, folder=self.folder))
        self.start()

    def follow(self, name: str, primary: Cluster, through: int) -> None:
        """Copy a primary and follow it through a port."""
        self.tool("pg_basebackup", "-h", "127.0.0.1", "-p", str(primary.port), "-U", "postgres",
                  "-D", str(self.data), "-c", "fast")  # fmt: skip
        line = f"host=127.0.0.1 port={through} user=postgres application_name={name}"
        self.write("postgresql.conf", SETTINGS.format(port=self.port, folder=self.folder)
                   + f"primary_conninfo = '{line}'\nsynchronous_standby_names = ''\n")  # fmt: skip
        self.write("postgresql.auto.conf", "synchronous_standby_names = ''\n"
                                           "synchronous_commit = on\n")  # fmt: skip
        self.write("standby.signal", "")
        self.start()

    def start(self) -> None:
        """Start the server and wait until it answers."""
        log = str(self.folder / "log")
        self.tool("pg_ctl", "-D", str(self.data), "-l", log, "-w", "start")

    def kill(self) -> None:
        """Kill every process of the server with signal 9."""
        first = (self.data / "postmaster.pid").read_text().split()[0]
        family = Path(f"/proc/{first}/task/{first}/children").read_text().split()
        for process in (first, *family):
            with contextlib.suppress(ProcessLookupError):
                os.kill(int(process), signal.SIGKILL)

    def close(self) -> None:
        """Stop the server if it runs."""
        with contextlib.suppress(subprocess.CalledProcessError):
            self.tool("pg_ctl", "-D", str(self.data), "-m", "immediate", "-w", "stop")

    def sql(self, statement: str, database: str = "postgres") -> list[tuple[object, ...]]:
        """Run a statement as the superuser."""
        where = f"postgresql://postgres@127.0.0.1:{self.port}/{database}"
        with psycopg.connect(where, autocommit=True) as conn:
            cursor = conn.execute(statement)
            return cursor.fetchall() if cursor.description else []


class Line:
    """A line from a port to a server that can be cut: nothing passes any longer."""

    def __init__(self, to: int) -> None:
        self.to, self.is_cut = to, threading.Event()
        self._server = socket.create_server(("127.0.0.1", 0))
        self.port = int(self._server.getsockname()[1])
        threading.Thread(target=self._take, daemon=True).start()

    def _take(self) -> None:
        with contextlib.suppress(OSError):
            while True:
                here, _ = self._server.accept()
                if self.is_cut.is_set():
                    here.close()
                    continue
                there = socket.create_connection(("127.0.0.1", self.to))
                for ends in ((here, there), (there, here)):
                    threading.Thread(target=self._pass, args=ends, daemon=True).start()

    def _pass(self, source: socket.socket, target: socket.socket) -> None:
        with contextlib.suppress(OSError):
            while got := source.recv(65536):
                if self.is_cut.is_set():
                    break  # what was under way is lost with the line
                target.sendall(got)
        for end in (source, target):
            with contextlib.suppress(OSError):
                end.shutdown(socket.SHUT_RDWR)

    def close(self) -> None:
        """Close the port."""
        self._server.close()


def wait_for(primary: Cluster, standbys: int) -> None:
    """Wait until that many standbys stream and have applied all there is."""
    for _ in range(200):
        rows = primary.sql("SELECT count(*) FROM pg_stat_replication WHERE state = 'streaming'"
                           " AND replay_lsn = pg_current_wal_lsn()")  # fmt: skip
        if rows[0][0] == standbys:
            return
        time.sleep(0.1)
    raise SystemExit("the standbys do not follow")


def grams(name: str) -> NewBooking:
    """Return a booking of one gram."""
    line = NewLine("C02", Weight.of("1", WeightUnit.G))
    return NewBooking(name=name, collect_at=WHEN, by="dot", lines=(line,))


def told(primary: Cluster, waits: str, names: str) -> None:
    """Set what a commit waits for."""
    primary.sql(f"ALTER SYSTEM SET synchronous_commit = '{waits}'")
    primary.sql(f"ALTER SYSTEM SET synchronous_standby_names = '{names}'")
    primary.sql("SELECT pg_reload_conf()")
    time.sleep(0.5)


def timed(url: str, bookings: int, name: str) -> list[float]:
    """Return how long each booking took, made one after another, milliseconds."""
    times = []
    with open_shop(url) as shop:
        for at in range(3 + bookings):
            began = time.perf_counter()
            shop.book(grams(f"{name} {at}"), key=f"{name}-{at}")
            times.append((time.perf_counter() - began) * 1000)
    return times[3:]


def latencies(group: Group, bookings: int) -> list[dict[str, object]]:
    """Return median and 95th percentile for each mode, the modes taking turns ten times."""
    times: dict[str, list[float]] = {name: [] for name, _, _ in MODES}
    for turn in range(ROUNDS):
        for name, waits, names in MODES:
            told(group.primary, waits, names)
            times[name] += timed(group.url, bookings // ROUNDS, f"{turn} {name}")
    return [
        {"mode": name, "bookings": len(found), "median_ms": round(statistics.median(found), 1),
         "p95_ms": round(sorted(found)[int(len(found) * 0.95)], 1)}
        for name, found in times.items()
    ]  # fmt: skip


class Group:
    """A primary, two standbys and the demo shop."""

    def __init__(self, folder: Path) -> None:
        self.primary = Cluster(folder / "primary")
        self.primary.make()
        self.primary.sql("CREATE ROLE collop LOGIN")
        self.primary.sql("CREATE DATABASE collop OWNER collop")
        self.url = f"postgresql://collop@127.0.0.1:{self.primary.port}/collop?shop=mill"
        create_shop(self.url, demo=True).close()
        self.line = Line(self.primary.port)
        self.standbys: list[Cluster] = []
        self._folder = folder

    def add_standbys(self) -> None:
        """Copy the primary twice; the first copy's line goes through the one that can be cut."""
        for name, through in (("s1", self.line.port), ("s2", self.primary.port)):
            one = Cluster(self._folder / name)
            one.follow(name, self.primary, through)
            self.standbys.append(one)
        wait_for(self.primary, 2)

    @property
    def both(self) -> str:
        """The address that names the primary and the standby to be promoted."""
        hosts = "&".join(f"host=127.0.0.1:{one.port}" for one in (self.primary, self.standbys[0]))
        return (f"postgresql://collop@/collop?{hosts}&target_session_attrs=read-write"
                "&shop=mill")  # fmt: skip

    def close(self) -> None:
        """Stop everything."""
        for one in (*self.standbys, self.primary):
            one.close()
        self.line.close()


def fail_over(group: Group, seconds: float) -> dict[str, object]:
    """Cut, kill, promote; return what was acknowledged before and what of it is gone."""
    answers: dict[str, tuple[float, str]] = {}
    unknown: list[str] = []
    over = threading.Event()

    def write(name: str) -> None:
        with open_shop(group.both) as shop:
            at = 0
            while not over.is_set():
                at += 1
                try:
                    number = shop.book(grams(f"{name} {at}"), key=f"{name}-{at}").id
                    answers[f"{name} {at}"] = (time.monotonic(), number)
                except StorageTrouble:
                    unknown.append(f"{name} {at}")

    with ThreadPoolExecutor(3) as crowd:
        for name in ("a", "b", "c"):
            crowd.submit(write, name)
        time.sleep(seconds)
        group.line.is_cut.set()
        cut_at = time.monotonic()
        time.sleep(0.5)
        group.primary.kill()
        killed_at = time.monotonic()
        standby = group.standbys[0]
        standby.tool("pg_ctl", "-D", str(standby.data), "-w", "promote")
        time.sleep(6)
        over.set()
    new = f"postgresql://collop@127.0.0.1:{standby.port}/collop?shop=mill"
    with open_shop(new) as shop:
        shown = shop.bookings(WHEN.date() - timedelta(30), WHEN.date() + timedelta(30))
        found: dict[str, int] = {}
        for booking in shown:
            found[booking.name] = found.get(booking.name, 0) + 1
        faults = shop.check()
    before = [name for name, (at, _) in answers.items() if at < killed_at]
    times = sorted(at for at, _ in answers.values())
    after = [at for at in times if at >= killed_at]
    longest = max(later - early for early, later in itertools.pairwise(times))
    return {
        "acknowledged_before": len(before),
        "of_these_after_the_cut": sum(answers[name][0] > cut_at for name in before),
        "lost": sum(name not in found for name in before),
        "twice": sum(count > 1 for count in found.values()),
        "told_of_a_fault": len(unknown),
        "acknowledged_after": len(after),
        "longest_silence_s": round(longest, 1),
        "check": faults,
    }


def on_standby(group: Group) -> dict[str, object]:
    """Return what a page that reads sees on a standby, and what a write there is told."""
    url = f"postgresql://collop@127.0.0.1:{group.standbys[1].port}/collop?shop=mill"
    with open_shop(url) as shop:
        checked = shop.check()
        try:
            shop.book(grams("on a standby"), key="standby")
            said = "it was booked"
        except StorageTrouble as error:
            said = error.message
    return {"check": checked, "a_write_is_told": said}


def _failed(folder: Path, name: str, waits: str, names: str) -> dict[str, object]:
    group = Group(folder)
    try:
        group.add_standbys()
        told(group.primary, waits, names)
        return {"mode": name, **fail_over(group, 3)}
    finally:
        group.close()


MODES = (
    ("standbys follow, nobody waits", "on", ""),
    ("waits until one of two has it on disk", "on", "ANY 1 (s1, s2)"),
    ("waits until one of two shows it", "remote_apply", "ANY 1 (s1, s2)"),
    ("waits until both show it", "remote_apply", "ANY 2 (s1, s2)"),
)
ROUNDS = 10
FAILS = (
    ("nobody waits (control)", ""),
    ("waits for the one that is promoted", "FIRST 1 (s1)"),
)


def measure(bookings: int) -> dict[str, object]:
    """Run everything and return the figures."""
    with tempfile.TemporaryDirectory(prefix="collop-replicas-") as place:
        folder = Path(place)
        folder.chmod(0o755)
        (folder / "speed").mkdir()
        group = Group(folder / "speed")
        try:
            group.add_standbys()
            speeds = latencies(group, bookings)
            wait_for(group.primary, 2)
            reading = on_standby(group)
        finally:
            group.close()
        fails = []
        for at, (name, names) in enumerate(FAILS):
            (folder / f"fail{at}").mkdir()
            fails.append(_failed(folder / f"fail{at}", name, "on", names))
    return {"latency": speeds, "standby": reading, "failover": fails}


def main() -> None:
    """Print the figures."""
    words = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    words.add_argument("--bookings", type=int, default=300)
    chosen = words.parse_args()
    print(json.dumps(measure(chosen.bookings), indent=1))


if __name__ == "__main__":
    main()
