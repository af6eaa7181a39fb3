"""Several shops in one PostgreSQL database, kept apart by the database itself.

A SQLite file is one shop and needs nothing of this. In PostgreSQL every row carries the id of its
shop: the first column of every key, unique rule, foreign key and index, so that equal numbers of
two shops never meet and a row never points to another shop's. Row security hides and refuses the
rows of every shop but one: that of the connection's setting ``collop.shop``, if the database role
that signed in was admitted to it (`collop.shop.tenancy_shops`). Nothing that a role may set opens
another shop. The statements of the rooms do not know of it.

Rows count from 1 in each shop, without gaps after a refused write, as SQLite counts them. What is
written once is never changed: the same guards as in SQLite, and one against TRUNCATE, which row
security does not hold.

A table that a later step makes on PostgreSQL is kept apart while it is made
(`collop.shop.tenancy_steps`); the step itself calls `guard` for its guards.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass

from sqlalchemy import text
from sqlalchemy.engine import Connection

from collop.errors import StorageTrouble
from collop.shop.tenancy_sql import BEGIN, COUNTS, END

__all__ = [
    "FIRST_SHOP", "OWN_TABLES", "begin_shops", "each_shop", "end_shops", "guard", "has_shops",
    "keep_apart", "mix_again", "shop_tables", "walls_down",
]  # fmt: skip

#: What a shop is called whose tables are older than the names of shops.
FIRST_SHOP = "shop"
#: Tables that are no shop's.
OWN_TABLES = ("alembic_version", "shop_roles", "shops")
#: Never deleted from, and counted all the same: the count tells that newest rows were taken out.
_COUNTED_TOO = ("audit",)


def _run(connection: Connection, statement: str) -> None:
    # the names in it are those of our own tables; % must not be read as a place for a value
    connection.exec_driver_sql(statement.replace("%", "%%"))


def _schema(connection: Connection) -> str:
    return str(connection.scalar(text("SELECT quote_ident(current_schema())")))


def has_shops(connection: Connection) -> bool:
    """Whether the tables here are kept apart by shop; never so in SQLite."""
    if connection.dialect.name != "postgresql":
        return False
    return bool(connection.scalar(text("SELECT to_regclass('shops') IS NOT NULL")))


def shop_tables(connection: Connection) -> list[str]:
    """Return the names of all tables here that hold rows of shops, kept apart or not yet."""
    found = connection.scalars(
        text(
            "SELECT relname FROM pg_class WHERE relkind = 'r'"
            " AND relnamespace = current_schema()::regnamespace ORDER BY relname"
        )
    )
    return [str(name) for name in found if name not in OWN_TABLES]


@dataclass(frozen=True, slots=True)
class _Rule:
    table: str
    name: str
    kind: str
    columns: tuple[str, ...]
    to: str | None
    to_columns: tuple[str, ...]
    is_late: bool

    def sql(self, shop: Sequence[str]) -> str:
        """Return the constraint with `shop` before its columns, both sides."""
        here = ", ".join([*shop, *self.columns])
        add = f"ALTER TABLE {self.table} ADD CONSTRAINT {self.name}"
        if self.kind == "f":
            there = ", ".join([*shop, *self.to_columns])
            # every one may wait for the end of a transaction, as SQLite's may: a whole shop is
            # loaded in the order of its files
            when = "DEFERRED" if self.is_late else "IMMEDIATE"
            late = f" DEFERRABLE INITIALLY {when}" if shop or self.is_late else ""
            return f"{add} FOREIGN KEY ({here}) REFERENCES {self.to} ({there}){late}"
        return f"{add} {'PRIMARY KEY' if self.kind == 'p' else 'UNIQUE'} ({here})"


def _rules(connection: Connection, tables: Iterable[str], shop: str | None) -> list[_Rule]:
    rows = connection.execute(
        text(
            "SELECT c.conrelid::regclass::text AS tbl, c.conname, c.contype::text, c.condeferred,"
            " CASE WHEN c.contype = 'f' THEN c.confrelid::regclass::text END AS target,"
            " ARRAY(SELECT a.attname::text FROM unnest(c.conkey) WITH ORDINALITY k(n, i)"
            "  JOIN pg_attribute a ON a.attrelid = c.conrelid AND a.attnum = n ORDER BY i) AS src,"
            " ARRAY(SELECT a.attname::text FROM unnest(c.confkey) WITH ORDINALITY k(n, i)"
            "  JOIN pg_attribute a ON a.attrelid = c.confrelid AND a.attnum = n ORDER BY i) AS dst"
            " FROM pg_constraint c WHERE c.contype IN ('p', 'u', 'f')"
            " AND c.connamespace = current_schema()::regnamespace ORDER BY c.conname"
        )
    )
    wanted = set(tables)
    return [
        _Rule(row.tbl, row.conname, row.contype,
              tuple(one for one in row.src if one != shop), row.target,
              tuple(one for one in row.dst if one != shop), row.condeferred)
        for row in rows
        if row.tbl in wanted or row.target in wanted
    ]  # fmt: skip


def _indexes(connection: Connection, table: str) -> list[tuple[str, list[str]]]:
    rows = connection.execute(
        text(
            "SELECT i.indexrelid::regclass::text AS name,"
            " ARRAY(SELECT a.attname::text FROM unnest(i.indkey) WITH ORDINALITY k(n, at)"
            "  JOIN pg_attribute a ON a.attrelid = i.indrelid AND a.attnum = n ORDER BY at) AS cols"
            " FROM pg_index i WHERE i.indrelid = to_regclass(:t)"
            " AND NOT EXISTS (SELECT FROM pg_constraint c WHERE c.conindid = i.indexrelid)"
        ),
        {"t": table},
    )
    return [(row.name, list(row.cols)) for row in rows]


def _text_columns(connection: Connection, table: str) -> list[tuple[str, str]]:
    rows = connection.execute(
        text(
            "SELECT attname::text AS name, format_type(atttypid, atttypmod) AS kind"
            " FROM pg_attribute WHERE attrelid = to_regclass(:t) AND attnum > 0"
            " AND NOT attisdropped AND attcollation <> 0 AND attname <> 'shop_id'"
        ),
        {"t": table},
    )
    return [(row.name, row.kind) for row in rows]


def _set_order(connection: Connection, table: str, order: str) -> None:
    """Sort text by code point, as SQLite does, or again by the database's locale."""
    changes = ", ".join(
        f'ALTER {name} TYPE {kind} COLLATE "{order}"'
        for name, kind in _text_columns(connection, table)
    )
    if changes:
        _run(connection, f"ALTER TABLE {table} {changes}")


