"""Copies of a shop while it works, each opened and checked before it counts as one.

A copy is made by the database's own online backup under one view of the file, so writers go on and
no act is half in it. It gets its name only when it was opened as a shop, its pages, keys, weights
and log were checked, and it lies on the disk. The newest are kept; the rest go only after a new
one was found good. A copy holds what the shop holds, names and hashes of passwords too: nobody
but its owner may read it.

References
----------
.. [1] SQLite documentation, Online Backup API; ``PRAGMA integrity_check`` answers ``ok``.
"""

from __future__ import annotations

import fcntl
import hashlib
import json
import os
import sqlite3
import time
from collections.abc import Iterator
from contextlib import closing, contextmanager, suppress
from datetime import UTC, datetime
from pathlib import Path
from uuid import uuid4

from sqlalchemy import func, select

from collop.errors import CollopError, StorageTrouble
from collop.shop.audit_chain import newest_seal
from collop.shop.backup_model import BackupNote, Kept
from collop.shop.balance import faults
from collop.shop.damage import must_be_sound, unreadable
from collop.shop.migrate import form_of
from collop.shop.store import Store
from collop.shop.tables import acts

__all__ = ["KEPT", "backups_in", "checked_copy", "digest_of", "folder_beside", "make_backup"]

#: How many copies are kept: a month of days.
KEPT = 30
_ENDS = ("", "-wal", "-shm", "-journal")
_FIRST_FAULTS = 3
_LEFT_S = 24 * 3600


def folder_beside(path: Path) -> Path:
    """Return where the copies of a shop lie if nothing else is said."""
    return path.with_name(f"{path.name}.backups")


def digest_of(path: Path) -> str:
    """Return the SHA-256 of a file."""
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


def checked_copy(path: Path) -> BackupNote:
    """Open a copy as a shop, check all of it, and return its note.

    Raises
    ------
    StorageTrouble
        If it is damaged, or no shop, or its books do not add up.
    """
    must_be_sound(path)
    store = Store(f"sqlite:///{path}")
    try:
        with store.read() as conn:
            form = form_of(conn)
            found = unreadable(conn) or faults(conn)
            count = int(conn.scalar(select(func.count()).select_from(acts)) or 0)
            newest = conn.scalar(select(func.max(acts.c.at)))
            seal = newest_seal(conn)
    finally:
        store.close()
    if found:
        raise StorageTrouble(f"{path.name} does not add up: {' '.join(found[:_FIRST_FAULTS])}")
    clear(path, ends=_ENDS[1:])
    made = datetime.now(tz=UTC).isoformat(timespec="seconds")
    return BackupNote(made, digest_of(path), path.stat().st_size, form or "", count,
                      newest.isoformat() if newest else None, seal)  # fmt: skip


def clear(path: Path, ends: tuple[str, ...] = _ENDS) -> None:
    """Remove a file of ours and what SQLite keeps beside it."""
    for end in ends:
        with suppress(FileNotFoundError):
            path.with_name(path.name + end).unlink()


def to_disk(path: Path) -> None:
    """See that a file and its name are on the disk."""
    for one, flags in ((path, os.O_RDWR), (path.parent, os.O_RDONLY)):
        handle = os.open(one, flags)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


def copy_into(source: Path, target: Path) -> None:
    """Copy a shop that may be in use, under one view of it; readable by its owner only."""
    with suppress(FileNotFoundError):
        target.unlink()
    os.close(os.open(target, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o600))
    uri = f"file:{source}?mode=rw"
    with closing(sqlite3.connect(uri, uri=True)) as old, closing(sqlite3.connect(target)) as new:
        # all pages in one step: in steps a busy shop would begin the copy again and again
        old.backup(new, pages=-1)


