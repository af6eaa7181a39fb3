"""A new shop from a file of everything: all of it or nothing, and every fault by its place."""

from __future__ import annotations

import os
from collections.abc import Iterator, Mapping, Sequence
from contextlib import suppress
from pathlib import Path
from typing import Any

from sqlalchemy import Table, UniqueConstraint, insert
from sqlalchemy.engine import URL, Connection
from sqlalchemy.exc import IntegrityError

from collop.errors import BadValue, CollopError, StorageTrouble
from collop.shop.balance import faults
from collop.shop.exchange_columns import TABLES, Codec, codecs_of
from collop.shop.exchange_zip import Opened, fault, nearest, open_zip
from collop.shop.migrate import migrate_shop
from collop.shop.settings import load_settings
from collop.shop.store import Store, address_of, sqlite_path
from collop.shop.tenancy_shops import new_shop

__all__ = ["import_zip"]

_Rows = list[dict[str, Any]]
#: Of one statement; PostgreSQL's own limit is 65,535.
_MOST_PARAMETERS = 30_000


def import_zip(data: bytes, url: str) -> dict[str, int]:
    """Make a new shop from a file of everything.

    Parameters
    ----------
    data : bytes
        As `collop.shop.exchange_zip.export_zip` gave them.
    url : str
        Address of a SQLite file that is not there yet, or of a new shop in a database
        (``postgresql://user@host/database?shop=NAME``).

    Returns
    -------
    dict
        Rows of each table.

    Raises
    ------
    BadValue
        If anything of it is wrong; file, row and column are named, and there is no new shop.
    StorageTrouble
        If the file or shop is there already or cannot be written.
    """
    address = address_of(url)
    path = _new_file(address)
    opened = open_zip(data)
    tables = {name: _read(opened, table) for name, table in TABLES.items()}
    _pointing(tables)
    if path is None:
        with new_shop(url) as whole:
            _fill(whole, tables)
    else:
        _into_file(path, address, tables)
    return {name: len(rows) for name, rows in tables.items()}


def _into_file(path: Path, address: URL, tables: Mapping[str, _Rows]) -> None:
    making = path.with_name(f"{path.name}.importing-{os.getpid()}")
    try:
        whole = address.set(database=str(making)).render_as_string(hide_password=False)
        _fill(whole, tables)
        os.replace(making, path)  # noqa: PTH105 -- says that an atomic replacement is meant
    except OSError as error:
        raise StorageTrouble(f"{path} cannot be written: {error.strerror}.") from error
    finally:
        for end in ("", "-wal", "-shm"):
            with suppress(FileNotFoundError):
                making.with_name(making.name + end).unlink()


def _new_file(address: URL) -> Path | None:
    """Return the file that is to be made; None on a server."""
    path = sqlite_path(address)
    if path is None:
        return None
    if path.exists():
        raise StorageTrouble(
            f"{path} exists already, and an import never writes into a shop; choose another name."
        )
    if not path.parent.is_dir():
        raise StorageTrouble(f"There is no folder {path.parent}; make it first.")
    return path


def _read(opened: Opened, table: Table) -> _Rows:
    """Return the rows of a table as the database keeps them."""
    file = f"{table.name}.csv"
    rows = opened.rows(table.name)
    header = next(rows, (1, []))[1]
    codecs = _columns(table, header, opened.currency)
    unique = _Unique(table)
    found: _Rows = []
    for number, cells in rows:
        if len(cells) != len(header):
            raise fault(f"there are {len(cells)} cells, and the names above are {len(header)}; "
                        "give each column its cell", file, number)  # fmt: skip
        one = {codec.name: _cell(codec, cell, file, number)
               for codec, cell in zip(codecs, cells, strict=True)}  # fmt: skip
        unique.take(one, number)
        found.append(one)
    told = opened.manifest["rows"][table.name]
    if told != len(found):
        raise fault(f"there are {len(found)} rows, and the manifest tells of {str(told)[:20]}; "
                    "take a fresh export", file)  # fmt: skip
    return found


def _columns(table: Table, header: Sequence[str], currency: str) -> list[Codec]:
    file = f"{table.name}.csv"
    known = {codec.name: codec for codec in codecs_of(table, currency)}
    for name in header:
        if name not in known:
            raise fault(f"nobody knows the column {name[:40]!r}{nearest(name, list(known))}; "
                        "take it out", file, 1)  # fmt: skip
    twice = next((name for name in header if list(header).count(name) > 1), None)
    if twice is not None:
        raise fault("the column is there twice; keep one of them", file, 1, twice)
    missing = [name for name in known if name not in header]
    if missing:
        raise fault(f"the column {missing[0]} is missing; take a fresh export", file, 1)
    return [known[name] for name in header]


