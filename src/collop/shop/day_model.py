"""What the Day Book hands out: frozen records, no database behind them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from enum import StrEnum
from typing import Any

from collop.measures import Temperature, Weight

__all__ = [
    "LATE_AFTER", "TILES", "Arrival", "CleanDown", "DayGap", "DayLine", "DayPage", "DayTile",
    "InspectorBook", "OverLimit", "Place", "Round", "RoundState", "Told", "both_scales",
    "moment_in",
]  # fmt: skip

#: A line written down longer than this after it was done is a late entry: ours.
LATE_AFTER = timedelta(minutes=15)
#: The tiles of the book in reading order, and what each is called.
TILES: Mapping[str, str] = {
    "receive": "Receive", "cold": "Cold check", "clean": "Clean-down", "mince": "Mince lot",
    "scale": "Scale check", "probe": "Thermometer check", "note": "Note",
}  # fmt: skip


def both_scales(temperature: Temperature) -> str:
    """Return a temperature in both scales, e.g. ``41 °F (5 °C)`` or ``38.5 °F (3.6 °C)``."""
    in_f, in_c = temperature.in_fahrenheit(1), temperature.in_celsius(1)
    return f"{_plain(f'{in_f:f}')} °F ({_plain(f'{in_c:f}')} °C)"


def moment_in(moment: datetime, now: datetime) -> str:
    """Return a time of today as ``17:54``, and any other with its day, ``Mon 8 Jun 17:54``."""
    return f"{moment:%H:%M}" if moment.date() == now.date() else f"{moment:%a %-d %b %H:%M}"


def _plain(text: str) -> str:
    short = text.removesuffix(".0")
    return "0" if short == "-0" else short


@dataclass(frozen=True, slots=True)
class Told:
    """What was told of a reading over its limit, or of a line that is corrected.

    Parameters
    ----------
    action : str
        What was done with the meat, or with the thing that was out.
    told : str
        Who was told.
    why : str
        Why a line is corrected.
    paper : str
        Sheet and line, where it was written on paper first.
    """

    action: str = ""
    told: str = ""
    why: str = ""
    paper: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """A place that is read: a fridge, a freezer or the cutting room.

    Parameters
    ----------
    id, name : str
        How it is kept and called.
    kind : str
        ``chilled``, ``frozen`` or ``room``.
    limit : Temperature
        In force: its own, or the shop's where that is stricter. Of a room: what it is held at.
    source : str
        Where the limit stands.
    is_from_memory : bool
        Whether that source was recalled, not read.
    is_retired : bool
        Whether it is read no more.
    """

    id: str
    name: str
    kind: str
    limit: Temperature
    source: str
    is_from_memory: bool
    is_retired: bool

    @property
    def has_limit(self) -> bool:
        """Tell whether a reading may be over; the room's only says how often it is cleaned."""
        return self.kind != "room"


@dataclass(frozen=True, slots=True, kw_only=True)
class CleanDown:
    """One clean-down that stands.

    `done_at` is when it was done, `at` when it was written; `seq` is its row.
    """

    seq: int
    what: str
    done_at: datetime
    at: datetime
    by: str | None
    room: Temperature | None = None
    words: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Arrival:
    """A box at the door that is no animal.

    Parameters
    ----------
    what, supplier : str
        What it is, and from whom.
    keeps : str
        ``chilled``, ``frozen`` or ``dry``: how it must be kept.
    is_meat : bool
        Whether it must bear an inspection mark and an establishment number.
    establishment, lot : str
        As on the box.
    weight : Weight or None
        Of the box, if weighed.
    temperature : Temperature or None
        Of what is in it; asked of all that is kept cold, but of what is frozen solid.
    frozen_solid, mark : bool
        Whether it came frozen solid; whether it bears the mark of inspection.
    """

    what: str
    supplier: str
    keeps: str
    is_meat: bool
    establishment: str = ""
    lot: str = ""
    weight: Weight | None = None
    temperature: Temperature | None = None
    frozen_solid: bool = False
    mark: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class DayLine:
    """One line of the Day Book.

    Parameters
    ----------
    id : str
        ``D12`` of a check, ``C5`` of a clean-down, ``R3`` of an animal at the door, ``M4`` of a
        mince lot.
    tile, subject, name : str
        Key of `TILES`; the thing as kept and as called.
    said : str
        What was read or done, in words.
    reading : Temperature or None
        As read.
    limit, source : str
        What it was held against and where that stands; empty if nothing.
    is_over, is_void : bool
        Whether it was over; whether it only takes another line back.
    action, told, words : str
        What was done, who was told, and what else was said.
    done_at, at : datetime
        When it was done, and when it was written.
    by : str or None
        Who wrote it.
    corrects, corrected_by : str
        The line it corrects, and the one that corrects it; empty if none.
    is_cooling, is_warm : bool
        Whether it is a reading of an animal that came warm; whether that was still too warm.
    """

    id: str
    tile: str
    subject: str
    name: str
    said: str
    done_at: datetime
    at: datetime
    by: str | None
    reading: Temperature | None = None
    limit: str = ""
    source: str = ""
    is_over: bool = False
    is_void: bool = False
    action: str = ""
    told: str = ""
    words: str = ""
    corrects: str = ""
    corrected_by: str = ""
    is_cooling: bool = False
    is_warm: bool = False

    @property
    def is_late(self) -> bool:
        """Tell whether it was written well after it was done."""
        return self.at - self.done_at > LATE_AFTER

    @property
    def stands(self) -> bool:
        """Tell whether it counts: not corrected, and no taking back."""
        return not self.corrected_by and not self.is_void

    @property
    def is_refused(self) -> bool:
        """Tell whether it is a box that was not taken in."""
        return self.is_over and self.tile == "receive" and not self.is_cooling and self.is_check

    @property
    def is_check(self) -> bool:
        """Tell whether it is a check, which a further line may correct."""
        return self.id.startswith("D")

    @property
    def is_reading(self) -> bool:
        """Tell whether it is one temperature that was read."""
        return self.tile in {"cold", "probe"} or self.is_cooling

    @property
    def may_be_corrected(self) -> bool:
        """Tell whether a further line may correct it."""
        return self.stands and self.is_check and self.tile != "note"


