"""Bad days of a disk: bits that flip, no room, a file that goes away, a clock that jumps.

Never a wrong total, never a traceback, nothing acknowledged lost. Single bytes in growing amounts
is how SQLite tests itself against damage (sqlite.org/testing.html, malformed database files).
"""

from __future__ import annotations

import os
import random
import shutil
import sqlite3
import subprocess
from contextlib import closing, contextmanager
from datetime import datetime, timedelta
from pathlib import Path

import pytest
from click.testing import CliRunner
from sqlalchemy import select
from wished import line, order

from collop.cli import main
from collop.errors import CollopError, StorageTrouble
from collop.measures import UnitPrice, WeightUnit
from collop.shop import StillClock, open_shop
from collop.shop.access_tables import audit
from collop.shop.disk_look import LARGEST_LOG, look_at_disk, must_be_local

SEEDS = 160
START = datetime(2026, 6, 9, 8, 0)  # noqa: DTZ001 -- shop-local


def totals(shop):
    """Return the figures a butcher goes by: weights of the case, money of orders, what hangs."""
    first = shop.now().date().replace(day=1)
    return (
        [(one.id, str(one.on_hand), str(one.free)) for one in shop.case()],
        [(one.id, str(one.total)) for one in shop.bookings(first, first.replace(day=28))],
        [(one.tag, str(one.weight_in)) for one in shop.rail()],
    )


def flipped(source, target, seed):
    """Copy a file with 1 to 64 bits turned over."""
    chance, data = random.Random(seed), bytearray(source.read_bytes())
    for _ in range(chance.randint(1, 64)):
        data[chance.randrange(len(data))] ^= 1 << chance.randrange(8)
    target.write_bytes(data)


def outcome(path, want):
    """Return how a damaged shop answers."""
    try:
        with open_shop(f"sqlite:///{path}", StillClock()) as shop:
            if shop.check():
                return "told by check"
            return "right" if totals(shop) == want else "WRONG"
    except StorageTrouble as error:
        assert error.message.endswith(".")
        return "told"
    except CollopError:
        return "told by a room"
    except (LookupError, ValueError):
        return "unreadable"


def test_flipped_bits_never_give_a_wrong_total(demo_file, tmp_path):
    """Damage is told, or does not touch a figure; the command says it in one line."""
    with open_shop(f"sqlite:///{demo_file}", StillClock()) as shop:
        want = totals(shop)
    counts = {}
    for seed in range(SEEDS):
        path = tmp_path / f"{seed}.db"
        flipped(Path(demo_file), path, seed)
        found = outcome(path, want)
        assert found != "WRONG", seed
        counts[found] = counts.get(found, 0) + 1
        if found != "right":
            done = CliRunner().invoke(main, ["check", "--db", str(path)])
            assert done.exit_code == 1, (seed, found)
            assert isinstance(done.exception, SystemExit), (seed, done.exception)
            assert "Traceback" not in done.output
        for end in ("", "-wal", "-shm"):
            path.with_name(path.name + end).unlink(missing_ok=True)
    assert counts["told"] > SEEDS / 2
    assert counts.get("unreadable", 0) < SEEDS / 50


@pytest.mark.parametrize("size", [512, 1024, 4096, 65536])
def test_a_shop_of_any_page_size_works(demo_file, tmp_path, size):
    """Copied into pages of another size, it books, checks and counts as before."""
    path = tmp_path / "paged.db"
    with closing(sqlite3.connect(demo_file)) as raw:
        raw.execute(f"PRAGMA page_size={size}")
        raw.execute("VACUUM INTO ?", [str(path)])
    with closing(sqlite3.connect(path)) as raw:
        raw.execute("PRAGMA journal_mode=DELETE")
        raw.execute(f"PRAGMA page_size={size}")
        raw.execute("VACUUM")
        raw.execute("PRAGMA journal_mode=WAL")
        assert raw.execute("PRAGMA page_size").fetchone()[0] == size
    with open_shop(f"sqlite:///{path}", StillClock()) as shop:
        shop.book(order(line("C01", "0.5")), key="a")
        assert shop.check() == []


@contextmanager
def small_disk(folder, kilobytes):
    """Mount a disk of so many kilobytes, where that is allowed."""
    folder.mkdir()
    command = ["mount", "-t", "tmpfs", "-o", f"size={kilobytes}k", "tmpfs", str(folder)]
    if (
        shutil.which("mount") is None
        or subprocess.run(command, capture_output=True, check=False).returncode
    ):
        pytest.skip("this account may not mount a small disk")
    try:
        yield folder
    finally:
        subprocess.run(["umount", str(folder)], check=True)