def _cell(codec: Codec, text: str, file: str, row: int) -> Any:  # noqa: ANN401 -- of any column
    if text == "":
        if codec.column.nullable:
            return None
        if codec.column.type.python_type is not str:
            raise fault("the cell is empty and must be filled", file, row, codec.name)
    try:
        return codec.read(text)
    except BadValue as error:
        raise fault(error.message, file, row, codec.name) from None


class _Unique:
    """What may be there once: the row's own number, and what else a table says so of."""

    def __init__(self, table: Table) -> None:
        self._file = f"{table.name}.csv"
        rules = [[column.name for column in table.primary_key.columns]]
        rules += [[column.name for column in rule.columns] for rule in table.constraints
                  if isinstance(rule, UniqueConstraint)]  # fmt: skip
        rules += [[column.name] for column in table.columns if column.unique]
        self._rules = [(rule, dict[Any, int]()) for rule in rules]

    def take(self, one: Mapping[str, Any], row: int) -> None:
        """Take in a row, or say of which it is a second one."""
        for names, seen in self._rules:
            value = tuple(one[name] for name in names)
            if None in value:
                continue
            first = seen.setdefault(value, row)
            if first != row:
                told = ", ".join(str(part)[:40] for part in value)
                raise fault(f"{told} is in row {first} already; keep one of them", self._file, row,
                            names[-1])  # fmt: skip


def _pointing(tables: Mapping[str, _Rows]) -> None:
    """Refuse a row that points to one that is not there."""
    for name, column, target, key in _references():
        there = {row[key] for row in tables[target]}
        for number, row in enumerate(tables[name], 2):
            if row[column] is not None and row[column] not in there:
                raise fault(f"{str(row[column])[:60]!r} is not in {target}.csv, column {key}; "
                            "correct it or take a fresh export", f"{name}.csv", number,
                            column)  # fmt: skip


def _references() -> Iterator[tuple[str, str, str, str]]:
    for name, table in TABLES.items():
        for rule in table.foreign_keys:
            yield name, rule.parent.name, rule.column.table.name, rule.column.name


def _fill(url: str, tables: Mapping[str, _Rows]) -> None:
    migrate_shop(url)
    store = Store(url)
    try:
        with store.write() as conn:
            if conn.dialect.name == "sqlite":
                # a row may point to a later one: all is looked at once everything is there
                conn.exec_driver_sql("PRAGMA defer_foreign_keys=ON")
            for name, rows in tables.items():
                if rows:
                    _insert(conn, name, rows)
            _adds_up(conn)
    finally:
        store.close()


def _insert(conn: Connection, name: str, rows: _Rows) -> None:
    try:
        with conn.begin_nested():
            if conn.dialect.name == "sqlite":
                conn.execute(insert(TABLES[name]), rows)
            else:
                _in_statements(conn, TABLES[name], rows)
    except IntegrityError:
        for number, row in enumerate(rows, 2):
            try:
                conn.execute(insert(TABLES[name]), row)
            except IntegrityError as error:
                raise fault(f"the row breaks a rule of its table ({error.orig}); correct it or "
                            "take a fresh export", f"{name}.csv", number) from None  # fmt: skip
        raise


def _in_statements(conn: Connection, table: Table, rows: _Rows) -> None:
    """Insert rows, those that point to rows of their own table all in one statement.

    PostgreSQL looks at a pointer when its statement ends.
    """
    points_inside = any(rule.column.table is table for rule in table.foreign_keys)
    some = _MOST_PARAMETERS // len(table.columns)
    if points_inside and len(rows) > some:
        rows = _first_things_first(table, rows)
    for begin in range(0, len(rows), some):
        conn.execute(insert(table).values(rows[begin : begin + some]))


def _first_things_first(table: Table, rows: _Rows) -> _Rows:
    """Return rows in an order in which each points only to rows before it."""
    inside = [(rule.parent.name, rule.column.name) for rule in table.foreign_keys
              if rule.column.table is table]  # fmt: skip
    keys = {target for _, target in inside}
    found: _Rows = []
    there: dict[str, set[Any]] = {key: set() for key in keys}
    waiting = rows
    while waiting:
        now = [row for row in waiting
               if all(row[column] is None or row[column] in there[target]
                      for column, target in inside)]  # fmt: skip
        if not now:
            return [*found, *waiting]
        for key in keys:
            there[key] |= {row[key] for row in now}
        found += now
        chosen = {id(row) for row in now}
        waiting = [row for row in waiting if id(row) not in chosen]
    return found


def _adds_up(conn: Connection) -> None:
    try:
        load_settings(conn)
    except (CollopError, ValueError, TypeError, KeyError, AttributeError) as error:
        said = error.message if isinstance(error, CollopError) else "a setting cannot be read"
        raise fault(f"{said.rstrip('.')}; take a fresh export", "settings.csv") from None
    found = faults(conn)
    if found:
        raise fault(f"what stands there does not add up: {found[0].rstrip('.')}",
                    "ledger_entries.csv")  # fmt: skip