class RoundState(StrEnum):
    """How a cold check of one round stands."""

    AHEAD = "ahead"
    DUE = "due"
    OVERDUE = "overdue"
    DONE = "done"
    LATE = "done late"
    ENTERED = "entered later"
    GAP = "gap"


@dataclass(frozen=True, slots=True)
class Round:
    """One cold check that was to be made: of a place, at a time of a day."""

    place: Place
    due: datetime
    state: RoundState
    line: DayLine | None = None


@dataclass(frozen=True, slots=True)
class DayGap:
    """What should stand in the book and does not; `entered` if a late entry speaks of it."""

    tile: str
    name: str
    due: datetime
    words: str
    entered: DayLine | None = None


@dataclass(frozen=True, slots=True)
class OverLimit:
    """One time a place was over its limit: known only within two bounds.

    Parameters
    ----------
    name : str
        Of the place.
    first, last : datetime
        First and last reading over.
    at_least_min : int
        Minutes between them.
    at_most_min : int or None
        Minutes from the last good reading before to the first good one after, or to now; None
        where no good reading stands before, or after.
    is_open : bool
        Whether no good reading stands after it yet.
    words : str
        All of it in words.
    """

    name: str
    first: datetime
    last: datetime
    at_least_min: int
    at_most_min: int | None
    is_open: bool
    words: str


@dataclass(frozen=True, slots=True)
class DayTile:
    """What a tile says: `state` is ``late``, ``due``, ``ahead`` or ``none``."""

    key: str
    name: str
    state: str
    due: datetime | None
    words: str


@dataclass(frozen=True, slots=True)
class DayPage:
    """One day of the book: what is due if it is today, its gaps and its lines, oldest first."""

    day: date
    at: datetime
    is_open: bool
    tiles: tuple[DayTile, ...]
    rounds: tuple[Round, ...]
    gaps: tuple[DayGap, ...]
    over: tuple[OverLimit, ...]
    lines: tuple[DayLine, ...]


@dataclass(frozen=True, slots=True)
class InspectorBook:
    """Up to 90 days of the book, by tile.

    Parameters
    ----------
    first, last : date
        Both included.
    at : datetime
        When it was put together.
    gaps : tuple of DayGap
        All of them, by tile and time.
    over : tuple of OverLimit
        Times over a limit.
    lines : mapping of str to tuple of DayLine
        By tile, oldest first.
    rounds : tuple of time
        When cold checks are due now.
    open_days : int
        Days in it that the shop served customers.
    begun : date or None
        When the first place was named; before that nothing was to be read.
    """

    first: date
    last: date
    at: datetime
    gaps: tuple[DayGap, ...]
    over: tuple[OverLimit, ...]
    lines: Mapping[str, tuple[DayLine, ...]]
    rounds: tuple[time, ...]
    open_days: int
    begun: date | None

    def as_rows(self, names: Mapping[str, str]) -> list[dict[str, Any]]:
        """Return gaps and lines as plain rows, gaps first; `names` are those of people."""
        return [_gap_row(gap) for gap in self.gaps] + [
            line_row(line, names) for lines in self.lines.values() for line in lines
        ]


def _gap_row(gap: DayGap) -> dict[str, Any]:
    said = gap.words if gap.entered is None else f"{gap.words}; see {gap.entered.id}"
    return {
        "tile": TILES[gap.tile], "line": "GAP", "done_at": gap.due.isoformat(timespec="minutes"),
        "written_at": "", "late_entry": "", "name": gap.name, "said": said, "limit": "",
        "source": "", "over": "", "action": "", "told": "", "by": "", "corrects": "",
        "corrected_by": "", "words": "",
    }  # fmt: skip


def line_row(line: DayLine, names: Mapping[str, str]) -> dict[str, Any]:
    """Return a line as a plain row, of text alone."""
    return {
        "tile": TILES[line.tile], "line": line.id,
        "done_at": line.done_at.isoformat(timespec="minutes"),
        "written_at": line.at.isoformat(timespec="minutes"),
        "late_entry": "yes" if line.is_late else "no", "name": line.name, "said": line.said,
        "limit": line.limit, "source": line.source, "over": "yes" if line.is_over else "no",
        "action": line.action, "told": line.told, "by": names.get(line.by or "", line.by or ""),
        "corrects": line.corrects, "corrected_by": line.corrected_by, "words": line.words,
    }  # fmt: skip