def make_backup(path: Path, folder: Path | None = None, *, keep: int = KEPT) -> Kept:
    """Make, check and keep a copy of a shop that may be in use.

    Parameters
    ----------
    path : Path
        File of the shop.
    folder : Path, optional
        Where copies lie; left out, ``<shop>.backups`` beside it. Made if it is not there.
    keep : int
        How many copies are kept, 1 or more; older ones that were made here are removed.

    Raises
    ------
    StorageTrouble
        If the shop is damaged, or the copy cannot be written or is not good; older ones stay.
    """
    if not path.is_file():
        raise StorageTrouble(f"There is no shop at {path}; name its file with --db.")
    folder = folder or folder_beside(path)
    making = folder / f".making-{uuid4().hex[:8]}-{path.name}"
    try:
        folder.mkdir(mode=0o700, parents=True, exist_ok=True)
        _sweep(folder)
        copy_into(path, making)
        note = checked_copy(making)
        to_disk(making)
        with _one_at_a_time(folder):
            kept = _free_name(folder, f"{path.stem}-{note.made_at[:19].replace(':', '')}")
            _write_note(kept, note)
            os.replace(making, kept)  # noqa: PTH105 -- says that an atomic replacement is meant
            to_disk(kept)
    except sqlite3.Error as error:
        raise StorageTrouble(
            f"No backup was made of {path.name}: {error}; older ones stay."
        ) from None
    except OSError as error:
        raise StorageTrouble(
            f"No backup was made in {folder}: {error.strerror}; older ones stay."
        ) from None
    finally:
        with suppress(OSError):
            clear(making)
    _let_old_go(path, folder, keep)
    return Kept(kept, note, datetime.fromisoformat(note.made_at))


def _sweep(folder: Path) -> None:
    """Remove what makers that were killed have left; one in work is younger than that."""
    oldest = time.time() - _LEFT_S
    for one in folder.glob(".making-*"):
        with suppress(OSError):
            if one.stat().st_mtime < oldest:
                one.unlink()


@contextmanager
def _one_at_a_time(folder: Path) -> Iterator[None]:
    """Keep two copies of one second from taking the same name."""
    handle = os.open(folder, os.O_RDONLY)
    try:
        fcntl.flock(handle, fcntl.LOCK_EX)
        yield
    finally:
        os.close(handle)


def _free_name(folder: Path, stem: str) -> Path:
    name, number = folder / f"{stem}.db", 1
    while name.exists():
        number += 1
        name = folder / f"{stem}-{number}.db"
    return name


def _note_of(path: Path) -> Path:
    return path.with_suffix(".json")


def _write_note(kept: Path, note: BackupNote) -> None:
    target = _note_of(kept)
    making = target.with_name(f".making-{uuid4().hex[:8]}-{target.name}")
    handle = os.open(making, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o600)
    with os.fdopen(handle, "w", encoding="utf-8") as file:
        json.dump(note.told(), file, indent=1)
        file.write("\n")
        file.flush()
        os.fsync(file.fileno())
    os.replace(making, target)  # noqa: PTH105 -- as above


def note_beside(path: Path) -> BackupNote | None:
    """Return the note of a copy, or None if there is none that can be read."""
    try:
        told = json.loads(_note_of(path).read_text(encoding="utf-8"))
        told.pop("schema")
        return BackupNote(**told)
    except (OSError, ValueError, TypeError, KeyError, AttributeError):
        return None


def backups_in(path: Path, folder: Path | None = None) -> tuple[Kept, ...]:
    """Return the copies of a shop that are kept, newest first."""
    folder = folder or folder_beside(path)
    found = []
    for one in folder.glob(f"{path.stem}-*.db"):
        note = note_beside(one)
        when = datetime.fromtimestamp(one.stat().st_mtime, tz=UTC)
        with suppress(ValueError):
            when = datetime.fromisoformat(note.made_at) if note else when
        found.append(Kept(one, note, when))
    return tuple(sorted(found, key=lambda kept: kept.made_at, reverse=True))


def _let_old_go(path: Path, folder: Path, keep: int) -> None:
    # what has no note of ours was put there by somebody else, and stays
    ours = [one for one in backups_in(path, folder) if one.note is not None]
    for one in ours[max(1, keep) :]:
        with suppress(OSError):
            one.path.unlink()
            _note_of(one.path).unlink()


def newest_words(path: Path, folder: Path | None = None) -> str:
    """Return how to restore the newest copy, as the end of a sentence; empty if there is none."""
    with suppress(CollopError, OSError):
        found = [one for one in backups_in(path, folder) if one.note is not None]
        if found:
            return f"collop restore {found[0].path} --db {path}"
    return ""
