"""Copies of a working shop: whole, checked by opening them, thirty kept, none lost to a bad one."""

from __future__ import annotations

import hashlib
import json
import os
import sqlite3
import stat
import threading
from contextlib import closing
from datetime import UTC, datetime, timedelta

import pytest
from by_hand import past_guards
from hypothesis import given, settings
from hypothesis import strategies as st
from wished import line, order

from collop.errors import StorageTrouble
from collop.shop import StillClock, open_shop
from collop.shop import backup as backup_module
from collop.shop.audit_chain import newest_seal
from collop.shop.backup import backups_in, make_backup
from collop.shop.damage import must_be_sound
from collop.shop.restoring import restore
from collop.shop.serving_lock import ServingLock
from collop.web.keeper import Keeper


def exported(path):
    """Return the export of everything, byte for byte."""
    with open_shop(f"sqlite:///{path}", StillClock()) as shop:
        return shop.exchange.export()


def sold(shop, count, start=0):
    """Book so many small orders; each is an act of its own."""
    for number in range(start, start + count):
        shop.book(order(line("C01", "0.1")), key=f"b{number}")


def test_a_copy_restored_exports_the_same_bytes(shop_file, url, shop, tmp_path):
    """Copied, restored elsewhere, exported: equal byte for byte to the export of the shop."""
    sold(shop, 5)
    made = make_backup(shop_file)
    done = restore(made.path, tmp_path / "other.db")
    assert exported(tmp_path / "other.db") == exported(shop_file)
    assert (done.acts, done.seal) == (made.note.acts, made.note.seal)
    assert done.before is None


def test_the_note_tells_what_the_copy_holds(shop_file, shop):
    """Digest, size, acts, newest act and seal are those of the file and its shop."""
    sold(shop, 3)
    made = make_backup(shop_file)
    told = json.loads(made.path.with_suffix(".json").read_text())
    data = made.path.read_bytes()
    assert told["schema"] == "collop.backup/1"
    assert (told["sha256"], told["size"]) == (hashlib.sha256(data).hexdigest(), len(data))
    with shop._room.store.read() as conn:
        assert told["seal"] == newest_seal(conn)
    with closing(sqlite3.connect(shop_file)) as raw:
        assert told["acts"] == raw.execute("SELECT count(*) FROM acts").fetchone()[0]


def test_nobody_but_the_owner_may_read_a_copy(shop_file):
    """Folder, copy and note are closed to others."""
    made = make_backup(shop_file)
    for one in (made.path, made.path.with_suffix(".json"), made.path.parent):
        assert stat.S_IMODE(one.stat().st_mode) & 0o077 == 0
    assert not list(made.path.parent.glob(".making*"))
    assert not list(made.path.parent.glob("*-wal"))


def test_writers_go_on_while_copies_are_made(shop_file, url, tmp_path):
    """Copies made under load are each a whole shop; nothing that was answered before is missing."""
    answered, copies, troubles = [], [], []
    ending = threading.Event()

    def write(name):
        with open_shop(url, StillClock()) as shop:
            for number in range(10_000):
                if ending.is_set():
                    return
                key = f"{name}-{number}"
                shop.book(order(line("C01", "0.001")), key=key)
                answered.append(key)

    writers = [threading.Thread(target=write, args=(name,)) for name in "ab"]
    for one in writers:
        one.start()
    try:
        for number in range(4):
            before = len(answered)
            while len(answered) < before + 3 and all(one.is_alive() for one in writers):
                ending.wait(0.01)
            known = list(answered)
            made = make_backup(shop_file, tmp_path / f"copies-{number}")
            copies.append((known, made))
    except StorageTrouble as error:
        troubles.append(error)
    finally:
        ending.set()
        for one in writers:
            one.join()
    assert troubles == []
    assert len(copies) == 4
    for known, made in copies:
        with closing(sqlite3.connect(made.path)) as raw:
            there = {key for (key,) in raw.execute("SELECT key FROM acts")}
        assert set(known) <= there
        with open_shop(f"sqlite:///{made.path}", StillClock()) as shop:
            assert shop.check() == []
    done = restore(copies[-1][1].path, tmp_path / "restored.db")
    assert done.seal == copies[-1][1].note.seal
    assert exported(tmp_path / "restored.db") == exported(copies[-1][1].path)


