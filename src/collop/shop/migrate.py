"""Bringing a shop's tables to the form this version knows, with a copy made before.

Alembic is imported inside the functions: opening a shop does not need it.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

from sqlalchemy import inspect, text
from sqlalchemy.engine import Connection

from collop.errors import StorageTrouble
from collop.shop import postgres
from collop.shop.store import Store, address_of, engine_for, name_of, sqlite_path, translated

if TYPE_CHECKING:
    from alembic.config import Config

__all__ = ["HEAD", "check_form", "migrate_shop"]

# the newest step; a test holds it equal to the one in the folder
HEAD = "0011"


def _config(connection: Connection) -> Config:
    from alembic.config import Config  # noqa: PLC0415 -- slow to import, seldom needed

    config = Config()
    folder = str(Path(__file__).parent / "migrations")
    config.set_main_option("script_location", folder.replace("%", "%%"))
    config.set_main_option("path_separator", "os")
    config.attributes["connection"] = connection
    return config


@contextmanager
def _connection(url: str) -> Iterator[Connection]:
    """Yield a writing connection without foreign keys: a copied table must not set them off."""
    address = address_of(url)
    path = sqlite_path(address)
    engine = engine_for(address, writes=True, foreign_keys=False)
    try:
        with translated(name_of(address)):
            if path is not None:
                with engine.connect() as connection:
                    _write_ahead(connection)
            with engine.begin() as connection:
                yield connection
                _no_orphans(connection)
    finally:
        engine.dispose()


def _write_ahead(connection: Connection) -> None:
    # the mode is kept in the file, so this is said once and not at each opening
    driver = connection.connection.driver_connection
    assert isinstance(driver, sqlite3.Connection)
    driver.execute("PRAGMA journal_mode=WAL").close()


def _no_orphans(connection: Connection) -> None:
    if connection.dialect.name == "sqlite":
        orphans = connection.exec_driver_sql("PRAGMA foreign_key_check").all()
        if orphans:
            raise StorageTrouble(
                f"After the change {len(orphans)} rows would point to nothing; nothing was changed."
            )


def _keep_copy(path: Path, to: str) -> None:
    copy = path.with_name(f"{path.name}.before-{to}")
    with closing(sqlite3.connect(path)) as source, closing(sqlite3.connect(copy)) as target:
        source.backup(target)


def migrate_shop(url: str, to: str = "head") -> None:
    """Run the steps from the form the tables have to `to`, all or none.

    An existing SQLite file is first copied beside itself.

    Parameters
    ----------
    url : str
        Database address.
    to : str
        A step's number, ``head`` or ``base``.

    Raises
    ------
    StorageTrouble
        If the database cannot be read or written.
    """
    from alembic import command  # noqa: PLC0415 -- slow to import, seldom needed
    from alembic.script import ScriptDirectory  # noqa: PLC0415

    with _connection(url) as connection:
        config = _config(connection)
        if connection.dialect.name == "postgresql":
            config.attributes["shop"] = postgres.settled(address_of(url))[1].shop
        now = form_of(connection)
        steps = [step.revision for step in ScriptDirectory.from_config(config).walk_revisions()]
        wanted = {"head": steps[0], "base": None}.get(to, to)
        if now is not None and now not in steps:
            raise _too_new(connection.engine.url.database or url)
        if now == wanted:
            return
        path = sqlite_path(connection.engine.url)
        if path is not None and now is not None:
            _keep_copy(path, wanted or to)
        is_down = wanted is None or (now is not None and steps.index(wanted) > steps.index(now))
        (command.downgrade if is_down else command.upgrade)(config, to)


def form_of(connection: Connection) -> str | None:
    """Return the number of the last step taken, or None if there are no tables yet."""
    if not inspect(connection).has_table("alembic_version"):
        return None
    found: str | None = connection.scalar(text("SELECT version_num FROM alembic_version"))
    return found


def _too_new(name: str) -> StorageTrouble:
    return StorageTrouble(f"{name} was made by a newer collop; open it with that version.")


def check_form(store: Store) -> None:
    """Refuse a database whose tables are not those of this version.

    Raises
    ------
    StorageTrouble
        If it is no shop, or an older or newer one.
    """
    with store.read() as connection:
        form = form_of(connection)
    if form is None:
        raise StorageTrouble(f"{store.name} is not a collop shop; check the file name.")
    if form > HEAD:
        raise _too_new(store.name)
    if form < HEAD:
        raise StorageTrouble(
            f"{store.name} was made by an older collop; bring it up with: collop migrate."
        )
