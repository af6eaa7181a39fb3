"""The tables' steps: up, down and up again on a filled shop, and equal to what the code expects."""

from __future__ import annotations

import signal
import sqlite3
import subprocess
import sys
from contextlib import closing

import pytest
from alembic.autogenerate import compare_metadata
from alembic.config import Config
from alembic.migration import MigrationContext
from alembic.script import ScriptDirectory
from wished import line, order

from collop.errors import StorageTrouble
from collop.shop import Settings, create_shop, migrate, migrate_shop, open_shop
from collop.shop.store import Store
from collop.shop.tables import PLACES, ledger_entries, metadata


def rows_of(path):
    """Return every row of every table, so that nothing can change unseen."""
    with closing(sqlite3.connect(path)) as raw:
        names = [table.name for table in metadata.sorted_tables]
        return {
            name: raw.execute(f"SELECT * FROM {name} ORDER BY 1").fetchall()  # noqa: S608 -- ours
            for name in names
        }


def guards_of(path):
    with closing(sqlite3.connect(path)) as raw:
        query = "SELECT name FROM sqlite_master WHERE type = 'trigger' ORDER BY name"
        return [row[0] for row in raw.execute(query)]


FIRST = {
    "acts", "board_prices", "booking_events", "booking_lines", "bookings", "case_lines",
    "ledger_entries", "lots", "people", "pieces", "quote_lines", "quotes", "settings",
    "slip_lines", "slips",
}  # fmt: skip


@pytest.fixture
def filled(shop_file, url):
    """Put a sale, a release, a quote and a booking on top of the demo shop."""
    with open_shop(url) as shop:
        shop.quote([line("C01", "1")], ask={}, key="q")
        shop.release("H1", by="ines", key="r", why="off")
        weights = {one.id: one.weight for one in shop.booking("H2").lines}
        shop.hand_over("H2", weights, by="dot", key="h")
        shop.book(order(line("C23", "8.2")), key="b")
    return shop_file


def first_form(rows):
    """Return the rows of the tables that the first form had already, without later columns."""
    later = {"lots": 3, "case_lines": 1, "bookings": 1}
    new = {table.name for table in metadata.sorted_tables} - FIRST
    return {
        name: [row[: len(row) - later.get(name, 0)] for row in found]
        for name, found in rows.items()
        if name not in new
    }


def test_down_and_up_keeps_all_that_the_first_form_had(filled, url):
    """Two steps down and up again keep every row of the first tables, and the guards come back."""
    rows, guards = rows_of(filled), guards_of(filled)
    assert len(guards) == 117
    migrate_shop(url, "0001")
    assert guards_of(filled) == []
    with pytest.raises(StorageTrouble, match="older"):
        open_shop(url)
    migrate_shop(url)
    assert guards_of(filled) == guards
    assert first_form(rows_of(filled)) == first_form(rows)
    # what only the newer tables held is in the copy made on the way down
    assert rows_of(filled.with_name("shop.db.before-0001")) == rows


def test_a_shop_of_the_first_form_comes_up_whole(tmp_path):
    """A piece on the rail and its lost weight are there after the step, and the check holds."""
    path = tmp_path / "old.db"
    url = f"sqlite:///{path}"
    create_shop(url, settings=Settings("Old shop")).close()
    migrate_shop(url, "0002")
    pound = 45_359_237_000
    when = "2026-06-01 08:00:00.000000"
    with closing(sqlite3.connect(path)) as raw, raw:
        raw.execute("INSERT INTO acts VALUES ('k', 'demo', 'd', 'a', ?, NULL)", [when])
        raw.execute(
            "INSERT INTO lots (id, species, what, farm, weight_in, unit, since) VALUES"
            " ('B-1', 'beef', 'side', 'a farm', ?, 'lb', ?)", [300 * pound, when],
        )  # fmt: skip
        raw.executemany(
            "INSERT INTO ledger_entries (move, lot_id, place, delta, unit, reason, at, key)"
            " VALUES (?, 'B-1', ?, ?, 'lb', ?, ?, 'k')",
            [("a", "rail", 300 * pound, "received", when), ("b", "rail", -2 * pound, "air", when),
             ("b", "drip", 2 * pound, "air", when)],
        )  # fmt: skip
    migrate_shop(url)
    with open_shop(url) as shop:
        assert shop.check() == []
        (piece,) = shop.rail()
        assert (piece.tag, piece.lost.text(), piece.paid) == ("B-1", "2.00 lb", None)
        assert shop.settings().papers == Settings("Old shop").papers