def test_thirty_are_kept_and_strangers_stay(shop_file, tmp_path, monkeypatch):
    """The oldest of ours go; a file that somebody else put there does not."""
    folder = tmp_path / "copies"
    folder.mkdir()
    (folder / "shop-my own.db").write_bytes(b"mine")
    for minute in range(6):
        when = datetime(2026, 6, 9, 3, minute, tzinfo=UTC)
        real = backup_module.checked_copy

        def dated(path, when=when, real=real):
            from dataclasses import replace

            return replace(real(path), made_at=when.isoformat(timespec="seconds"))

        with monkeypatch.context() as patch:
            patch.setattr(backup_module, "checked_copy", dated)
            make_backup(shop_file, folder, keep=4)
    ours = [one for one in backups_in(shop_file, folder) if one.note]
    assert [one.made_at.minute for one in ours] == [5, 4, 3, 2]
    assert (folder / "shop-my own.db").exists()


def damaged(path):
    """Spoil a table's page in the middle of a file."""
    data = bytearray(path.read_bytes())
    page = len(data) // 2 // 4096 * 4096
    data[page : page + 4096] = b"\xa5" * 4096
    path.write_bytes(bytes(data))


def test_a_damaged_shop_gives_no_copy_and_the_old_ones_stay(shop_file):
    """What cannot be checked is never named a copy, and pushes none out."""
    good = make_backup(shop_file, keep=1)
    damaged(shop_file)
    with pytest.raises(StorageTrouble, match="damaged"):
        make_backup(shop_file, keep=1)
    assert [one.path for one in backups_in(shop_file)] == [good.path]
    assert not list(good.path.parent.glob(".making*"))


def test_books_that_do_not_add_up_are_no_backup(shop_file):
    """A file whole in its pages but wrong in its weights is refused too."""
    with closing(sqlite3.connect(shop_file)) as raw, raw:
        raw.execute("DROP TRIGGER no_update_ledger_entries")
        raw.execute("UPDATE ledger_entries SET delta = delta + 7 WHERE seq = 3")
    with pytest.raises(StorageTrouble, match="does not add up"):
        make_backup(shop_file)


def test_a_copy_that_was_changed_is_not_restored(shop_file, tmp_path):
    """Its digest is looked at first; the shop stays as it was."""
    made = make_backup(shop_file)
    with made.path.open("ab") as file:
        file.write(b"x")
    before = shop_file.read_bytes()
    with pytest.raises(StorageTrouble, match="SHA-256 differs"):
        restore(made.path, shop_file)
    assert shop_file.read_bytes() == before


def test_what_stood_there_is_kept_with_its_log(shop_file, url):
    """The shop that is replaced lies beside, and opens with all it had."""
    made = make_backup(shop_file)
    with open_shop(url, StillClock()) as shop:
        sold(shop, 2)
        # the log is not folded in yet: it is kept too
        done = restore(made.path, shop_file)
    with open_shop(f"sqlite:///{done.before}", StillClock()) as old:
        assert old.check() == []
        assert len(old.find("Hen")) >= 0
    with closing(sqlite3.connect(done.before)) as raw:
        assert raw.execute("SELECT count(*) FROM acts WHERE key IN ('b0', 'b1')").fetchone()[0] == 2
    with closing(sqlite3.connect(shop_file)) as raw:
        assert raw.execute("SELECT count(*) FROM acts WHERE key IN ('b0', 'b1')").fetchone()[0] == 0


