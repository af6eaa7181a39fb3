"""When the disk or the file will not: one sentence, nothing half written."""

from __future__ import annotations

import sqlite3
import subprocess
import sys
from contextlib import closing

import pytest
from sqlalchemy import event, insert, select, update
from wished import free_lb, lb, line, order

from collop.errors import BadValue, StorageTrouble
from collop.measures import Rounding, WeightUnit
from collop.shop import Person, Settings, create_shop, open_shop, store
from collop.shop.store import Store
from collop.shop.tables import APPEND_ONLY, ledger_entries, lots


def sentence(caught):
    """Return the error's message after checking that it is one sentence."""
    message = caught.value.message
    assert "\n" not in message
    assert message.endswith(".")
    return message


@pytest.mark.parametrize(
    ("address", "said"),
    [
        ("sqlite:////nowhere/shop.db", "There is no shop at"),
        ("sqlite://", "needs a file"),
        ("sqlite:///:memory:", "needs a file"),
        ("not an address", "no database address"),
        ("nosuch://host/shop", "No database driver"),
    ],
)
def test_an_address_that_leads_nowhere_is_told(address, said):
    """Opening and making answer alike: what is wrong and what to write."""
    with pytest.raises(StorageTrouble, match=said) as caught:
        open_shop(address)
    assert sentence(caught)
    with pytest.raises(StorageTrouble) as caught:
        create_shop(address)
    assert sentence(caught)


def test_opening_never_makes_a_file(tmp_path):
    """A mistyped name leaves no empty shop behind."""
    with pytest.raises(StorageTrouble):
        open_shop(f"sqlite:///{tmp_path / 'mistyped.db'}")
    assert list(tmp_path.iterdir()) == []


def test_a_file_that_is_no_database_is_told(tmp_path):
    """Any other file, and any other database."""
    other = tmp_path / "letter.db"
    other.write_text("Dear Ines, " * 200)
    with pytest.raises(StorageTrouble, match=r"letter\.db is not a collop shop") as caught:
        open_shop(f"sqlite:///{other}")
    assert sentence(caught)
    with closing(sqlite3.connect(tmp_path / "birds.db")) as raw:
        raw.execute("CREATE TABLE birds (name)")
    with pytest.raises(StorageTrouble, match=r"birds\.db is not a collop shop"):
        open_shop(f"sqlite:///{tmp_path / 'birds.db'}")


@pytest.mark.parametrize(("form", "said"), [("0001", "older"), ("9999", "newer")])
def test_a_shop_of_another_version_is_told(shop_file, url, form, said):
    """Older: migrate. Newer: use that version."""
    with closing(sqlite3.connect(shop_file)) as raw, raw:
        raw.execute("UPDATE alembic_version SET version_num = ?", (form,))
    with pytest.raises(StorageTrouble, match=said) as caught:
        open_shop(url)
    assert sentence(caught)


def test_a_damaged_file_is_told(shop_file, url):
    """Pages overwritten with noise: restore the backup."""
    noise = bytearray(shop_file.read_bytes())
    noise[8192 : len(noise)] = b"\xa5" * (len(noise) - 8192)
    shop_file.write_bytes(noise)
    with pytest.raises(StorageTrouble, match=r"damaged; restore") as caught:
        open_shop(url).case()
    assert sentence(caught)


def test_a_full_disk_is_told_and_nothing_is_kept(shop, shop_file):
    """The file may not grow by a page: no booking, no weight moved."""

    def no_room(connection, _record, _proxy):
        pages = connection.execute("PRAGMA page_count").fetchone()[0]
        connection.execute(f"PRAGMA max_page_count={pages}").close()

    event.listen(shop._room.store._writer, "checkout", no_room)
    wish = order(line("C01", "1"), note="n" * 2000, ask={"filler": "x" * 100_000})
    with pytest.raises(StorageTrouble, match="disk is full; nothing was written") as caught:
        shop.book(wish, key="a")
    assert sentence(caught)
    assert free_lb(shop, "C01") == "8.00"
    assert shop.find("H11") == ()


