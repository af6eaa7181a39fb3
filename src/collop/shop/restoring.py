"""Putting a copy in the place of a shop: checked before, nothing half done, the old one kept."""

from __future__ import annotations

import os
import shutil
import sqlite3
from contextlib import closing, suppress
from datetime import UTC, datetime
from pathlib import Path

from collop.errors import StorageTrouble
from collop.shop.backup import checked_copy, clear, copy_into, digest_of, note_beside, to_disk
from collop.shop.backup_model import Restored
from collop.shop.migrate import migrate_shop
from collop.shop.serving_lock import ServingLock

__all__ = ["restore"]

_BESIDE = ("-wal", "-shm")


def restore(backup: Path, path: Path) -> Restored:
    """Put a copy in the place of a shop, or where none is yet.

    The copy is copied beside the shop, brought up to this version, checked whole, and only then
    takes its name. What stood there is kept under ``<name>.before-restore-<time>``.

    Parameters
    ----------
    backup : Path
        A copy made by `make_backup`, or any SQLite file of a shop.
    path : Path
        File of the shop.

    Raises
    ------
    StorageTrouble
        If the copy is not there, was changed since it was made, is damaged, or the shop is served
        at the moment; the shop is then as it was.
    """
    if not backup.is_file():
        raise StorageTrouble(f"There is no backup at {backup}; see: collop backup --list.")
    if path.exists() and backup.samefile(path):
        raise StorageTrouble(f"{backup} is the shop itself; name a backup.")
    if not path.parent.is_dir():
        raise StorageTrouble(f"There is no folder {path.parent}; make it first.")
    note = note_beside(backup)
    if note is not None and digest_of(backup) != note.sha256:
        raise StorageTrouble(
            f"{backup.name} is not as it was made: its SHA-256 differs from the note beside it;"
            " nothing was changed: take another backup."
        )
    making = path.with_name(f".restoring-{os.getpid()}-{path.name}")
    with ServingLock(path, "being restored"):
        try:
            # what one that was killed has left: nobody else is at it, the lock says
            for left in path.parent.glob(f".restoring-*-{path.name}*"):
                left.unlink()
            copy_into(backup, making)
            migrate_shop(f"sqlite:///{making}")
            found = checked_copy(making)
            to_disk(making)
            _fold_log(path)
            before = _keep(path)
            _clear_log(path, before)
            os.replace(making, path)  # noqa: PTH105 -- says that an atomic replacement is meant
            to_disk(path)
        except sqlite3.Error as error:
            raise StorageTrouble(f"{backup.name} cannot be restored: {error}; the shop is as it"
                                 " was.") from None  # fmt: skip
        except OSError as error:
            raise StorageTrouble(f"{path} cannot be written: {error.strerror}; what stood there"
                                 " is still there.") from None  # fmt: skip
        finally:
            with suppress(OSError):
                clear(making)
                for copy in making.parent.glob(f"{making.name}.before-*"):
                    copy.unlink()
    return Restored(path, backup, found.acts, found.newest_act_at, found.seal, before)


def _fold_log(path: Path) -> None:
    """Bring the log of the former shop into its file, so that the file alone is all of it.

    A damaged one is left as it is: file and log are kept together.
    """
    if not path.exists():
        return
    try:
        with closing(sqlite3.connect(f"file:{path}?mode=rw", uri=True)) as raw:
            raw.execute("PRAGMA wal_checkpoint(TRUNCATE)").fetchall()
    except sqlite3.Error:
        return


def _log_of(path: Path) -> int:
    log = path.with_name(f"{path.name}-wal")
    return log.stat().st_size if log.exists() else 0


def _clear_log(path: Path, before: Path | None) -> None:
    """Remove the log of the former file, which must never be read into the new one.

    Raises
    ------
    StorageTrouble
        If somebody wrote into it since it was kept.
    """
    if before is not None and _log_of(path) != _log_of(before):
        raise StorageTrouble(
            f"{path.name} was written to while it was being replaced; it is as it was: end the"
            " other program, and restore again."
        )
    for end in _BESIDE:
        with suppress(FileNotFoundError):
            path.with_name(path.name + end).unlink()


def _keep(path: Path) -> Path | None:
    """Copy what stands in the place, byte for byte, log and all; return where it is kept."""
    if not path.exists():
        return None
    when = datetime.now(tz=UTC).strftime("%Y%m%dT%H%M%SZ")
    kept = path.with_name(f"{path.name}.before-restore-{when}")
    for end in ("", *_BESIDE):
        old = path.with_name(path.name + end)
        if old.exists():
            new = kept.with_name(kept.name + end)
            shutil.copyfile(old, new)
            new.chmod(0o600)
            to_disk(new)
    return kept
