"""Bad days of a disk: bits that flip, no room, a file that goes away, a clock that jumps.

A file that may only be read and a log cut short are among them.

Never a wrong total, never a traceback, nothing acknowledged lost. Single bytes in growing amounts
is how SQLite tests itself against damage (sqlite.org/testing.html, malformed database files).
"""

from __future__ import annotations

import os
import random
import shutil
import signal
import sqlite3
import subprocess
import sys
import tempfile
import time
from contextlib import closing, contextmanager
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from click.testing import CliRunner
from sqlalchemy import select
from wished import case_line, lb, line, order, per_lb

from collop.cli import main
from collop.errors import CollopError, StorageTrouble
from collop.measures import Temperature, UnitPrice, WeightUnit
from collop.shop import NewDelivery, NewPiece, StillClock, open_shop
from collop.shop.access_tables import audit
from collop.shop.backup import make_backup
from collop.shop.disk_look import LARGEST_LOG, look_at_disk, must_be_local
from collop.web.keeper import Keeper

SEEDS = 160
NOBODY = 65534
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


@pytest.mark.parametrize("writes", [0, 1])
@pytest.mark.parametrize("how", ["removed", "moved", "replaced"])
def test_a_file_taken_away_under_a_server_takes_no_more_writes(shop_file, url, how, writes):
    """What would be written into a file without a name is refused, not lost."""
    path = Path(shop_file)
    with open_shop(url, StillClock()) as shop:
        for _ in range(writes):
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


READ_AND_TRY = """
import os, shutil, sys, tempfile
from pathlib import Path
from collop.errors import StorageTrouble
from collop.measures import Weight, WeightUnit
from collop.shop import NewBooking, NewLine, StillClock, open_shop
from collop.shop.backup import make_backup
from collop.shop.restoring import restore
from datetime import datetime

path, copy, nobody = Path(sys.argv[1]), Path(sys.argv[2]), int(sys.argv[3])

def book(path):
    with open_shop(f"sqlite:///{path}", StillClock()) as shop:
        shop.book(NewBooking(name="Hen", collect_at=datetime(2026, 6, 13, 10), by="dot",
                             lines=(NewLine("C01", Weight.of("0.1", WeightUnit.LB)),)), key="a")

def tell(path):
    for what in (book, make_backup, lambda path: restore(copy, path)):
        try:
            what(path)
        except StorageTrouble as error:
            print("told:", error.message)
        else:
            print("done")

# once with every right: what is imported on the way may not be readable afterwards
with tempfile.TemporaryDirectory() as folder:
    tell(Path(shutil.copy(path, folder)))
os.setgroups([])
os.setgid(nobody)
os.setuid(nobody)
tell(path)
"""


def as_nobody(path, copy):
    """Let an account without rights book, copy and restore; return what it was told."""
    if os.geteuid() != 0:
        pytest.skip("only root can become somebody without rights")
    for folder in [path.parent, *path.parent.parents]:
        if not folder.stat().st_mode & 0o001:
            pytest.skip(f"nobody may look into {folder}")
    command = [sys.executable, "-c", READ_AND_TRY, path, copy, str(NOBODY)]
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    told = done.stdout.splitlines()
    assert told[:3] == ["done"] * 3
    return told[3:]


@pytest.fixture
def open_folder(demo_file):
    """Return a shop in a folder that others may look into, and a copy of it elsewhere."""
    with tempfile.TemporaryDirectory(dir="/tmp") as name:
        folder = Path(name)
        folder.chmod(0o755)
        path = Path(shutil.copy(demo_file, folder / "shop.db"))
        copy = make_backup(path, folder / "copies").path
        copy.parent.chmod(0o755)
        copy.chmod(0o644)
        yield path, copy


@pytest.mark.parametrize("mode", [0o444, 0o000])
def test_a_file_of_another_account_is_told_and_left_alone(open_folder, mode):
    """Read-only, or shut: booking, copying and restoring each say so, and no byte is changed."""
    path, copy = open_folder
    path.chmod(mode)
    before = path.read_bytes()
    told = as_nobody(path, copy)
    assert len(told) == 3
    for one in told:
        assert one.startswith("told: "), told
        assert one.endswith("."), told
    assert path.read_bytes() == before
    assert sorted(one.name for one in path.parent.iterdir()) == ["copies", "shop.db"]


def test_a_folder_that_may_only_be_read_is_told(open_folder):
    """The file is theirs, the folder is not: no log can be made beside it, and that is told."""
    path, copy = open_folder
    os.chown(path, NOBODY, NOBODY)
    before = path.read_bytes()
    told = as_nobody(path, copy)
    assert len(told) == 3
    assert all(one.startswith("told: ") and one.endswith(".") for one in told), told
    assert path.read_bytes() == before


WRITER = """
import os, sys
from datetime import datetime
from collop.measures import Weight, WeightUnit
from collop.shop import NewBooking, NewLine, StillClock, open_shop

with open_shop(sys.argv[1], StillClock()) as shop:
    for number in range(12):
        shop.book(NewBooking(name="Hen", collect_at=datetime(2026, 6, 13, 10), by="dot",
                             lines=(NewLine("C01", Weight.of("0.01", WeightUnit.LB)),)),
                  key=f"k{number}")
    os.kill(os.getpid(), 9)
"""