def test_down_to_nothing_and_up_again_gives_an_empty_shop(filled, url):
    """The first step has its way back, and a copy of what was there lies beside the file."""
    rows = rows_of(filled)
    migrate_shop(url, "base")
    migrate_shop(url)
    assert not any(rows_of(filled).values())
    copy = filled.with_name("shop.db.before-base")
    assert rows_of(copy) == rows


def test_a_shop_that_is_up_to_date_is_left_alone(filled, url):
    """No step, no copy."""
    migrate_shop(url)
    assert not list(filled.parent.glob("*.before-*"))


def test_the_steps_make_the_tables_the_code_expects(url):
    """No column, type, index or key differs between steps and code."""
    store = Store(url)
    try:
        with store.read() as conn:
            context = MigrationContext.configure(conn, opts={"compare_type": True})
            assert compare_metadata(context, metadata) == []
    finally:
        store.close()


def test_the_newest_step_is_the_one_the_code_knows():
    """`HEAD` and the folder agree."""
    config = Config()
    folder = migrate.__file__.replace("migrate.py", "migrations")
    config.set_main_option("script_location", folder)
    config.set_main_option("path_separator", "os")
    assert ScriptDirectory.from_config(config).get_current_head() == migrate.HEAD


def test_places_of_the_ledger_are_those_of_its_check():
    """The list in code and the rule in the database name the same ten places."""
    texts = [str(rule.sqltext) for rule in ledger_entries.constraints if hasattr(rule, "sqltext")]
    (rule,) = [text for text in texts if text.startswith("place IN")]
    assert [word.strip(" '") for word in rule[10:-1].split(",")] == list(PLACES)


def test_a_newer_shop_is_not_migrated(filled, url):
    """An unknown step is refused and nothing is touched."""
    with closing(sqlite3.connect(filled)) as raw, raw:
        raw.execute("UPDATE alembic_version SET version_num = '9999'")
    rows = rows_of(filled)
    with pytest.raises(StorageTrouble, match="newer collop"):
        migrate_shop(url)
    assert rows_of(filled) == rows


def test_an_address_that_is_none_is_told():
    """Migrating needs a database."""
    with pytest.raises(StorageTrouble, match="no database address"):
        migrate_shop("not an address")


def test_a_shop_without_ways_to_cook_offers_the_minutes_of_its_case(filled, url):
    """Brought up from the step before fire sheets, lines have no body and keep their own times."""
    migrate_shop(url, "0006")
    migrate_shop(url)
    with open_shop(url) as shop:
        assert shop.check() == []
        offered = {one["id"]: one["minutes"] for one in shop.offers()}
        assert offered["C17"] == [12, 18]
        assert shop.fire.cook("C17") is None
        assert shop.fire.facts("H2").kind is None
        assert shop.fire.problem("H2")["items"]


STEPS = [f"{number:04d}" for number in range(1, int(migrate.HEAD))]


@pytest.mark.parametrize("step", STEPS)
def test_back_to_any_step_and_up_again_keeps_what_that_step_knew(filled, url, step):
    """From a filled shop down to each form and up again: rows, guards and tables are all there."""
    guards = guards_of(filled)
    migrate_shop(url, step)
    known, before = columns_of(filled), rows_of_file(filled)
    with closing(sqlite3.connect(filled)) as raw:
        assert raw.execute("PRAGMA foreign_key_check").fetchall() == []
        assert raw.execute("PRAGMA integrity_check").fetchone() == ("ok",)
    copy = filled.with_name(f"shop.db.before-{step}")
    migrate_shop(url)
    assert guards_of(filled) == guards
    for path in (filled, copy):
        for name, columns in known.items():
            if name != "alembic_version":
                assert picked(path, name, columns) == before[name], (path, name)
    with open_shop(url) as shop:
        assert shop.settings().name == "Tollebank Meats"


