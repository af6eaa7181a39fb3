"""The steps on PostgreSQL: up, down and up again on a filled shop; later tables kept apart too."""

from __future__ import annotations

import contextlib

import psycopg
import pytest
import sqlalchemy as sa
from alembic.migration import MigrationContext
from alembic.operations import Operations

from collop.errors import StorageTrouble
from collop.shop import Settings, create_shop, migrate_shop, open_shop
from collop.shop.store import address_of, engine_for
from collop.shop.tables import metadata
from collop.shop.tenancy import each_shop, guard, walls_down
from collop.shop.tenancy_shops import admit_role

TABLES = [table.name for table in metadata.sorted_tables]
_CATALOG = {
    "columns": "SELECT table_name, column_name, data_type, collation_name, is_nullable,"
               " column_default FROM information_schema.columns WHERE table_schema = 'public'",
    "rules": "SELECT conrelid::regclass::text, conname, pg_get_constraintdef(oid)"
             " FROM pg_constraint WHERE connamespace = 'public'::regnamespace",
    "indexes": "SELECT indexname, indexdef FROM pg_indexes WHERE schemaname = 'public'",
    "triggers": "SELECT pg_get_triggerdef(oid) FROM pg_trigger WHERE NOT tgisinternal",
    "policies": "SELECT tablename, policyname, qual, with_check FROM pg_policies",
    "functions": "SELECT proname, pg_get_functiondef(oid) FROM pg_proc"
                 " WHERE pronamespace = 'public'::regnamespace",
    "walls": "SELECT relname, relrowsecurity, relforcerowsecurity FROM pg_class"
             " WHERE relnamespace = 'public'::regnamespace AND relkind = 'r'",
    "sequences": "SELECT relname FROM pg_class"
                 " WHERE relkind = 'S' AND relnamespace = 'public'::regnamespace",
}  # fmt: skip


@contextlib.contextmanager
def closing_engine(engine):
    """Close the engine's connections, whatever happens."""
    try:
        yield
    finally:
        engine.dispose()


def form_of(ground, database):
    """Return all that the catalogue says of our tables, whatever the order of their columns."""
    return {name: sorted(map(str, ground.sql(query, database)))
            for name, query in _CATALOG.items()}  # fmt: skip


def rows_of(ground, database):
    """Return every row of every table without its shop, as JSON."""
    return {
        table: sorted(str(row[0]) for row in ground.sql(
            f"SELECT (to_jsonb(t) - 'shop_id')::text FROM {table} t", database))  # noqa: S608
        for table in TABLES
    }  # fmt: skip


@pytest.fixture
def filled(ground):
    url = ground.database("filled") + "?shop=mill"
    with create_shop(url, demo=True) as shop:
        shop.release("H1", by="ines", key="r", why="off")
    yield url
    ground.sql("DROP DATABASE filled WITH (FORCE)")


def test_down_and_up_again_gives_the_same_form_and_rows(ground, filled):
    """Without the last step the tables are plain; with it again all is as it was."""
    form, rows = form_of(ground, "filled"), rows_of(ground, "filled")
    migrate_shop(filled, "0010")
    plain = form_of(ground, "filled")
    assert not any("shop_id" in one for kind in plain.values() for one in kind)
    assert not (plain["policies"])
    assert not (plain["functions"])
    assert not (plain["triggers"])
    assert len(plain["sequences"]) > 40
    assert rows_of(ground, "filled") == rows
    with pytest.raises(StorageTrouble, match="older collop"):
        open_shop(filled)
    migrate_shop(filled)
    assert form_of(ground, "filled") == form
    assert rows_of(ground, "filled") == rows
    with open_shop(filled) as shop:
        assert shop.check() == []
        shop.release("H2", by="ines", key="r2", why="off")


def test_the_plain_form_is_that_of_a_database_that_never_had_shops(ground, filled):
    """The way down leaves what the steps before would have made, sequences at their last."""
    migrate_shop(filled, "0010")
    other = ground.database("plain")
    migrate_shop(other, "0010")
    found, wanted = form_of(ground, "filled"), form_of(ground, "plain")
    for form in (found, wanted):  # a check is told in other words once its column was typed anew
        form["rules"] = [one.partition("CHECK")[0] for one in form["rules"]]
    assert found == wanted
    with psycopg.connect(other.replace("/plain", "/filled")) as conn:
        highest = conn.execute("SELECT max(number) FROM bookings").fetchone()[0]
        assert conn.execute("SELECT nextval('bookings_number_seq')").fetchone() == (highest + 1,)
    ground.sql("DROP DATABASE plain WITH (FORCE)")