def _counted(connection: Connection, table: str) -> str | None:
    """Return the column that counts the rows by itself, if there is one."""
    found = connection.scalar(
        text(
            "SELECT a.attname::text FROM pg_attrdef d JOIN pg_attribute a"
            " ON a.attrelid = d.adrelid AND a.attnum = d.adnum WHERE d.adrelid = to_regclass(:t)"
            " AND pg_get_expr(d.adbin, d.adrelid) ~ '^(nextval|next_number)[(]'"
        ),
        {"t": table},
    )
    return None if found is None else str(found)


def _count_by_shop(connection: Connection, table: str, *, keeps: bool) -> None:
    column = _counted(connection, table)
    if column is None:
        return
    sequence = connection.scalar(
        text("SELECT pg_get_serial_sequence(:t, :c)"), {"t": table, "c": column}
    )
    word = "true" if keeps else "false"
    _run(connection, f"ALTER TABLE {table} ALTER {column}"
                     f" SET DEFAULT next_number('{table}', '{column}', {word})")  # fmt: skip
    if sequence is not None:
        _run(connection, f"DROP SEQUENCE {sequence}")


@contextmanager
def _swap(connection: Connection, rules: Sequence[_Rule], shop: Sequence[str]) -> Iterator[None]:
    """Take the rules out, let the caller work, and put them back with or without the shop."""
    for kinds in ("f", "pu"):
        for rule in rules:
            if rule.kind in kinds:
                _run(connection, f"ALTER TABLE {rule.table} DROP CONSTRAINT {rule.name}")
    yield
    for kinds in ("pu", "f"):
        for rule in rules:
            if rule.kind in kinds:
                _run(connection, rule.sql(shop))


