"""Copies made while the shop writes, each restored and looked into.

    .venv/bin/python benchmarks/reliability/backup.py [--copies 20] [--writers 4]

Writers book small orders without pause, each in a process of its own; meanwhile copies are made,
one after another. Each copy is restored to another file: what was answered before the copy began
must be in it, its books must add up, and its export must be that of the copy, byte for byte. When
the writers have ended a last copy is restored, and its export must be that of the living shop.
"""

from __future__ import annotations

import argparse
import sqlite3
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

HERE = Path(__file__).resolve()
sys.path[:0] = [str(HERE.parents[2] / "src")]

from collop.shop import StillClock, create_shop, open_shop  # noqa: E402 -- the path comes first
from collop.shop.backup import make_backup  # noqa: E402
from collop.shop.restoring import restore  # noqa: E402

WRITER = """
import sys
from datetime import datetime
from collop.measures import Weight, WeightUnit
from collop.shop import NewBooking, NewLine, StillClock, open_shop

url, name = sys.argv[1:]
grams = NewLine("C02", Weight.of("1", WeightUnit.G))
with open_shop(url, StillClock()) as shop:
    for number in range(10**6):
        key = f"{name}-{number}"
        shop.book(NewBooking(name="Writer", collect_at=datetime(2026, 6, 13, 10), by="dot",
                             lines=(grams,)), key=key)
        print(key, flush=True)
"""


def exported(path: Path) -> bytes:
    """Return the export of everything."""
    with open_shop(f"sqlite:///{path}", StillClock()) as shop:
        assert shop.check() == []
        return shop.exchange.export()


def keys_in(path: Path) -> set[str]:
    """Return the keys of the acts of a shop."""
    raw = sqlite3.connect(path)
    try:
        return {key for (key,) in raw.execute("SELECT key FROM acts")}
    finally:
        raw.close()


def main() -> None:
    """Run it and print the table."""
    ask = argparse.ArgumentParser()
    ask.add_argument("--copies", type=int, default=20)
    ask.add_argument("--writers", type=int, default=4)
    told = ask.parse_args()
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        path = folder / "shop.db"
        create_shop(f"sqlite:///{path}", demo=True).close()
        notes = [folder / f"notes-{number}" for number in range(told.writers)]
        writers = [
            subprocess.Popen(  # noqa: S603 -- our own writers
                [sys.executable, "-c", WRITER, f"sqlite:///{path}", f"W{number}"],
                stdout=note.open("w"), env={"PYTHONPATH": str(HERE.parents[2] / "src")},
            )
            for number, note in enumerate(notes)
        ]  # fmt: skip
        while not all(note.stat().st_size for note in notes):
            time.sleep(0.05)
        missing = unequal = 0
        taken = []
        for number in range(told.copies):
            answered = {line for note in notes for line in note.read_text().split("\n")[:-1]}
            begun = time.perf_counter()
            made = make_backup(path, folder / f"copies-{number}")
            taken.append(time.perf_counter() - begun)
            back = folder / f"back-{number}.db"
            restore(made.path, back)
            missing += len(answered - keys_in(back))
            unequal += exported(back) != exported(made.path)
        for one in writers:
            one.kill()
            one.wait()
        written = len(keys_in(path))
        last = folder / "last.db"
        restore(make_backup(path, folder / "last").path, last)
        equal = exported(last) == exported(path)
    print("| copies under load | acts written meanwhile | answered before and missing"
          " | exports unequal | last one equal to the shop"
          " | seconds a copy, median, most |")  # fmt: skip
    print("|---|---|---|---|---|---|")
    print(f"| {told.copies} | {written} | {missing} | {unequal} | {'yes' if equal else 'NO'} |"
          f" {statistics.median(taken):.2f}, {max(taken):.2f} |")  # fmt: skip


if __name__ == "__main__":
    main()