def test_a_log_cut_short_gives_an_earlier_moment_never_half_an_act(shop_file, url, tmp_path):
    """Cut at any byte: the first acts whole and in order, none of the rest, and all adds up."""
    done = subprocess.run([sys.executable, "-c", WRITER, url], check=False)
    assert done.returncode == -signal.SIGKILL
    log = Path(f"{shop_file}-wal").read_bytes()
    numbers = set()
    for part in range(13):
        path = tmp_path / f"cut-{part}.db"
        shutil.copy(shop_file, path)
        Path(f"{path}-wal").write_bytes(log[: len(log) * part // 12 - (part % 3)])
        with open_shop(f"sqlite:///{path}", StillClock()) as shop:
            assert shop.check() == []
            with shop._room.store.read() as conn:
                found = conn.exec_driver_sql("SELECT key FROM acts WHERE key LIKE 'k%'").all()
        keys = {key for (key,) in found}
        assert keys == {f"k{number}" for number in range(len(keys))}
        numbers.add(len(keys))
    assert 0 in numbers
    assert 12 in numbers
    assert len(numbers) > 4


def test_a_log_cut_short_under_a_shop_that_is_open_is_no_wrong_total(shop_file, url):
    """Taken away below it: what it answers adds up, or it says that it cannot."""
    with open_shop(url, StillClock()) as shop:
        for number in range(5):
            shop.book(order(line("C01", "0.01")), key=f"k{number}")
        log = Path(f"{shop_file}-wal")
        assert log.stat().st_size > 0
        os.truncate(log, log.stat().st_size // 2)
        try:
            shop.book(order(line("C01", "0.01")), key="after")
            assert shop.check() == []
        except StorageTrouble as error:
            assert error.message.endswith(".")


@pytest.fixture
def in_winter_time():
    """Put this machine into a place where clocks are put on in March and back in October."""
    before = os.environ.get("TZ")
    os.environ["TZ"] = "Europe/Dublin"
    time.tzset()
    yield
    if before is None:
        del os.environ["TZ"]
    else:
        os.environ["TZ"] = before
    time.tzset()


#: The hour from one is there twice, or not at all.
TWICE = ["2026-10-25T00:30", "2026-10-25T01:50", "2026-10-25T01:10", "2026-10-25T02:30"]
LEFT_OUT = ["2026-03-29T00:50", "2026-03-29T02:10", "2026-03-29T02:30", "2026-03-29T03:05"]


@pytest.mark.parametrize("moments", [TWICE, LEFT_OUT])
def test_an_hour_told_twice_or_left_out_keeps_order_and_sums(shop, clock, moments):
    """What came and what it costs goes by the order of writing; the rail weighs what was hung."""
    before = sum((one.weight_in for one in shop.rail()), lb("0"))
    for number, moment in enumerate(moments, start=1):
        clock.put(datetime.fromisoformat(moment))
        piece = NewPiece(f"L{number}", "lamb", "lamb carcass", lb("40.25"))
        new = NewDelivery(f"L{number}", "lamb", "Upper Nimmock", [piece], lb("40.25"),
                          papers=["inspection mark"],
                          temperature=Temperature.fahrenheit(38))  # fmt: skip
        shop.cutting.receive(new, by="marek", key=f"k{number}")
        price = per_lb(f"9.0{number}")
        shop.board_price("C01", price, by="ines", why="clock", key=f"p{number}")
        assert case_line(shop, "C01").price == price
        hung = sum((one.weight_in for one in shop.rail()), lb("0"))
        assert hung == before + lb(str(40.25 * number))
    with closing(sqlite3.connect(shop._room.store.url.database)) as raw:
        keys = raw.execute("SELECT key FROM audit WHERE key GLOB '[kp][1-4]' ORDER BY seq")
        assert [key for (key,) in keys] == [f"{what}{n}" for n in (1, 2, 3, 4) for what in "kp"]


@pytest.mark.usefixtures("in_winter_time")
def test_a_copy_is_made_in_the_night_the_clocks_are_put_back(shop_file):
    """Three at night comes once: one copy after it, and none between the two hours of one name."""

    class Hands:
        now = datetime(2026, 10, 24, 22, 0, tzinfo=UTC)

        def __call__(self):
            return self.now

    clock = Hands()
    keeper = Keeper(shop_file, clock=clock)
    made = []
    for _ in range(24 * 4):
        clock.now += timedelta(minutes=15)
        # each copy is dated by the clock of this test
        keeper.kept = lambda: made[-1:]
        if keeper.is_due():
            made.append(_Kept(clock.now))
    assert [one.made_at.astimezone().strftime("%d %H:%M") for one in made] == [
        "24 23:15", "25 03:00"]  # fmt: skip


class _Kept:
    def __init__(self, made_at):
        self.made_at, self.note = made_at, True