def _wall(connection: Connection, table: str) -> None:
    sees = "shop_id = (SELECT this_shop())"
    for statement in (
        f"CREATE POLICY apart ON {table} USING ({sees}) WITH CHECK ({sees})",
        f"ALTER TABLE {table} ENABLE ROW LEVEL SECURITY",
        f"ALTER TABLE {table} FORCE ROW LEVEL SECURITY",
    ):
        _run(connection, statement)
    _run(connection, f"CREATE TRIGGER no_truncate_{table} BEFORE TRUNCATE ON {table}"
                     " FOR EACH STATEMENT EXECUTE FUNCTION never_edited()")  # fmt: skip


def begin_shops(connection: Connection, shop: str | None) -> None:
    """Make what keeps shops apart, and the shop whose the rows are that there are."""
    schema = _schema(connection)
    for statement in BEGIN:
        _run(connection, statement.replace("{schema}", schema))
    _wall(connection, COUNTS)
    if shop is None:
        return
    connection.execute(text("INSERT INTO shops (id, whole_at) VALUES (:s, now())"), {"s": shop})
    connection.execute(text("INSERT INTO shop_roles VALUES (:s, session_user)"), {"s": shop})


def keep_apart(connection: Connection, *tables: str, shop: str | None = None) -> None:
    """Give each row of the tables its shop, and put up the walls.

    A new table on PostgreSQL needs this: the column ``shop_id``; the shop first in every key,
    unique rule, foreign key and index; row security, forced; rows counted by shop; a guard against
    TRUNCATE; text sorted by code point; and the rights of the roles that were admitted. The guards
    of what is written once are made by `guard`.

    Parameters
    ----------
    connection : Connection
        The owner's, in the step's transaction; its rows must be seen (`walls_down`).
    *tables : str
        Names of tables without ``shop_id``. All tables that point to one another go in one call.
    shop : str, optional
        Whose the rows are that there are; left out, the tables must be empty.
    """
    rules = _rules(connection, tables, None)
    default = "this_shop()" if shop is None else f"'{shop}'"
    with _swap(connection, rules, ["shop_id"]):
        for table in tables:
            indexes = _indexes(connection, table)
            _run(connection, f'ALTER TABLE {table} ADD COLUMN shop_id text COLLATE "C" NOT NULL'
                             f" DEFAULT {default}")  # fmt: skip
            _run(connection, f"ALTER TABLE {table} ALTER shop_id SET DEFAULT this_shop()")
            for name, columns in indexes:
                _run(connection, f"DROP INDEX {name}")
                _run(connection, f"CREATE INDEX {name} ON {table} ({_first(columns)})")
            _set_order(connection, table, "C")
            _count_by_shop(connection, table, keeps=False)
    for table in tables:
        _wall(connection, table)
        for role in _roles(connection):
            _run(connection, f"GRANT SELECT, INSERT, UPDATE, DELETE ON {table} TO {role}")


def _first(columns: Sequence[str]) -> str:
    return ", ".join(["shop_id", *columns])


def _roles(connection: Connection) -> list[str]:
    found = connection.scalars(
        text("SELECT DISTINCT quote_ident(role) FROM shop_roles WHERE role <> current_user")
    )
    return [str(one) for one in found]


