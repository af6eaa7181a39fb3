"""A shop file while it is served: on a local disk, whole, by one server, copied each day."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

from collop.errors import StorageTrouble

if TYPE_CHECKING:
    from collop.web.keeper import Keeper

__all__ = ["disk_warnings", "file_at", "held"]


def file_at(url: str) -> Path | None:
    """Return the file of a database address, or None if it is on a database server."""
    from collop.shop.store import address_of, sqlite_path

    return sqlite_path(address_of(url))


def _look_over(file: Path, folder: Path | None) -> None:
    from collop.shop.backup import newest_words
    from collop.shop.damage import must_be_sound
    from collop.shop.disk_look import must_be_local

    must_be_local(file)
    if not file.exists():
        return
    try:
        must_be_sound(file, quick=True)
    except StorageTrouble as error:
        way = newest_words(file, folder)
        said = error.message if not way else f"{error.message.rstrip('.')}, with: {way}"
        raise StorageTrouble(said) from None


def disk_warnings(url: str) -> tuple[str, ...]:
    """Return what to be told of the disk under a shop; none on a database server."""
    file = file_at(url)
    if file is None:
        return ()
    from collop.shop.disk_look import look_at_disk

    return look_at_disk(file).warnings


@contextmanager
def held(url: str, what: str, folder: Path | None = None) -> Iterator[Keeper | None]:
    """Hold a shop file for one server, and yield what copies it each day; None on a server.

    Parameters
    ----------
    url : str
        Database address of the shop.
    what : str
        What is done meanwhile, told to whoever comes second.
    folder : Path, optional
        Where the copies lie; left out, beside the file.

    Raises
    ------
    StorageTrouble
        If it is on a network drive, damaged, or held by another server.
    """
    file = file_at(url)
    if file is None:
        yield None
        return
    from collop.shop.serving_lock import ServingLock
    from collop.web.keeper import Keeper

    with ServingLock(file, what):
        _look_over(file, folder)
        yield Keeper(file, folder)
