"""A bench that may be killed at any moment: it breaks lamb after lamb and notes what was answered.

Run as ``kill_worker.py DATABASE NOTES COUNT FULL|OFF``. For each line on its input it starts a
process of its own, with all imported already, and tells its number; when that ended it tells how,
and a second line lets it go. The process sends every act of every lamb that is not noted as done.
Its keys tell lamb and step, so whoever comes after it sends the same requests again and nothing is
done twice. A key is noted after the answer came, in one unbuffered write that is synced before the
next act begins.
"""

from __future__ import annotations

import os
import sys
from datetime import datetime
from fractions import Fraction
from pathlib import Path

from collop.measures import Weight, WeightUnit
from collop.shop import NewPart, NewStyle, StillClock, open_shop

STYLE = NewStyle(
    "quick", "lamb", "lamb carcass", "Lamb in three",
    [NewPart("Legs", "cut", "case", Fraction(3, 8), "C01", 5),
     NewPart("The rest", "cut", "block", Fraction(3, 8), None, 5),
     NewPart("Bone", "bone", "bone", Fraction(1, 4))],
)  # fmt: skip
AT = datetime(2026, 6, 9, 8, 0)  # noqa: DTZ001 -- shop-local


def tag_of(number):
    """Return the tag of a lamb."""
    return f"K-{number:03d}"


def carcass(number):
    """Return what a lamb weighs as it hangs."""
    return Weight.of(20_000 + 7 * number, WeightUnit.G)


def part_weight(number, part):
    """Return what a part of a lamb weighs: its share, in whole grams."""
    share = int(carcass(number).exact(WeightUnit.G) * part.share)
    return Weight.of(share, WeightUnit.G)


def noted_keys(file):
    """Return the keys noted so far; a last line without its end was never written whole."""
    text = file.read_text() if file.exists() else ""
    return text.splitlines() if text.endswith("\n") else text.splitlines()[:-1]


class Bench:
    """One worker's hands: each act is sent, answered, noted."""

    def __init__(self, shop, notes):
        self.cutting = shop.cutting
        self.notes = os.open(notes, os.O_WRONLY | os.O_CREAT | os.O_APPEND)

    def note(self, key):
        """Note what was answered, down to the disk."""
        os.write(self.notes, f"{key}\n".encode())
        os.fsync(self.notes)

    def break_lamb(self, number, style):
        """Send all acts of one lamb."""
        tag = tag_of(number)
        made = self.cutting.start_break(tag, STYLE.id, by="marek", key=f"{tag} start")
        self.note(f"{tag} start")
        for part in style.parts:
            key = f"{tag} {part.id}"
            weight = part_weight(number, part)
            self.cutting.weigh_part(made.number, part.id, weight, by="marek", key=key)
            self.note(key)
        self.cutting.close_break(made.number, by="marek", key=f"{tag} close", why="as weighed")
        self.note(f"{tag} close")


def work(url, notes, count, sync):
    """Break all lambs that are not done."""
    done = set(noted_keys(Path(notes)))
    with open_shop(url, StillClock(AT)) as shop:
        if sync == "OFF":
            with shop._room.store._writer.connect() as conn:
                conn.connection.driver_connection.execute("PRAGMA synchronous=OFF")
        bench, style = Bench(shop, notes), shop.cutting.style(STYLE.id)
        for number in range(int(count)):
            if f"{tag_of(number)} close" not in done:
                bench.break_lamb(number, style)


def main():
    """Start a worker for each line, and tell its number and its end."""
    for _ in sys.stdin:
        worker = os.fork()
        if not worker:
            work(*sys.argv[1:])
            os._exit(0)
        print(worker, flush=True)  # noqa: T201 -- the test listens
        # its number is kept from others until its end was told, so that no other process is killed
        ended = os.waitid(os.P_PID, worker, os.WEXITED | os.WNOWAIT)
        is_killed = ended.si_code != os.CLD_EXITED
        print(-ended.si_status if is_killed else ended.si_status, flush=True)  # noqa: T201
        sys.stdin.readline()
        os.waitpid(worker, 0)


if __name__ == "__main__":
    main()
