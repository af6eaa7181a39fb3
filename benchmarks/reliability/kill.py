"""A thousand kills of a real server under load, and power cuts at two settings of sync.

    .venv/bin/python benchmarks/reliability/kill.py [--kills 1000] [--cuts 100]

Four hands sell, book, move bookings on, read thermometers and count over HTTP; the server is killed
with SIGKILL at a random moment, started again, and what was not answered is sent again, the same
form. After each kill: every answered key is among the acts, what is there beyond that is what was
pending, the file is whole (integrity_check), ``Shop.check`` finds nothing; every fiftieth time the
command ``collop check`` is run too. The clock is put an hour on or back at every third start, and
every tenth hundred has a disk that takes 50 ms for each commit. Each hundred begins a fresh shop.
Then power cuts: what was not synced is put back, at the shop's own setting and at a weaker one.
"""

from __future__ import annotations

import argparse
import os
import platform
import random
import shutil
import sqlite3
import subprocess
import sys
import tempfile
import time
from collections import Counter
from contextlib import closing
from pathlib import Path

HERE = Path(__file__).resolve()
sys.path[:0] = [str(HERE.parents[2] / "src"), str(HERE.parents[2] / "tests" / "web")]

from killed_server import (  # noqa: E402 -- the paths come first
    Hand,
    Nursery,
    all_synced,
    noted_keys,
    power_cut,
    round_of,
    shim_in,
    wait_for,
)

from collop.shop import StillClock, create_shop, open_shop  # noqa: E402

FRESH_EVERY = 100
SLOW_EVERY = 10


def findings(path: Path) -> list[str]:
    """Return what is wrong with a shop's file and books."""
    with closing(sqlite3.connect(path)) as raw:
        said = [row[0] for row in raw.execute("PRAGMA integrity_check")]
    with open_shop(f"sqlite:///{path}", StillClock()) as shop:
        return [one for one in said if one != "ok"] + shop.check()


def by_command(path: Path) -> list[str]:
    """Return what ``collop check`` says if it finds something."""
    command = [str(Path(sys.executable).with_name("collop")), "check", "--db", str(path)]
    ours = os.environ | {"PYTHONPATH": str(HERE.parents[2] / "src")}
    done = subprocess.run(command, capture_output=True, text=True, check=False, env=ours)  # noqa: S603
    return [] if done.returncode == 0 else [done.stdout + done.stderr]


def acts_in(path: Path) -> list[str]:
    """Return the keys of the hands' acts."""
    with closing(sqlite3.connect(path)) as raw:
        return [key for (key,) in raw.execute("SELECT key FROM acts WHERE key LIKE 'K%'")]


class Tally(Counter[str]):
    """What happened: kills, answered, lost, twice, strays, findings, refused."""

    def look(self, path: Path, notes: Path, hands: list[Hand]) -> None:
        """Compare what was answered with what is there."""
        there, answered = acts_in(path), noted_keys(notes)
        pending = {hand.pending.key for hand in hands if hand.pending}
        self["lost"] += len(set(answered) - set(there))
        self["twice"] += len(there) - len(set(there)) + len(answered) - len(set(answered))
        self["strays"] += len(set(there) - set(answered) - pending)
        self["done unanswered"] += len((set(there) - set(answered)) & pending)
        self["pending"] += len(pending)
        found = findings(path) + (by_command(path) if self["kills"] % 50 == 0 else [])
        self["findings"] += len(found)
        for one in found[:3]:
            print("FOUND", one, flush=True)


def killed(folder: Path, kills: int) -> Tally:
    """Kill so many servers and return what happened."""
    chance, tally = random.Random(1), Tally()
    for begin in range(0, kills, FRESH_EVERY):
        block = begin // FRESH_EVERY
        path, notes = folder / f"shop-{block}.db", folder / f"notes-{block}"
        shutil.copy(folder / "demo.db", path)
        hands = [Hand(f"K{block}{name}", notes, random.Random(f"{block}{name}"))
                 for name in "abcd"]  # fmt: skip
        nursery = Nursery(path, slow_ms=50 if block % SLOW_EVERY == SLOW_EVERY - 1 else 0)
        for number in range(min(FRESH_EVERY, kills - begin)):
            more, late = chance.randint(1, 8), chance.uniform(0, 0.06)

            def wait(hands: list[Hand] = hands, more: int = more, late: float = late) -> None:
                wait_for(hands, more)
                time.sleep(late)

            minutes = (0, 60, -60)[number % 3]
            for _name, error in round_of(nursery, hands, wait, minutes):
                tally["findings"] += 1
                print("TROUBLE", repr(error)[:300], flush=True)
            tally["kills"] += 1
            tally.look(path, notes, hands)
        nursery.close()
        tally["answered"] += sum(hand.done for hand in hands)
        tally["refused"] += sum(len(hand.refused) for hand in hands)
        print(f"{tally['kills']} kills: {dict(tally)}", flush=True)
    return tally


def cut(folder: Path, cuts: int, sync: str) -> Tally:
    """Cut the power so many times and return what happened."""
    chance, tally, path = random.Random(2), Tally(), folder / f"cut-{sync}.db"
    shutil.copy(folder / "demo.db", path)
    nursery = Nursery(path, sync=sync, shim=shim_in(folder))
    for number in range(cuts):
        notes = folder / f"cut-notes-{sync}-{number}"
        hands = [Hand(f"K{sync}{number}{name}", notes, random.Random(number)) for name in "ab"]
        all_synced(path)
        round_of(nursery, hands, lambda hands=hands: wait_for(hands, 4))  # type: ignore[misc]
        power_cut(path, chance)
        answered, there = noted_keys(notes), set(acts_in(path))
        tally["cuts"] += 1
        tally["answered"] += len(answered)
        tally["lost"] += len(set(answered) - there)
        tally["cuts that lost"] += bool(set(answered) - there)
        tally["findings"] += len(findings(path))
    nursery.close()
    print(f"synchronous={sync}: {dict(tally)}", flush=True)
    return tally


def main() -> None:
    """Run all of it and print the table."""
    ask = argparse.ArgumentParser()
    ask.add_argument("--kills", type=int, default=1000)
    ask.add_argument("--cuts", type=int, default=100)
    told = ask.parse_args()
    begun = time.monotonic()
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        create_shop(f"sqlite:///{folder / 'demo.db'}", demo=True).close()
        tally = killed(folder, told.kills)
        cuts = {sync: cut(folder, told.cuts, sync) for sync in ("FULL", "NORMAL")}
    print(f"\n{platform.machine()}, Python {platform.python_version()}, SQLite "
          f"{sqlite3.sqlite_version}, {time.monotonic() - begun:.0f} s\n")  # fmt: skip
    print("| what | count |\n|---|---|")
    for one in ("kills", "answered", "pending", "done unanswered", "refused", "lost", "twice",
                "strays", "findings"):  # fmt: skip
        print(f"| {one} | {tally[one]} |")
    print("\n| power cuts | answered | lost | cuts that lost | findings |\n|---|---|---|---|---|")
    for sync, found in cuts.items():
        print(f"| {found['cuts']} at {sync} | {found['answered']} | {found['lost']} |"
              f" {found['cuts that lost']} | {found['findings']} |")  # fmt: skip


if __name__ == "__main__":
    main()
