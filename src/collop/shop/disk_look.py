"""What the disk under a shop is like: of this machine, honest about syncs, with room left.

References
----------
.. [1] sqlite.org/wal.html: the write-ahead log needs all processes on one machine, so a database
   on a network file system is refused.
.. [2] PostgreSQL documentation, Reliability: a write cache that answers before it has written
   breaks the promise of a commit. Where the limit lies is our own figure.
"""

from __future__ import annotations

import os
import re
import shutil
import statistics
import time
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

from collop.errors import StorageTrouble

__all__ = ["DiskLook", "look_at_disk", "must_be_local"]

_MOUNTS = Path("/proc/mounts")
_ELSEWHERE = frozenset({
    "nfs", "nfs4", "cifs", "smb3", "smbfs", "smb2", "ncpfs", "afs", "9p", "ceph", "glusterfs",
    "fuse.sshfs", "fuse.glusterfs", "fuse.rclone", "davfs", "fuse.davfs",
})  # fmt: skip
_OCTAL = re.compile(rb"\\([0-3][0-7]{2})")
_TRIALS = 15
#: A disk that answers quicker than this may not have written yet; our own figure.
QUICKEST_SYNC_S = 0.0002
#: A write-ahead log larger than this is held up by somebody who reads for ever; our own figure.
LARGEST_LOG = 64 * 1024 * 1024
#: Under this much room a day of trade may not fit; our own figure.
LEAST_ROOM = 500 * 1024 * 1024


@dataclass(frozen=True, slots=True)
class DiskLook:
    """What was found: seconds of a sync, bytes of room, of the shop and of its log; warnings."""

    sync_s: float
    room: int
    size: int
    log: int
    warnings: tuple[str, ...]


def _kind_of(folder: Path, mounts: Path) -> str:
    """Return the kind of file system a folder is on, empty if the system does not tell."""
    longest, kind = -1, ""
    with suppress(OSError):
        for line in mounts.read_bytes().splitlines():
            parts = line.split()
            if len(parts) < 3:
                continue
            # spaces and tabs of a path stand there as octal figures
            at = Path(os.fsdecode(_OCTAL.sub(lambda found: bytes([int(found[1], 8)]), parts[1])))
            if (folder == at or at in folder.parents) and len(at.parts) >= longest:
                longest, kind = len(at.parts), os.fsdecode(parts[2])
    return kind


def must_be_local(path: Path, mounts: Path = _MOUNTS) -> None:
    """Refuse a shop on a network file system.

    Raises
    ------
    StorageTrouble
        What to do in its place.
    """
    kind = _kind_of(path.absolute().parent, mounts)
    if kind in _ELSEWHERE:
        raise StorageTrouble(
            f"{path.name} lies on a network drive ({kind}), where a shop can be lost: keep it on a"
            " disk of this machine, and let the other counters reach it through its pages."
        )


def _sync_seconds(folder: Path) -> float:
    """Return the median time of a small write that is synced, beside the shop."""
    trial = folder / f".sync-{os.getpid()}"
    handle = os.open(trial, os.O_CREAT | os.O_WRONLY, 0o600)
    taken = []
    try:
        for _ in range(_TRIALS):
            os.write(handle, b"\0" * 4096)
            begin = time.perf_counter()
            os.fsync(handle)
            taken.append(time.perf_counter() - begin)
    finally:
        os.close(handle)
        trial.unlink(missing_ok=True)
    return statistics.median(taken)


def look_at_disk(path: Path) -> DiskLook:
    """Measure the disk under a shop.

    Raises
    ------
    StorageTrouble
        If the folder cannot be written.
    """
    log = path.with_name(f"{path.name}-wal")
    try:
        sync, room = _sync_seconds(path.parent), shutil.disk_usage(path.parent).free
        size, held = path.stat().st_size, log.stat().st_size if log.exists() else 0
    except OSError as error:
        raise StorageTrouble(f"{path.parent} cannot be written: {error.strerror}.") from None
    warnings = []
    if sync < QUICKEST_SYNC_S:
        warnings.append(
            f"This disk answers in {sync * 1000:.2f} ms: it may say a thing is written before it"
            " is. Use a drive with protection against power loss, or a battery for the machine."
        )
    if held > LARGEST_LOG:
        warnings.append(
            f"The log beside the shop has grown to {held // 2**20} MB: close pages and programs"
            " that have been open for days, then start the server again."
        )
    if room < LEAST_ROOM:
        warnings.append(f"Only {room // 2**20} MB are left on this disk: make room.")
    return DiskLook(sync, room, size, held, tuple(warnings))