STEPS = [
    "copy_into",
    "migrate_shop",
    "checked_copy",
    "_fold_log",
    "_keep",
    "_clear_log",
    "os.replace",
]


@pytest.mark.parametrize("step", STEPS)
def test_a_restore_that_fails_at_any_step_leaves_the_shop(shop_file, tmp_path, monkeypatch, step):
    """A disk that fills up at each step in turn: one sentence, and the shop opens as before."""
    made = make_backup(shop_file)
    other = sqlite3.connect(shop_file)  # somebody reads, so the log is not folded in at closing
    other.execute("SELECT count(*) FROM acts").fetchall()
    with open_shop(f"sqlite:///{shop_file}", StillClock()) as shop:
        sold(shop, 2)
    before = exported(shop_file)

    def full(*_args, **_more):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(f"collop.shop.restoring.{step}", full)
    with pytest.raises(StorageTrouble, match="No space left on device"):
        restore(made.path, shop_file)
    monkeypatch.undo()
    other.close()
    assert exported(shop_file) == before
    assert not list(shop_file.parent.glob(".restoring*"))


def test_a_served_shop_is_not_restored_over(shop_file):
    """The server has the lock; it is named, and nothing is changed."""
    made = make_backup(shop_file)
    with (
        ServingLock(shop_file, "served on 127.0.0.1:8000"),
        pytest.raises(StorageTrouble, match=r"shop\.db is served on 127\.0\.0\.1:8000 already"),
    ):
        restore(made.path, shop_file)


def test_an_older_form_is_brought_up_on_its_way(shop_file, url, tmp_path):
    """A copy made by an older version is restored into one that opens."""
    from collop.shop import migrate_shop

    old = tmp_path / "old.db"
    backup_module.copy_into(shop_file, old)
    migrate_shop(f"sqlite:///{old}", "0009")
    restore(old, shop_file)
    with open_shop(url, StillClock()) as shop:
        assert shop.check() == []


def test_a_sound_file_is_told_from_a_damaged_one(shop_file):
    """Both looks, quick and whole, pass the one and refuse the other."""
    must_be_sound(shop_file)
    must_be_sound(shop_file, quick=True)
    damaged(shop_file)
    with pytest.raises(StorageTrouble, match="damaged"):
        must_be_sound(shop_file, quick=True)


class Hands:
    """A clock that is put by hand."""

    def __init__(self, now):
        self.now = now

    def __call__(self):
        """Return the time it was put to."""
        return self.now


def test_a_copy_is_due_each_night_and_after_a_day(shop_file):
    """None yet: due. Made now: not due. After three at night, or a day: due again."""
    clock = Hands(datetime.now(tz=UTC))
    keeper = Keeper(shop_file, clock=clock)
    assert keeper.is_due()
    made = keeper.make()
    assert not keeper.is_due()
    clock.now = made.made_at + timedelta(hours=24)
    assert keeper.is_due()
    local = made.made_at.astimezone()
    night = (local + timedelta(days=1)).replace(hour=3, minute=1)
    clock.now = night.astimezone(UTC)
    assert keeper.is_due()


def test_a_failed_copy_is_told_and_tried_again(shop_file, monkeypatch):
    """The trouble stands to be shown; a quarter of an hour later it is tried again."""
    clock = Hands(datetime.now(tz=UTC))
    keeper = Keeper(shop_file, clock=clock)

    def full(*_args, **_more):
        raise StorageTrouble("The disk is full.")

    with monkeypatch.context() as patch:
        patch.setattr("collop.web.keeper.make_backup", full)
        with pytest.raises(StorageTrouble):
            keeper.make()
    assert keeper.state.trouble == "The disk is full."
    assert not keeper.is_due()
    clock.now += timedelta(minutes=15)
    assert keeper.is_due()
    keeper.make()
    assert keeper.state.trouble == ""


