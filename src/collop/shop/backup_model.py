"""Records of copies of a shop, as pages and commands see them."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from datetime import datetime
from pathlib import Path
from typing import Any

__all__ = ["BackupNote", "Kept", "Restored"]


@dataclass(frozen=True, slots=True)
class BackupNote:
    """What stands beside a copy: how to know it again, and what it holds.

    Parameters
    ----------
    made_at : str
        UTC, ISO 8601.
    sha256 : str
        Of the file, 64 hexadecimal digits.
    size : int
        Bytes.
    form : str
        Number of the shop's form.
    acts : int
        How many acts are in it.
    newest_act_at : str or None
        Shop-local time of the newest.
    seal : str
        Newest seal of the log.
    """

    made_at: str
    sha256: str
    size: int
    form: str
    acts: int
    newest_act_at: str | None
    seal: str

    def told(self) -> dict[str, Any]:
        """Return the note as plain JSON."""
        return {"schema": "collop.backup/1", **asdict(self)}


@dataclass(frozen=True, slots=True)
class Kept:
    """A copy that is kept, with its note; `note` is None if that is missing or unreadable."""

    path: Path
    note: BackupNote | None
    made_at: datetime


@dataclass(frozen=True, slots=True)
class Restored:
    """A shop that was put in place: from where, what it holds, and where the former one lies."""

    path: Path
    source: Path
    acts: int
    newest_act_at: str | None
    seal: str
    before: Path | None
