"""Histories of calls and replies under a nemesis, judged for what could not have happened.

    .venv/bin/python benchmarks/reliability/history.py [--kills 200]

Six tellers work over HTTP at one shop: four at the usual work, one that moves a price, one that
books a line of which there is little and sends answered forms again. The nemesis kills the server
with SIGKILL, breaks one line in seven before, while or after the answer comes, and puts the clock
an hour on or back at two starts of three. Each fifty kills begin a fresh shop; the last fifty have
a disk that takes 200 ms for each commit. The rules are those of ``tests/web/killed_history.py``.
"""

from __future__ import annotations

import argparse
import platform
import random
import shutil
import sqlite3
import sys
import tempfile
import time
from collections import Counter
from pathlib import Path

HERE = Path(__file__).resolve()
sys.path[:0] = [str(HERE.parents[2] / "src"), str(HERE.parents[2] / "tests" / "web")]

from killed_history import WORK, Teller, verdict  # noqa: E402 -- the paths come first
from killed_server import Nursery, round_of, wait_for  # noqa: E402

from collop.shop import StillClock, create_shop, open_shop  # noqa: E402

FRESH_EVERY = 50
SLOW_MS = 200


def tellers_at(folder: Path, block: int) -> list[Teller]:
    """Return the tellers of one shop."""
    notes = folder / f"notes-{block}"
    made = [Teller(f"K{block}{name}", notes, random.Random(f"{block}{name}")) for name in "abcd"]
    made.append(Teller(f"P{block}", notes, random.Random(f"{block}p"), kinds=("price",)))
    kinds = ("scarce", "sale", *WORK, "again", "again")
    made.append(Teller(f"S{block}", notes, random.Random(f"{block}s"), kinds=kinds))
    return made


def block_of(folder: Path, block: int, kills: int, *, slow_ms: int) -> Counter[str]:
    """Work one shop through so many kills and return what was seen."""
    path, begun, seen = folder / f"shop-{block}.db", folder / "demo.db", Counter[str]()
    shutil.copy(begun, path)
    tellers, chance = tellers_at(folder, block), random.Random(block)
    nursery = Nursery(path, slow_ms=slow_ms)
    for number in range(kills):
        more, late = chance.randint(4, 14), chance.uniform(0, 0.06)

        def wait(more: int = more, late: float = late) -> None:
            wait_for(tellers, more)
            time.sleep(late)

        for name, error in round_of(nursery, tellers, wait, (0, 60, -60)[number % 3]):
            seen["troubles"] += 1
            print("TROUBLE", name, repr(error)[:300], flush=True)
    nursery.close()
    for rule, findings in verdict(path, begun, tellers).items():
        seen[rule] += len(findings)
        for one in findings[:5]:
            print("FOUND", rule, one, flush=True)
    with open_shop(f"sqlite:///{path}", StillClock()) as shop:
        seen["check"] += len(shop.check())
    told = [one for teller in tellers for one in teller.history]
    seen.update({
        "kills": kills, "acts": len(told), "answered": sum(bool(one.place) for one in told),
        "asked more than once": sum(one.tries > 1 for one in told),
        "answers to compare": sum(len(one.dropped) for one in told if one.place),
        "refused": sum(one.place == "" for one in told),
    })  # fmt: skip
    print(f"shop {block}: {dict(seen)}", flush=True)
    return seen


def main() -> None:
    """Run all shops and print the table."""
    ask = argparse.ArgumentParser()
    ask.add_argument("--kills", type=int, default=200)
    kills, begun, seen = ask.parse_args().kills, time.monotonic(), Counter[str]()
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        create_shop(f"sqlite:///{folder / 'demo.db'}", demo=True).close()
        blocks = range(0, kills, FRESH_EVERY)
        for block, first in enumerate(blocks):
            slow_ms = SLOW_MS if first == blocks[-1] and block else 0
            seen += block_of(folder, block, min(FRESH_EVERY, kills - first), slow_ms=slow_ms)
    print(f"\n{platform.machine()}, Python {platform.python_version()}, SQLite "
          f"{sqlite3.sqlite_version}, {time.monotonic() - begun:.0f} s\n")  # fmt: skip
    print("| what | count |\n|---|---|")
    for one in ("kills", "acts", "answered", "asked more than once", "answers to compare",
                "refused", "lost", "half", "without an act", "not asked", "answers", "numbers",
                "below zero", "prices", "check", "troubles"):  # fmt: skip
        print(f"| {one} | {seen[one]} |")


if __name__ == "__main__":
    main()