def test_the_thread_makes_the_first_copy_by_itself(shop_file):
    """Started, it makes one; stopped, it is gone."""
    keeper = Keeper(shop_file, poll=0.05)
    keeper.start()
    until = threading.Event()
    for _ in range(600):
        if keeper.state.newest:
            break
        until.wait(0.05)
    keeper.stop()
    assert keeper.state.newest is not None
    assert len(backups_in(shop_file)) == 1


@settings(max_examples=60)
@given(hours=st.integers(-40_000, 40_000))
def test_a_clock_that_jumps_stops_no_copies(hours):
    """Whatever the clock is put to, a day later at the latest a copy is due."""
    made = datetime(2026, 6, 9, 12, tzinfo=UTC)
    clock = Hands(made + timedelta(hours=hours))
    keeper = Keeper.__new__(Keeper)
    keeper._clock = clock
    from collop.web.keeper import Keeping

    keeper._state = Keeping()
    note = type("Noted", (), {"note": True, "made_at": made})()
    keeper.kept = lambda: (note,)
    if abs(hours) >= 24:
        assert keeper.is_due()


def test_what_is_written_while_a_restore_is_in_work_is_not_lost(shop_file, tmp_path, monkeypatch):
    """An act after the old shop was put aside stops the restore, and is still there."""
    from collop.shop import restoring

    made = make_backup(shop_file)
    keep, late = restoring._keep, []

    def kept(path):
        found = keep(path)
        # opened and not closed, as another program is that works on
        late.append(open_shop(f"sqlite:///{path}", StillClock()))
        sold(late[0], 1)
        return found

    monkeypatch.setattr(restoring, "_keep", kept)
    with pytest.raises(StorageTrouble, match="was written to while it was being replaced"):
        restore(made.path, shop_file)
    late[0].close()
    with closing(sqlite3.connect(shop_file)) as raw:
        assert raw.execute("SELECT count(*) FROM acts WHERE key = 'b0'").fetchone() == (1,)


def test_two_copies_of_one_second_have_names_of_their_own(shop_file, monkeypatch):
    """Neither takes the place of the other, whoever makes them at once."""
    real = backup_module.checked_copy

    def dated(path):
        from dataclasses import replace

        return replace(real(path), made_at="2026-06-09T03:00:00+00:00")

    monkeypatch.setattr(backup_module, "checked_copy", dated)
    makers = [threading.Thread(target=make_backup, args=(shop_file,)) for _ in range(3)]
    for one in makers:
        one.start()
    for one in makers:
        one.join()
    kept = backups_in(shop_file)
    assert len(kept) == 3
    for one in kept:
        assert one.note.sha256 == hashlib.sha256(one.path.read_bytes()).hexdigest()


def test_what_a_killed_maker_left_is_swept(shop_file):
    """A half copy of the day before goes; one of now may still be in work."""
    folder = backup_module.folder_beside(shop_file)
    folder.mkdir()
    old, new = folder / ".making-1-shop.db", folder / ".making-2-shop.db"
    for one in (old, new):
        one.write_bytes(b"half")
    two_days = datetime.now(tz=UTC).timestamp() - 48 * 3600
    os.utime(old, (two_days, two_days))
    (shop_file.parent / ".restoring-3-shop.db").write_bytes(b"half")
    restore(make_backup(shop_file).path, shop_file)
    assert not old.exists()
    assert new.exists()
    assert not list(shop_file.parent.glob(".restoring*"))


def test_a_row_that_is_no_longer_what_it_was_is_told(shop_file, url):
    """A time that is none passes the database's own check; it makes no copy, and check tells it."""
    past_guards(url, "UPDATE bookings SET collect_at = replace(collect_at, ':', '>')")
    must_be_sound(shop_file)
    with open_shop(url, StillClock()) as shop:
        (told,) = shop.check(rows=True)
    assert told.startswith("A row of bookings cannot be read")
    with pytest.raises(StorageTrouble, match="A row of bookings cannot be read"):
        make_backup(shop_file)
    assert backups_in(shop_file) == ()