def test_two_shops_are_not_mixed_on_the_way_down(ground, pair):
    """The step down is refused as long as two shops are there, and nothing changes."""
    name = pair.rpartition("/")[2]
    form = form_of(ground, name)
    with pytest.raises(StorageTrouble, match="2 shops"):
        migrate_shop(pair, "0010")
    assert form_of(ground, name) == form
    with open_shop(f"{pair}?shop=one") as shop:
        assert shop.check() == []


def test_a_later_table_is_kept_apart_while_it_is_made(ground, pair):
    """A step as any other makes a table, a rule, an index and a column; all begin with the shop."""
    ground.sql("DO $$ BEGIN CREATE ROLE later LOGIN; EXCEPTION WHEN duplicate_object THEN END $$")
    admit_role(f"{pair}?shop=two", "later")
    engine = engine_for(address_of(pair), writes=True)
    with closing_engine(engine), engine.begin() as connection, walls_down(connection):
        from collop.shop import tenancy_steps  # noqa: F401 -- registers itself

        op = Operations(MigrationContext.configure(connection))
        op.create_table(
            "chairs",
            sa.Column("number", sa.BigInteger(), autoincrement=True, nullable=False),
            sa.Column("by_id", sa.String(40)),
            sa.Column("key", sa.String(200), nullable=False),
            sa.Column("name", sa.String(40), nullable=False),
            sa.ForeignKeyConstraint(["by_id"], ["people.id"], name="fk_chairs_by_id"),
            sa.ForeignKeyConstraint(["key"], ["acts.key"], name="fk_chairs_key",
                                    initially="DEFERRED", deferrable=True),
            sa.UniqueConstraint("name", name="uq_chairs_name"),
            sa.PrimaryKeyConstraint("number", name="pk_chairs"),
        )  # fmt: skip
        op.create_index("ix_chairs_key", "chairs", ["key"])
        op.add_column("chairs", sa.Column("under", sa.BigInteger()))
        op.create_foreign_key("fk_chairs_under", "chairs", "chairs", ["under"], ["number"])
        op.create_unique_constraint("uq_chairs_under", "chairs", ["under"])
        guard(connection, "chairs", "update", "delete")
        for shop in each_shop(connection):
            connection.execute(sa.text("INSERT INTO chairs (key, name)"
                                       " SELECT key, shop_id FROM acts WHERE shop_id = :s LIMIT 1"),
                               {"s": shop})  # fmt: skip
    name = pair.rpartition("/")[2]
    form = form_of(ground, name)
    of_chairs = [one for one in form["rules"] if "'chairs'" in one]
    assert len(of_chairs) == 6
    assert all("(shop_id" in one for one in of_chairs)
    assert sum("DEFERRABLE" in one for one in of_chairs) == 3
    assert [one for one in form["indexes"] if "ix_chairs_key" in one and "(shop_id, key)" in one]
    assert len([one for one in form["triggers"] if "chairs" in one]) == 3
    assert "('chairs', True, True)" in form["walls"]
    assert not [one for one in form["sequences"] if "chairs" in one]
    with psycopg.connect(pair.replace("collop@", "later@"), options="-c collop.shop=two") as conn:
        assert conn.execute("SELECT number, name FROM chairs").fetchall() == [(1, "two")]
        with pytest.raises(psycopg.errors.InsufficientPrivilege):
            conn.execute("DELETE FROM chairs")


def test_rows_without_a_named_shop_come_under_the_name_in_the_address(ground):
    """A shop filled before shops had names gets the one its owner brings it up with."""
    url = ground.database("old")
    with create_shop(f"{url}?shop=first", settings=Settings("Old mill")) as shop:
        assert shop.settings().name == "Old mill"
    migrate_shop(url, "0010")
    migrate_shop(f"{url}?shop=mill")
    with open_shop(url) as shop:
        assert shop.settings().name == "Old mill"
    with psycopg.connect(url) as conn:
        assert conn.execute("SELECT id, is_whole FROM my_shops()").fetchall() == [("mill", True)]
    ground.sql("DROP DATABASE old WITH (FORCE)")


def test_only_the_owner_brings_the_tables_up(ground, pair):
    """Another role is told who may do it."""
    ground.sql("DO $$ BEGIN CREATE ROLE guest LOGIN; EXCEPTION WHEN duplicate_object THEN END $$")
    admit_role(f"{pair}?shop=two", "guest")
    with pytest.raises(StorageTrouble, match="let its owner do it"):
        migrate_shop(pair.replace("collop@", "guest@"), "0010")