def test_one_step_back_and_forth_at_each_form_keeps_what_the_lower_one_knew(filled, url):
    """At every form: a step down and up again, then on down; nothing the lower knew is changed."""
    for step in reversed(STEPS):
        above = f"{int(step) + 1:04d}"
        guards, tables = guards_of(filled), columns_of(filled)
        migrate_shop(url, step)
        known, before = columns_of(filled), rows_of_file(filled)
        migrate_shop(url, above)
        assert guards_of(filled) == guards, above
        assert columns_of(filled) == tables, above
        for name, columns in known.items():
            if name != "alembic_version":
                assert picked(filled, name, columns) == before[name], (above, name)
        migrate_shop(url, step)
        assert rows_of_file(filled) == before, step


def columns_of(path):
    """Return the columns of every table the file itself has."""
    with closing(sqlite3.connect(path)) as raw:
        query = "SELECT name FROM sqlite_master WHERE type = 'table' AND name NOT LIKE 'sqlite%'"
        return {
            name: [row[1] for row in raw.execute(f"PRAGMA table_info({name})")]
            for (name,) in raw.execute(query).fetchall()
        }


def picked(path, name, columns):
    """Return some columns of every row of a table."""
    with closing(sqlite3.connect(path)) as raw:
        chosen = ", ".join(f'"{column}"' for column in columns)
        return raw.execute(f"SELECT {chosen} FROM {name} ORDER BY 1").fetchall()  # noqa: S608 -- ours


KILLED_MIDWAY = """
import os, signal, sys
from alembic import op
from collop.shop import migrate_shop

url, after = sys.argv[1], int(sys.argv[2])
real, calls = op.create_index, []

def create_index(*args, **more):
    calls.append(args)
    if len(calls) == after:
        os.kill(os.getpid(), signal.SIGKILL)
    return real(*args, **more)

op.create_index = create_index
migrate_shop(url)
"""


@pytest.mark.parametrize("after", [1, 4, 8])
def test_a_change_of_form_that_is_killed_leaves_the_old_form_whole(filled, url, after):
    """Killed at some table of the way up: the form before it stands, and the way up works."""
    migrate_shop(url, "0009")
    before = rows_of_file(filled)
    command = [sys.executable, "-c", KILLED_MIDWAY, url, str(after)]
    done = subprocess.run(command, check=False, capture_output=True)
    assert done.returncode == -signal.SIGKILL
    assert rows_of_file(filled) == before
    migrate_shop(url)
    with open_shop(url) as shop:
        assert shop.check() == []


def rows_of_file(path):
    """Return every row of every table the file itself has."""
    with closing(sqlite3.connect(path)) as raw:
        query = "SELECT name FROM sqlite_master WHERE type = 'table' AND name NOT LIKE 'sqlite%'"
        return {
            name: raw.execute(f"SELECT * FROM {name} ORDER BY 1").fetchall()  # noqa: S608 -- ours
            for (name,) in raw.execute(query).fetchall()
        }


def test_a_change_of_form_without_room_leaves_the_old_form_whole(filled, url):
    """The disk is full on the way up: one sentence, and the form before stands."""
    migrate_shop(url, "0002")
    before = rows_of_file(filled)
    with closing(sqlite3.connect(filled)) as raw:
        raw.execute("VACUUM")
        pages = raw.execute("PRAGMA page_count").fetchone()[0]
    from sqlalchemy import event
    from sqlalchemy.engine import Engine

    def full(connection, _record):
        connection.execute(f"PRAGMA max_page_count={pages + 4}").close()

    event.listen(Engine, "connect", full)
    try:
        with pytest.raises(StorageTrouble, match="full"):
            migrate_shop(url)
    finally:
        event.remove(Engine, "connect", full)
    assert rows_of_file(filled) == before
    migrate_shop(url)