def guard(connection: Connection, table: str, *verbs: str) -> None:
    """Refuse `verbs` (update, delete) on a table for good, in either database.

    Rows that are never deleted are counted by their highest number, so that counting writes
    nothing; other tables, and the log, keep a count, so that a number is not given twice.
    """
    for verb in verbs:
        if connection.dialect.name == "sqlite":
            said = f"SELECT RAISE(ABORT, '{table} is never edited; write a further entry'); END"
            does = f"BEGIN {said}"
        else:
            does = "FOR EACH ROW EXECUTE FUNCTION never_edited()"
        _run(
            connection, f"CREATE TRIGGER no_{verb}_{table} BEFORE {verb.upper()} ON {table} {does}"
        )
    if connection.dialect.name == "postgresql":
        if "delete" in verbs and table not in _COUNTED_TOO:
            _count_by_shop(connection, table, keeps=True)
        for role in _roles(connection):
            _run(connection, f"REVOKE {', '.join(verbs)} ON {table} FROM {role}")


def each_shop(connection: Connection) -> Iterator[str]:
    """Yield each shop's id, with the connection set to it: for steps that write rows."""
    for shop in list(connection.scalars(text("SELECT id FROM shops ORDER BY id"))):
        connection.execute(text("SELECT set_config('collop.shop', :s, true)"), {"s": shop})
        yield str(shop)


@contextmanager
def walls_down(connection: Connection) -> Iterator[None]:
    """Let the owner see all rows while a step runs; the walls are back at the commit or rollback.

    The tables are locked from the first statement on, so no one else ever sees them without walls.
    """
    for table in shop_tables(connection) if has_shops(connection) else ():
        _run(connection, f"ALTER TABLE {table} NO FORCE ROW LEVEL SECURITY")
    yield
    if connection.dialect.name == "postgresql":
        # rows a step wrote wait for their acts until the end: a table cannot be changed before
        _run(connection, "SET CONSTRAINTS ALL IMMEDIATE")
    for table in shop_tables(connection) if has_shops(connection) else ():
        _run(connection, f"ALTER TABLE {table} FORCE ROW LEVEL SECURITY")


def mix_again(connection: Connection, *tables: str) -> None:
    """Take the walls, the shop's column and the guards from the tables; the way back.

    Raises
    ------
    StorageTrouble
        If more than one shop is there: their rows would be mixed for good.
    """
    shops = connection.scalar(text("SELECT count(*) FROM shops"))
    if shops is None or shops > 1:
        raise StorageTrouble(
            f"{shops} shops are in this database and would be mixed; export all but one first."
        )
    rules = _rules(connection, tables, "shop_id")
    with _swap(connection, rules, []):
        for table in tables:
            _bare(connection, table)


def _bare(connection: Connection, table: str) -> None:
    triggers = connection.scalars(
        text("SELECT tgname FROM pg_trigger WHERE tgrelid = to_regclass(:t) AND NOT tgisinternal"),
        {"t": table},
    )
    for trigger in list(triggers):
        _run(connection, f"DROP TRIGGER {trigger} ON {table}")
    _run(connection, f"DROP POLICY apart ON {table}")
    _run(connection, f"ALTER TABLE {table} NO FORCE ROW LEVEL SECURITY")
    _run(connection, f"ALTER TABLE {table} DISABLE ROW LEVEL SECURITY")
    for name, columns in _indexes(connection, table):
        _run(connection, f"DROP INDEX {name}")
        kept = ", ".join(one for one in columns if one != "shop_id")
        _run(connection, f"CREATE INDEX {name} ON {table} ({kept})")
    _set_order(connection, table, "default")
    column = _counted(connection, table)
    if column is not None:
        sequence = f"{table}_{column}_seq"
        _run(connection, f"CREATE SEQUENCE {sequence} OWNED BY {table}.{column}")
        _run(connection, f"SELECT setval('{sequence}', max({column})) FROM {table}")  # noqa: S608
        _run(connection, f"ALTER TABLE {table} ALTER {column} SET DEFAULT nextval('{sequence}')")
    _run(connection, f"ALTER TABLE {table} DROP COLUMN shop_id")


def end_shops(connection: Connection) -> None:
    """Take away what kept shops apart, after `mix_again`."""
    for role in _roles(connection):
        _run(connection, f"REVOKE ALL ON ALL TABLES IN SCHEMA {_schema(connection)} FROM {role}")
    for statement in END:
        _run(connection, statement)