def test_a_disk_that_fills_up_loses_nothing_that_was_answered(demo_file, tmp_path):
    """Filled at thirty different points, on a real small disk: told, and all answered is there."""
    size = Path(demo_file).stat().st_size // 1024
    told = 0
    with small_disk(tmp_path / "small", 3 * size) as disk:
        for step in range(30):
            path, filler = disk / f"{step}.db", disk / "filler"
            shutil.copy(demo_file, path)
            answered = []
            with open_shop(f"sqlite:///{path}", StillClock()) as shop:
                shop.book(order(line("C01", "0.01")), key="first")
                room = shutil.disk_usage(disk).free
                filler.write_bytes(b"\0" * max(0, room - 4096 * step))
                try:
                    for number in range(40):
                        shop.book(order(line("C01", "0.01")), key=f"k{number}")
                        answered.append(f"k{number}")
                except StorageTrouble as error:
                    told += 1
                    assert "full" in error.message or "disk" in error.message
                    assert error.message.endswith(".")
                filler.unlink()
                # the same request again, now that there is room
                shop.book(order(line("C01", "0.01")), key=f"k{len(answered)}")
                assert shop.check() == []
            with closing(sqlite3.connect(path)) as raw:
                there = {key for (key,) in raw.execute("SELECT key FROM acts")}
                assert raw.execute("PRAGMA integrity_check").fetchone() == ("ok",)
            assert set(answered) <= there
            for end in ("", "-wal", "-shm"):
                path.with_name(path.name + end).unlink(missing_ok=True)
    assert told > 20


@pytest.mark.parametrize("how", ["removed", "moved", "replaced"])
def test_a_file_taken_away_under_a_server_takes_no_more_writes(shop_file, url, how):
    """What would be written into a file without a name is refused, not lost."""
    path = Path(shop_file)
    with open_shop(url, StillClock()) as shop:
        shop.book(order(line("C01", "0.1")), key="a")
        if how == "removed":
            path.unlink()
        elif how == "moved":
            path.rename(path.with_name("elsewhere.db"))
        else:
            other = path.with_name("other.db")
            shutil.copy(path, other)
            os.replace(other, path)  # noqa: PTH105
        with pytest.raises(StorageTrouble, match="moved, removed or replaced"):
            shop.book(order(line("C01", "0.1")), key="b")


JUMPS = [timedelta(hours=1), timedelta(hours=-1), timedelta(days=366), timedelta(days=-366),
         timedelta(minutes=-1), timedelta(hours=-23)]  # fmt: skip


@pytest.mark.parametrize("jump", JUMPS)
def test_a_clock_that_jumps_reorders_nothing(shop, clock, jump):
    """Entries keep the order they were written in, and every weight still adds up."""
    first = shop.book(order(line("C01", "0.1")), key="a")
    clock.put(START + jump)
    price = UnitPrice.of("9.10", WeightUnit.LB)
    shop.board_price("C01", price, by="ines", why="clock", key="b")
    clock.put(START + timedelta(minutes=5))
    second = shop.book(order(line("C23", "8.2")), key="c")
    assert int(first.id[1:]) + 1 == int(second.id[1:])
    with shop._room.store.read() as conn:
        rows = select(audit.c.key).order_by(audit.c.seq)
        assert list(conn.scalars(rows))[-3:] == ["a", "b", "c"]
    assert shop.check() == []


def test_a_network_drive_is_refused(tmp_path):
    """The kind of the file system that a folder is on decides; the longest mount counts."""
    mounts = tmp_path / "mounts"
    mounts.write_text(
        f"/dev/sda1 / ext4 rw 0 0\nserver:/x {tmp_path}/far nfs4 rw 0 0\n"
        f"/dev/sdb1 {tmp_path}/far/near ext4 rw 0 0\n//box/s {tmp_path}/a\\040b cifs rw 0 0\n"
    )
    must_be_local(tmp_path / "shop.db", mounts)
    must_be_local(tmp_path / "far" / "near" / "shop.db", mounts)
    for folder in ("far", "a b"):
        with pytest.raises(StorageTrouble, match="network drive"):
            must_be_local(tmp_path / folder / "shop.db", mounts)
    must_be_local(tmp_path / "shop.db", tmp_path / "not there")


def test_a_disk_is_looked_at(shop_file, monkeypatch):
    """Its sync is timed, its room and the log are measured, and each is warned about."""
    found = look_at_disk(Path(shop_file))
    assert found.sync_s > 0
    assert found.size == Path(shop_file).stat().st_size
    Path(f"{shop_file}-wal").write_bytes(b"")
    os.truncate(f"{shop_file}-wal", LARGEST_LOG + 1)
    monkeypatch.setattr("collop.shop.disk_look._sync_seconds", lambda _folder: 0.00001)
    found = look_at_disk(Path(shop_file))
    assert any("0.01 ms" in one for one in found.warnings)
    assert any("64 MB" in one for one in found.warnings)
    Path(f"{shop_file}-wal").unlink()
