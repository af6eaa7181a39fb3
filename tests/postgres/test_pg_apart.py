"""Two shops in one database: neither reads, changes, enters or points to the other's rows.

Tried with raw statements on every table, with the shop's setting changed by hand, and with two
roles. Row security, its FORCE and its WITH CHECK: PostgreSQL 15 documentation, 5.8.
"""

from __future__ import annotations

import contextlib

import psycopg
import pytest

from collop.errors import StorageTrouble
from collop.shop import create_shop, open_shop
from collop.shop.tables import metadata
from collop.shop.tenancy_shops import admit_role, is_there

TABLES = [table.name for table in metadata.sorted_tables]


@contextlib.contextmanager
def raw(url, shop, role="collop"):
    """Yield a raw connection set to a shop; nothing of it is kept."""
    with psycopg.connect(url.replace("collop@", f"{role}@", 1),
                         options=f"-c collop.shop={shop}") as conn:  # fmt: skip
        yield conn
        conn.rollback()


@pytest.fixture
def mill(ground, pair):
    """Return the role mill, which may open the shop two and no other."""
    with contextlib.suppress(psycopg.errors.DuplicateObject):
        ground.sql("CREATE ROLE mill LOGIN")
    assert admit_role(f"{pair}?shop=two", "mill") == "two"
    return "mill"


def columns_of(conn, table):
    query = ("SELECT column_name::text FROM information_schema.columns WHERE table_name = %s"
             " AND table_schema = current_schema()")  # fmt: skip
    return [row[0] for row in conn.execute(query, [table])]


def test_every_table_is_kept_apart(two_demos):
    """Each table has the shop first in its keys, indexes and pointers, and forced row security."""
    with raw(two_demos, "one") as conn:
        held = dict(conn.execute("SELECT relname::text, relrowsecurity AND relforcerowsecurity"
                                 " FROM pg_class WHERE relkind = 'r'"))  # fmt: skip
        policies = dict(
            conn.execute(
                "SELECT tablename::text, cmd || ' ' || qual || ' / ' || with_check FROM pg_policies"
            )
        )
        wall = "(shop_id = ( SELECT this_shop() AS this_shop))"
        for table in TABLES:
            assert held[table], table
            assert policies[table] == f"ALL {wall} / {wall}", table
        rules = conn.execute(
            "SELECT conname, pg_get_constraintdef(oid) FROM pg_constraint"
            " WHERE contype IN ('p', 'u', 'f') AND conrelid::regclass::text = ANY(%s)",
            [TABLES],
        ).fetchall()
        assert len(rules) > 200
        for name, rule in rules:
            assert rule.count("(shop_id") == (2 if rule.startswith("FOREIGN") else 1), (name, rule)
        indexes = conn.execute("SELECT indexname, indexdef FROM pg_indexes"
                               " WHERE tablename = ANY(%s)", [TABLES]).fetchall()  # fmt: skip
        assert len(indexes) > 150
        assert all("(shop_id" in rule for _, rule in indexes)
        assert not [table for table in TABLES if "shop_id" not in columns_of(conn, table)]


def test_each_shop_sees_its_own_rows_of_every_table(two_demos):
    """Of each table both shops see equally many rows, and together they are all rows there are."""
    with raw(two_demos, "one") as one, raw(two_demos, "two") as two, raw(two_demos, "none") as none:
        filled = 0
        for table in TABLES:
            counts = [conn.execute(f"SELECT count(*), count(*) FILTER (WHERE shop_id <> %s)"  # noqa: S608
                                   f" FROM {table}", [shop]).fetchone()
                      for conn, shop in ((one, "one"), (two, "two"), (none, "none"))]  # fmt: skip
            assert counts[0] == counts[1], table
            assert (counts[0][1], counts[2][0]) == (0, 0), table
            filled += bool(counts[0][0])
        assert filled > 25