def test_a_file_that_may_only_be_read_is_told(shop, shop_file):
    """A writer that is refused says so; reading still works."""
    event.listen(
        shop._room.store._writer,
        "checkout",
        lambda connection, *_rest: connection.execute("PRAGMA query_only=ON").close(),
    )
    with pytest.raises(StorageTrouble, match="may only be read; nothing was written") as caught:
        shop.book(order(line("C01", "1")), key="a")
    assert sentence(caught)
    assert free_lb(shop, "C01") == "8.00"


def test_another_writer_that_does_not_finish_is_told(shop_file, url, monkeypatch):
    """After the waiting time: busy, try again. Readers are not held up."""
    monkeypatch.setattr(store, "_WAIT_S", 0.05)
    with open_shop(url) as shop, closing(sqlite3.connect(shop_file)) as other:
        other.isolation_level = None
        other.execute("BEGIN IMMEDIATE")
        assert free_lb(shop, "C01") == "8.00"
        with pytest.raises(StorageTrouble, match="busy with another writer") as caught:
            shop.book(order(line("C01", "1")), key="a")
        assert sentence(caught)
        other.execute("ROLLBACK")
        assert shop.book(order(line("C01", "1")), key="a").id == "H11"


def test_a_folder_that_is_not_there_is_told(tmp_path):
    """A shop is not made in a folder that does not exist."""
    with pytest.raises(StorageTrouble, match="no folder"):
        create_shop(f"sqlite:///{tmp_path / 'no' / 'shop.db'}")


@pytest.mark.parametrize("table", [one.name for one in APPEND_ONLY])
def test_what_is_written_once_is_never_edited(shop_file, table):
    """The database itself refuses update and delete, even by hand."""
    with closing(sqlite3.connect(shop_file)) as raw:
        raw.execute("PRAGMA foreign_keys=OFF")
        names = [row[1] for row in raw.execute(f"PRAGMA table_info({table})")]
        touch = f"UPDATE {table} SET {names[0]} = {names[0]}"  # noqa: S608 -- our own names
        empty = f"DELETE FROM {table}"  # noqa: S608 -- our own names
        if raw.execute(f"SELECT count(*) FROM {table}").fetchone() == (0,):  # noqa: S608
            raw.execute("PRAGMA ignore_check_constraints=ON")
            ones = ", ".join("1" for _ in names)
            raw.execute(f"INSERT INTO {table} VALUES ({ones})")  # noqa: S608
        for statement in (touch, empty):
            with pytest.raises(sqlite3.IntegrityError, match="never edited"):
                raw.execute(statement)


def test_our_own_code_cannot_edit_the_ledger_either(url):
    """On databases without triggers the connection refuses the statement."""
    held = Store(url)
    try:
        with pytest.raises(StorageTrouble, match="never edited"), held.write() as conn:
            conn.execute(update(ledger_entries).values(delta=1))
    finally:
        held.close()


def test_readers_cannot_write(url):
    """A reading connection refuses every write."""
    held = Store(url)
    try:
        with pytest.raises(StorageTrouble, match="may only be read"), held.read() as conn:
            conn.execute(insert(lots).values(id="x", species="x", what="x", weight_in=1, unit="lb"))
    finally:
        held.close()


def test_the_file_is_kept_as_safely_as_sqlite_can(url):
    """Write-ahead log, full synchronisation, foreign keys on."""
    held = Store(url)
    try:
        with held.write() as conn:
            found = {
                name: conn.exec_driver_sql(f"PRAGMA {name}").scalar()
                for name in ("journal_mode", "synchronous", "foreign_keys")
            }
    finally:
        held.close()
    assert found == {"journal_mode": "wal", "synchronous": 2, "foreign_keys": 1}


