"""The shops of a PostgreSQL database: making one, and which role may open which."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

from sqlalchemy import text
from sqlalchemy.engine import URL, Connection

from collop.errors import StorageTrouble
from collop.shop import postgres
from collop.shop.migrate import migrate_shop
from collop.shop.store import address_of, engine_for, name_of, translated
from collop.shop.tables import metadata
from collop.shop.tenancy import FIRST_SHOP, has_shops, shop_tables

__all__ = [
    "admit_role", "finish_shop", "found_shop", "is_there", "look_in", "new_shop", "unmake_shop",
    "with_shop",
]  # fmt: skip


@contextmanager
def _connected(address: URL, *, writes: bool) -> Iterator[Connection]:
    """Yield a connection of its own, closed at the end; its errors are told in one sentence."""
    engine = engine_for(address, writes=writes)
    try:
        with translated(name_of(address)), engine.connect() as connection:
            yield connection
    finally:
        engine.dispose()


def with_shop(url: str) -> str:
    """Return a PostgreSQL address that names its shop; any other address as it is.

    Raises
    ------
    StorageTrouble
        If none is named and there is not exactly one that this role may open.
    """
    address = address_of(url)
    if not postgres.is_postgres(address) or postgres.settled(address)[1].shop is not None:
        return url
    with _connected(address, writes=False) as connection:
        if not has_shops(connection):
            return url
        found = list(connection.scalars(text("SELECT id FROM my_shops()")))
    if len(found) != 1:
        said = f"one of {', '.join(found)}" if found else "none is there that this user may open"
        raise StorageTrouble(f"Name the shop at the end of the address, ?shop=name: {said}.")
    whole = address.update_query_dict({"shop": found[0]})
    return whole.render_as_string(hide_password=False)


def is_there(url: str) -> bool:
    """Whether the address leads to a shop that this role may open, and that is whole."""
    address = address_of(url)
    if not postgres.is_postgres(address):
        return False
    shop = postgres.settled(address)[1].shop
    with _connected(address, writes=False) as connection:
        if not has_shops(connection):
            return False
        found = set(connection.scalars(text("SELECT id FROM my_shops() WHERE is_whole")))
    return bool(found) if shop is None else shop in found


def look_in(connection: Connection, wishes: postgres.Wishes, name: str) -> None:
    """Refuse a server that is not safe, walls that are down, and a shop that is not to be opened.

    Raises
    ------
    StorageTrouble
        With one sentence of what is wrong.
    """
    postgres.look_over(connection, wishes, name)
    down = connection.scalars(
        text(
            "SELECT relname FROM pg_class WHERE relname = ANY(:tables) AND NOT relforcerowsecurity"
            " AND relnamespace = current_schema()::regnamespace"
        ),
        {"tables": shop_tables(connection)},
    ).all()
    if down:
        raise StorageTrouble(
            f"The rows of {down[0]} in {name} are not kept apart by shop; ask who changed it."
        )
    shops = {row.id: row.is_whole for row in connection.execute(text("SELECT * FROM my_shops()"))}
    if wishes.shop not in shops:
        raise StorageTrouble(
            f"There is no shop {wishes.shop!r} in {name} that this user may open; make it with"
            " collop new, or let the owner admit this user with collop admit."
        )
    if not shops[wishes.shop]:
        raise StorageTrouble(
            f"The shop {wishes.shop!r} in {name} was never finished; make it again."
        )


@contextmanager
def new_shop(url: str) -> Iterator[str]:
    """Yield the address of a new shop to be filled; whole on a clean exit, gone otherwise.

    It cannot be opened before it is whole. The tables are made first if there are none.

    Parameters
    ----------
    url : str
        PostgreSQL address of a database that may hold other shops.

    Raises
    ------
    StorageTrouble
        If the shop is there already.
    """
    migrate_shop(url)
    made = found_shop(url)
    try:
        yield made
    except BaseException:
        unmake_shop(made)
        raise
    finish_shop(made)


def found_shop(url: str) -> str:
    """Enter a new shop and its maker, as yet unfinished, and return its address.

    What is left of the same shop, if its making was broken off, is cleared away first.

    Parameters
    ----------
    url : str
        PostgreSQL address; the shop is called `FIRST_SHOP` if it names none.

    Raises
    ------
    StorageTrouble
        If the shop is there already.
    """
    address = address_of(url)
    shop = postgres.settled(address)[1].shop or FIRST_SHOP
    address = address.update_query_dict({"shop": shop})
    with _connected(address, writes=True) as connection:
        with connection.begin():
            whole = connection.execute(
                text("SELECT whole_at IS NOT NULL AS is_whole FROM shops WHERE id = :s"),
                {"s": shop},
            ).first()
        if whole is not None and whole.is_whole:
            raise StorageTrouble(f"The shop {shop!r} is in {name_of(address)} already; open it,"
                                 " or choose another name.")  # fmt: skip
        with connection.begin():
            if whole is not None:
                _clear(connection, shop)
            connection.execute(text("INSERT INTO shops (id) VALUES (:s)"), {"s": shop})
            connection.execute(
                text("INSERT INTO shop_roles VALUES (:s, session_user)"), {"s": shop}
            )
    return address.render_as_string(hide_password=False)


def _clear(connection: Connection, shop: str) -> None:
    connection.execute(text("SET CONSTRAINTS ALL DEFERRED"))
    for name in (*(one.name for one in metadata.sorted_tables), "shop_counts", "shop_roles"):
        connection.execute(text(f"DELETE FROM {name} WHERE shop_id = :s"), {"s": shop})  # noqa: S608 -- our own names
    connection.execute(text("DELETE FROM shops WHERE id = :s AND whole_at IS NULL"), {"s": shop})


def finish_shop(url: str) -> None:
    """Say that the making of the shop has come to its end; it may be opened from now on."""
    _on_unfinished(url, "UPDATE shops SET whole_at = now() WHERE id = :s AND whole_at IS NULL")


def _on_unfinished(url: str, statement: str) -> None:
    address = address_of(url)
    with _connected(address, writes=True) as connection, connection.begin():
        connection.execute(text(statement), {"s": postgres.settled(address)[1].shop})


def unmake_shop(url: str) -> None:
    """Clear away a shop whose making was broken off; a finished one is left alone."""
    address = address_of(url)
    shop = postgres.settled(address)[1].shop
    with _connected(address, writes=True) as connection, connection.begin():
        if connection.scalar(text("SELECT is_unfinished(:s)"), {"s": shop}):
            _clear(connection, str(shop))


def admit_role(url: str, role: str) -> str:
    """Let a database role open the shop of the address, and give it the rights it needs.

    A role may read and add everywhere, and change or delete only where no guard forbids it.

    Parameters
    ----------
    url : str
        Address of the tables' owner, naming the shop.
    role : str
        A role of the server that may log in, neither superuser nor with BYPASSRLS.

    Returns
    -------
    str
        The shop's name.

    Raises
    ------
    StorageTrouble
        If the role is none of those, the user is not the owner, or there is no such shop.
    """
    address = address_of(url)
    if not postgres.is_postgres(address):
        raise StorageTrouble("A file is one shop and knows no roles; give a PostgreSQL address.")
    address = address_of(with_shop(url))
    name, shop = name_of(address), postgres.settled(address)[1].shop
    with _connected(address, writes=True) as connection, connection.begin():
        look_in(connection, postgres.settled(address)[1], name)
        _may_be_admitted(connection, role)
        quoted = connection.scalar(text("SELECT quote_ident(:r)"), {"r": role})
        connection.execute(
            text("INSERT INTO shop_roles VALUES (:s, :r) ON CONFLICT DO NOTHING"),
            {"s": shop, "r": role},
        )
        for statement in _grants(connection, str(quoted)):
            connection.exec_driver_sql(statement)
    return str(shop)


def _may_be_admitted(connection: Connection, role: str) -> None:
    found = connection.execute(
        text("SELECT rolsuper OR rolbypassrls AS passes, rolcanlogin FROM pg_roles"
             " WHERE rolname = :r"),
        {"r": role},
    ).first()  # fmt: skip
    if found is None or found.passes or not found.rolcanlogin:
        raise StorageTrouble(
            f"{role!r} is no role of this server that may log in and is held by row security;"
            " make it with: CREATE ROLE name LOGIN."
        )


def _grants(connection: Connection, role: str) -> list[str]:
    schema = connection.scalar(text("SELECT quote_ident(current_schema())"))
    found = [
        f"GRANT USAGE ON SCHEMA {schema} TO {role}",
        f"GRANT SELECT ON alembic_version TO {role}",
    ]
    guards = set(connection.scalars(text("SELECT tgname FROM pg_trigger WHERE NOT tgisinternal")))
    for table in shop_tables(connection):
        rights = ["SELECT", "INSERT"]
        rights += [
            verb for verb in ("UPDATE", "DELETE") if f"no_{verb.lower()}_{table}" not in guards
        ]
        found.append(f"GRANT {', '.join(rights)} ON {table} TO {role}")
    return found
