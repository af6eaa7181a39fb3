"""Opening a shop that is there, and making a new one."""

from __future__ import annotations

import os
from collections.abc import Sequence
from contextlib import suppress
from dataclasses import replace
from pathlib import Path

from sqlalchemy import insert
from sqlalchemy.engine import URL

from collop.errors import BadValue, StorageTrouble
from collop.shop.acts import Room
from collop.shop.clock import DEMO_MONDAY, DEMO_START, Clock, DemoClock, WallClock
from collop.shop.demo_week import DEMO_PEOPLE, DEMO_SETTINGS, seed_demo
from collop.shop.disk_look import must_be_local
from collop.shop.front import Shop
from collop.shop.migrate import check_form, migrate_shop
from collop.shop.model import Person, Settings
from collop.shop.settings import load_settings, store_settings
from collop.shop.store import Store, address_of, sqlite_path
from collop.shop.tables import people as people_table
from collop.shop.tenancy_shops import (
    look_in,
    new_shop,
    with_shop,
)

__all__ = ["DEMO_DAYS", "create_shop", "open_shop"]

#: When the demo week may begin.
DEMO_DAYS = {"tuesday": DEMO_START, "monday": DEMO_MONDAY}


def _is_there(store: Store) -> None:
    path = sqlite_path(store.url)
    if path is not None and not path.is_file():
        raise StorageTrouble(f"There is no shop at {path}; make one first.")
    if path is not None:
        must_be_local(path)


def open_shop(url: str, clock: Clock | None = None) -> Shop:
    """Open a shop.

    Parameters
    ----------
    url : str
        Database address, e.g. ``sqlite:///shop.db``.
    clock : Clock, optional
        Left out, a demo shop stands in its demo week and any other goes by the wall clock.

    Raises
    ------
    StorageTrouble
        If there is no such shop, its database cannot be read, lies on a network drive, or would
        not keep what was answered through a power cut.
    """
    store = Store(with_shop(url))
    try:
        _is_there(store)
        check_form(store)
        store.must_be_safe()
        with store.read() as conn:
            if store.wishes is not None:
                look_in(conn, store.wishes, store.name)
            chosen = load_settings(conn)
    except BaseException:
        store.close()
        raise
    return Shop(
        Room(
            store,
            clock or (DemoClock(chosen.demo_start or DEMO_START) if chosen.demo else WallClock()),
        )
    )


def _fill(url: str, chosen: Settings, people: Sequence[Person], *, demo: str) -> None:
    migrate_shop(url)
    store = Store(url)
    try:
        with store.write() as conn:
            store_settings(conn, chosen)
            rows = [{"id": one.id, "name": one.name, "role": one.role} for one in people]
            if rows:
                conn.execute(insert(people_table), rows)
        if demo:
            seed_demo(store, demo)
    finally:
        store.close()


def _clear(path: Path) -> None:
    for end in ("", "-wal", "-shm"):
        with suppress(FileNotFoundError):
            path.with_name(path.name + end).unlink()


def _fill_file(
    path: Path, url: URL, chosen: Settings, people: Sequence[Person], *, demo: str
) -> None:
    """Make the shop under another name and rename it when whole: never half a shop."""
    if path.exists():
        raise StorageTrouble(f"{path} exists already; open it, or choose another name.")
    if not path.parent.is_dir():
        raise StorageTrouble(f"There is no folder {path.parent}; make it first.")
    making = path.with_name(f"{path.name}.making-{os.getpid()}")
    try:
        whole = url.set(database=str(making)).render_as_string(hide_password=False)
        _fill(whole, chosen, people, demo=demo)
        os.replace(making, path)  # noqa: PTH105 -- says that an atomic replacement is meant
    except OSError as error:
        raise StorageTrouble(f"{path} cannot be written: {error.strerror}.") from error
    finally:
        _clear(making)


def create_shop(
    url: str,
    *,
    demo: bool = False,
    day: str = "tuesday",
    settings: Settings | None = None,
    people: Sequence[Person] = (),
    clock: Clock | None = None,
) -> Shop:
    """Make a new shop and open it.

    Parameters
    ----------
    url : str
        Database address; a SQLite file must not exist yet.
    demo : bool
        Fill it with the invented demo week of Tollebank Meats.
    day : str
        Where the demo week stands: ``tuesday`` 08:00, or ``monday`` 06:00, the breaking day.
    settings : Settings, optional
        Of a real shop; the demo week brings its own.
    people : sequence of Person
        Who works there; the demo week brings its own.
    clock : Clock, optional
        As for `open_shop`.

    Raises
    ------
    StorageTrouble
        If the file exists already or cannot be written.
    """
    if day not in DEMO_DAYS:
        raise BadValue(f"The demo week begins on {' or '.join(DEMO_DAYS)}, not {day!r}.",
                       where="day")  # fmt: skip
    start = replace(DEMO_SETTINGS, demo_start=DEMO_DAYS[day])
    chosen = start if demo else settings or Settings("New shop")
    seeded = day if demo else ""
    staff = DEMO_PEOPLE if demo else tuple(people)
    address = address_of(url)
    path = sqlite_path(address)
    if path is None:
        with new_shop(url) as whole:
            _fill(whole, chosen, staff, demo=seeded)
        url = whole
    else:
        _fill_file(path, address, chosen, staff, demo=seeded)
    return open_shop(url, clock)