def test_check_sees_weight_that_appears_from_nowhere(shop_file, url):
    """One entry slipped in by hand is told by lot, move, place and promise."""
    with open_shop(url) as shop:
        assert shop.check() == []
        with closing(sqlite3.connect(shop_file)) as raw, raw:
            raw.execute(
                "INSERT INTO ledger_entries (move, lot_id, booking_line_id, place, delta, unit,"
                " reason, at, key) SELECT 'x', lot_id, booking_line_id, 'booked', -1, unit,"
                " 'x', at, key FROM ledger_entries WHERE place = 'booked' LIMIT 1"
            )
        found = shop.check()
    assert len(found) == 3
    assert any("came in" in fault for fault in found)
    assert any("out of balance" in fault for fault in found)
    assert any("is promised" in fault for fault in found)


def test_check_sees_more_promised_than_there_is(shop_file, url):
    """A case below nothing is told as free weight less than nothing."""
    with open_shop(url) as shop:
        with closing(sqlite3.connect(shop_file)) as raw, raw:
            raw.executemany(
                "INSERT INTO ledger_entries (move, lot_id, place, delta, unit, reason, at, key)"
                " SELECT 'x', lot_id, ?, ?, unit, 'x', at, key FROM ledger_entries"
                " WHERE lot_id = 'C23-0609' AND place = 'case' LIMIT 1",
                [("case", -9_000_000_000_000), ("bin", 9_000_000_000_000)],
            )
        (fault,) = shop.check()
    assert "C23-0609" in fault
    assert "less than nothing" in fault


def test_a_real_shop_starts_empty_with_its_own_settings(tmp_path):
    """Name, currency, rounding, unit and people are kept; the case is empty."""
    chosen = Settings(
        "Weir Street",
        currency="EUR",
        rounding=Rounding.HALF_EVEN,
        legal_unit=WeightUnit.KG,
        quote_hold_minutes=30,
        open_days=(0, 1),
    )
    path = f"sqlite:///{tmp_path / 'real.db'}"
    with create_shop(path, settings=chosen, people=[Person("ana", "Ana", "owner")]) as shop:
        assert shop.settings() == chosen
        assert shop.people() == (Person("ana", "Ana", "owner"),)
        assert (shop.case(), shop.offers(), shop.rail(), shop.check()) == ((), [], (), [])
        assert shop.now().tzinfo is None


@pytest.mark.parametrize(
    ("chosen", "said"),
    [
        (Settings(" "), "needs a name"),
        (Settings("A", currency="dollars"), "not a currency"),
        (Settings("A", quote_hold_minutes=0), "1 minute to 7 days"),
        (Settings("A", open_days=()), "open day"),
        (Settings("A", open_days=(7,)), "open day"),
    ],
)
def test_settings_out_of_range_make_no_shop(tmp_path, chosen, said):
    """A clear sentence, and no file is left."""
    with pytest.raises(BadValue, match=said):
        create_shop(f"sqlite:///{tmp_path / 'real.db'}", settings=chosen)
    assert list(tmp_path.iterdir()) == []


def test_a_shop_without_settings_is_told(shop_file, url):
    """Rows that went missing are no traceback."""
    with closing(sqlite3.connect(shop_file)) as raw, raw:
        raw.execute("DELETE FROM settings")
    with pytest.raises(StorageTrouble, match="lacks its settings") as caught:
        open_shop(url)
    assert sentence(caught)


def test_importing_the_shop_does_not_load_alembic():
    """Only making or migrating a shop needs it."""
    code = "import sys, collop.shop; print('alembic' in sys.modules, 'sqlalchemy' in sys.modules)"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.split() == ["False", "True"]


def test_weights_survive_the_database_to_the_last_count(shop):
    """A third of a pound to the nearest count comes back as it went in."""
    odd = lb("0.333")
    made = shop.book(order(line("C01", "0.333")), key="a")
    with shop._room.store.read() as conn:
        deltas = conn.scalars(
            select(ledger_entries.c.delta).where(ledger_entries.c.booking_line_id.is_not(None))
        ).all()
    assert odd.count in deltas
    assert made.lines[0].held.count == odd.count