@pytest.mark.parametrize("table", TABLES)
def test_no_row_of_another_shop_is_changed_deleted_or_entered(two_demos, table):
    """Statements that name the other shop touch nothing, and a row in its name is refused."""
    with raw(two_demos, "one") as conn:
        other = "shop_id = 'two'"
        for verb in (f"UPDATE {table} SET shop_id = 'one' WHERE {other}",  # noqa: S608
                     f"DELETE FROM {table} WHERE {other}"):  # fmt: skip # noqa: S608
            assert conn.execute(verb).rowcount == 0
        row = conn.execute(f"SELECT * FROM {table} LIMIT 1").fetchone()  # noqa: S608
        if row is None:
            with pytest.raises(psycopg.errors.InsufficientPrivilege, match="row-level security"):
                _bare_row(conn, table)
            return
        columns = ", ".join(one for one in columns_of(conn, table) if one != "shop_id")
        with pytest.raises(psycopg.errors.InsufficientPrivilege, match="row-level security"):
            conn.execute(f"INSERT INTO {table} ({columns}, shop_id)"  # noqa: S608
                         f" SELECT {columns}, 'two' FROM {table} LIMIT 1")  # fmt: skip


def _bare_row(conn, table):
    """Enter a row of the other shop with any value in each column that must have one."""
    values = {"bigint": "1", "integer": "1", "boolean": "true", "date": "now()", "json": "'1'",
              "timestamp without time zone": "now()"}  # fmt: skip
    needed = conn.execute(
        "SELECT column_name::text, data_type FROM information_schema.columns"
        " WHERE table_name = %s AND is_nullable = 'NO' AND column_default IS NULL",
        [table],
    ).fetchall()
    names = ", ".join(["shop_id", *(name for name, _ in needed)])
    said = ", ".join(["'two'", *(values.get(kind, "'kg'") for _, kind in needed)])
    conn.execute(f"INSERT INTO {table} ({names}) VALUES ({said})")  # noqa: S608


def test_a_row_cannot_point_to_another_shops_row(ground, pair):
    """A target that only the other shop has is no target, even for the superuser, who sees both."""
    name = pair.rpartition("/")[2]
    ground.sql(
        "INSERT INTO people (shop_id, id, name, role) VALUES ('two', 'zoe', 'Zoe', '')", name
    )
    for shop, fails in (("one", True), ("two", False)):
        with raw(pair, shop) as conn:
            point = "UPDATE people SET name = name WHERE id = 'zoe'"
            assert conn.execute(point).rowcount == (0 if fails else 1)
            try:
                conn.execute("INSERT INTO devices (name, token_hash, made_at, by_id)"
                             " VALUES ('till', 'x', 0, 'zoe')")  # fmt: skip
                refused = False
            except psycopg.errors.ForeignKeyViolation:
                refused = True
            assert refused is fails
    with pytest.raises(psycopg.errors.ForeignKeyViolation):
        ground.sql("INSERT INTO devices (shop_id, number, name, token_hash, made_at, by_id)"
                   " VALUES ('one', 99, 'till', 'x', 0, 'zoe')", name)  # fmt: skip


def test_a_role_reaches_its_shop_and_no_other_whatever_it_sets(pair, mill):
    """The setting changed by hand opens nothing that the role was not admitted to."""
    with psycopg.connect(pair.replace("collop@", f"{mill}@"), autocommit=True) as conn:
        for how in ("SET collop.shop = 'one'", "SELECT set_config('collop.shop', 'one', false)"):
            conn.execute(how)
            assert conn.execute("SELECT this_shop()").fetchone() == (None,)
            for table in TABLES:
                seen = conn.execute(f"SELECT count(*) FROM {table}").fetchone()  # noqa: S608
                assert seen == (0,), table
        conn.execute("SET collop.shop = 'two'")
        assert conn.execute("SELECT count(*) > 0 FROM bookings").fetchone() == (True,)
        for attempt in (
            "SELECT * FROM shop_roles", "INSERT INTO shop_roles VALUES ('one', 'mill')",
            "SELECT * FROM shops", "UPDATE shops SET whole_at = NULL", "SET ROLE collop",
            "SET SESSION AUTHORIZATION collop", "TRUNCATE bookings CASCADE",
            "ALTER TABLE bookings DISABLE ROW LEVEL SECURITY", "DROP POLICY apart ON bookings",
            "DROP TRIGGER no_delete_bookings ON bookings", "UPDATE bookings SET name = ''",
            "DELETE FROM ledger_entries", "SET session_replication_role = replica",
            "CREATE OR REPLACE FUNCTION this_shop() RETURNS text LANGUAGE sql AS 'SELECT ''one'''",
        ):  # fmt: skip
            with pytest.raises(psycopg.errors.InsufficientPrivilege):
                conn.execute(attempt)


