"""A file that may only be read, lost its log, or broke under a server; a clock put on and back."""

from __future__ import annotations

import os
import shutil
import signal
import sqlite3
import subprocess
import sys
import tempfile
import time
from contextlib import closing
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from wished import line, order

from collop.errors import StorageTrouble
from collop.shop import StillClock, open_shop
from collop.shop.backup import make_backup
from collop.web.keeper import Keeper

NOBODY = 65534

READ_AND_TRY = """
import os, shutil, sys, tempfile
from pathlib import Path
from collop.errors import StorageTrouble
from collop.measures import Weight, WeightUnit
from collop.shop import NewBooking, NewLine, StillClock, open_shop
from collop.shop.backup import make_backup
from collop.web.keeper import Keeper
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
    """Entries are counted in the order they were written; what is free is right after each."""
    free = {one.id: one.free for one in shop.case()}["C01"]
    with closing(sqlite3.connect(shop._room.store.url.database)) as raw:
        for number, moment in enumerate(moments):
            at = datetime.fromisoformat(moment)
            clock.put(at)
            new = replace(order(line("C01", "0.25")), collect_at=at.replace(hour=10))
            shop.book(new, key=f"k{number}")
            now = {one.id: one.free for one in shop.case()}["C01"]
            assert now < free
            free = now
        keys = raw.execute("SELECT key FROM audit WHERE key LIKE 'k%' ORDER BY seq").fetchall()
    assert [key for (key,) in keys] == ["k0", "k1", "k2", "k3"]
    assert shop.check() == []


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