def test_the_tool_works_for_a_role_that_owns_nothing(pair, mill):
    """Signed in as mill the shop two opens, takes a booking back and adds up; one does not open."""
    address = pair.replace("collop@", f"{mill}@")
    with open_shop(address) as shop:  # the only one it may open: its name may be left out
        shop.release("H1", by="ines", key="r", why="off")
        assert shop.check() == []
    with open_shop(f"{pair}?shop=one") as shop:
        assert str(shop.booking("H1").state) == "booked"
        assert shop.check() == []
    assert not is_there(f"{address}?shop=one")
    with pytest.raises(StorageTrouble, match="no shop 'one'"):
        open_shop(f"{address}?shop=one")


def test_what_is_written_once_is_never_changed_even_by_the_owner(two_demos):
    """The owner's own UPDATE, DELETE and TRUNCATE are refused by the guards."""
    with psycopg.connect(two_demos, options="-c collop.shop=one", autocommit=True) as conn:
        for attempt in ("UPDATE ledger_entries SET delta = delta + 1", "DELETE FROM bookings",
                        "DELETE FROM audit", "UPDATE acts SET answer = ''",
                        "TRUNCATE settings", "TRUNCATE audit"):  # fmt: skip
            with pytest.raises(psycopg.errors.RaiseException, match="never edited"):
                conn.execute(attempt)
        guards = conn.execute(
            "SELECT count(*) FROM pg_trigger WHERE tgname ~ '^no_(update|delete)'"
        )
        assert guards.fetchone() == (117,)  # as many as SQLite has


def test_numbers_count_from_the_last_of_the_shop_without_gaps(two_demos):
    """Refused writes leave no gap, and what one shop books moves no number of the other."""

    def enter(conn, table="quotes"):
        return conn.execute(
            f"INSERT INTO {table} (ask, total, made_at, held_until, key)"  # noqa: S608
            " VALUES ('{}', 1, now(), now(), 'k') RETURNING number"
        ).fetchone()[0]

    found = {}
    for shop in ("one", "two", "one"):
        with psycopg.connect(two_demos, options=f"-c collop.shop={shop}") as conn:
            conn.execute("INSERT INTO acts (key, kind, digest, answer, at)"
                         " VALUES ('k', 't', '', '', now())")  # fmt: skip
            first = enter(conn)
            found.setdefault(shop, []).append(first)
            assert enter(conn) == first + 1
            conn.rollback()
            conn.execute("INSERT INTO acts (key, kind, digest, answer, at)"
                         " VALUES ('k', 't', '', '', now())")  # fmt: skip
            assert enter(conn) == first
            conn.rollback()
    assert found["one"][0] == found["one"][1] == found["two"][0]


def test_a_number_of_a_row_that_went_is_not_given_again(two_demos):
    """Where rows may be deleted the count is kept, as SQLite's AUTOINCREMENT does."""
    with raw(two_demos, "one") as conn:

        def device():
            return conn.execute(
                "INSERT INTO devices (name, token_hash, made_at)"
                " VALUES ('d', gen_random_uuid()::text, 0) RETURNING number"
            ).fetchone()[0]

        first = device()
        conn.execute("DELETE FROM devices")
        assert device() == first + 1


def test_a_shop_whose_making_broke_off_is_not_opened_and_is_made_again(ground, pair, monkeypatch):
    """A crash in the midst leaves no shop; the same name is then made whole."""
    url = f"{pair}?shop=three"

    def crash(*_):
        raise KeyboardInterrupt

    with monkeypatch.context() as broken:
        broken.setattr("collop.shop.tenancy_shops.finish_shop", crash)
        with pytest.raises(KeyboardInterrupt):
            create_shop(url, demo=True)
    with pytest.raises(StorageTrouble, match="never finished"):
        open_shop(url)
    with create_shop(url, demo=True) as shop:
        assert shop.check() == []
    with pytest.raises(StorageTrouble, match="already"):
        create_shop(url)


def test_a_refused_making_leaves_nothing(pair, monkeypatch):
    """A fault while the demo is seeded takes every row of the new shop away again."""

    def fail(*_):
        raise StorageTrouble("The disk is full.")

    with monkeypatch.context() as broken:
        broken.setattr("collop.shop.opening.seed_demo", fail)
        with pytest.raises(StorageTrouble, match="full"):
            create_shop(f"{pair}?shop=four", demo=True)
    assert not is_there(f"{pair}?shop=four")
    with psycopg.connect(pair) as conn:
        assert conn.execute("SELECT count(*) FROM shops").fetchone() == (2,)
