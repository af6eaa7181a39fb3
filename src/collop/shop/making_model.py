"""What the making of mince and of batches takes in and hands out: frozen records, no database.

A mince lot runs from clean-down to clean-down. A batch is one making of links or of marinade.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from enum import StrEnum
from typing import Any

from collop.measures import Weight
from collop.shop.day_model import LATE_AFTER

__all__ = [
    "BATCH", "MINCE", "Making", "MakingEvent", "MakingState", "Mass", "Material", "NewMaterial",
    "Output", "RecordField", "is_late",
]  # fmt: skip

MINCE, BATCH = "mince", "batch"


def is_late(done_at: datetime, at: datetime) -> bool:
    """Tell whether a line is a late entry, as all of the Day Book."""
    return at - done_at > LATE_AFTER


class MakingState(StrEnum):
    """How far a making has come."""

    OPEN = "open"
    ENDED = "ended"
    CLOSED = "closed"


@dataclass(frozen=True, slots=True)
class NewMaterial:
    """Something that goes in; one of three.

    From the shop's own lots: `lot_id` and the `place` it lies at (``trim``, ``block``, ``case`` or
    ``fat``), with its weight. Bought in: no `lot_id`; name, plant's number, supplier's lot and
    production date, each of which may be told later. An ingredient of a batch: `is_ingredient`;
    `establishment` is then its maker, `contains` its allergens (None: not told), and the weight may
    be left out where it is too little to count.

    `done_at` is when it went in, if that is written down later.
    """

    weight: Weight | None
    what: str = ""
    lot_id: str | None = None
    place: str | None = None
    establishment: str = ""
    supplier_lot: str = ""
    produced_on: date | None = None
    contains: tuple[str, ...] | None = None
    is_ingredient: bool = False
    done_at: datetime | None = None


@dataclass(frozen=True, slots=True)
class Material:
    """Something that went in, as written and as filled in since.

    `kind` is ``own``, ``carry-over``, ``bought`` or ``ingredient``. `tags` are the animals an own
    lot comes from, `establishments` every plant's number that is known of it, `lots` every
    supplier's lot or carcass tag, `dates` the days of kill or production; what of these is not
    known stands in `missing`, as ``establishment``, ``supplier_lot``, ``produced_on``, ``what`` or
    ``contains``.
    """

    seq: int
    kind: str
    what: str
    lot_id: str | None
    carry_over_of: str | None
    weight: Weight | None
    contains: tuple[str, ...] | None
    tags: tuple[str, ...]
    farms: tuple[str, ...]
    establishments: tuple[str, ...]
    lots: tuple[str, ...]
    dates: tuple[date, ...]
    missing: tuple[str, ...]
    done_at: datetime
    at: datetime
    by: str | None
    taken_back: bool

    @property
    def is_late(self) -> bool:
        """Tell whether it was written late."""
        return is_late(self.done_at, self.at)


@dataclass(frozen=True, slots=True)
class MakingEvent:
    """A further line: produced, carried, lost, filled, ended, or one of them taken back."""

    seq: int
    what: str
    lot_id: str | None
    weight: Weight | None
    fields: dict[str, Any]
    note: str
    done_at: datetime
    at: datetime
    by: str | None
    taken_back: bool

    @property
    def is_late(self) -> bool:
        """Tell whether it was written late."""
        return is_late(self.done_at, self.at)


@dataclass(frozen=True, slots=True)
class Output:
    """What was made of it: a lot in the case, or another making it went into."""

    lot_id: str
    what: str
    weight: Weight
    case_id: str | None
    use_by: date | None
    into: str


@dataclass(frozen=True, slots=True)
class Mass:
    """Where the weight is, exactly: in = out + carried + lost + elsewhere + left.

    `carried` went into a later lot, or is said to wait for it; `waiting` is that last part, and
    `left` what lies on the block of which nothing is said.
    """

    came_in: Weight
    out: Weight
    carried: Weight
    waiting: Weight
    lost: Weight
    elsewhere: Weight
    left: Weight

    @property
    def closes(self) -> bool:
        """Tell whether the sum holds to the last count; it does, unless the ledger is damaged."""
        told = self.out.count + self.carried.count + self.lost.count + self.elsewhere.count
        return self.came_in.count == told + self.left.count

    @property
    def on_block(self) -> Weight:
        """Return all that lies on the block, told or not."""
        return self.left + self.waiting


@dataclass(frozen=True, slots=True)
class RecordField:
    """One field of the record: its rule, what is told, and what is missing, in words."""

    rule_id: str
    name: str
    told: tuple[str, ...]
    missing: tuple[str, ...]
    source: str
    status: str

    @property
    def is_whole(self) -> bool:
        """Tell whether nothing of it is missing."""
        return not self.missing

    @property
    def cited(self) -> str:
        """Return the rule with its source, marked where nobody has looked it up."""
        mark = " (from memory, not checked)" if self.status == "memory" else ""
        return f"{self.rule_id} {self.source}".strip() + mark


@dataclass(frozen=True, slots=True)
class Making:
    """A mince lot or a batch as it stands.

    `done_at` is when it was opened, `at` when that was written. `cleaned_before` and
    `cleaned_after` are the clean-downs it runs between. `keep_until` is the day its record is kept
    through.
    """

    number: int
    code: str
    kind: str
    name: str
    species: str
    machine: str
    case_id: str | None
    state: MakingState
    done_at: datetime
    at: datetime
    by: str | None
    cleaned_before: datetime | None
    cleaned_after: datetime | None
    materials: tuple[Material, ...]
    events: tuple[MakingEvent, ...]
    outputs: tuple[Output, ...]
    mass: Mass
    fields: tuple[RecordField, ...] = ()
    cautions: tuple[str, ...] = ()
    contains: tuple[str, ...] = ()
    keep_until: date | None = None

    @property
    def is_late(self) -> bool:
        """Tell whether its opening was written late."""
        return is_late(self.done_at, self.at)

    @property
    def missing(self) -> tuple[str, ...]:
        """Return what the record lacks, in words."""
        return tuple(word for one in self.fields for word in one.missing)

    @property
    def standing(self) -> tuple[Material, ...]:
        """Return the materials that were not taken back."""
        return tuple(one for one in self.materials if not one.taken_back)

    @property
    def state_words(self) -> str:
        """Return the state in words, with how much of the record is missing."""
        if self.state is MakingState.CLOSED:
            return "closed"
        number = len(self.missing)
        if self.state is MakingState.OPEN:
            return "open"
        if number:
            return f"ended, record incomplete: {number} missing"
        if self.mass.left.count:
            return f"ended, {self.mass.left.text()} not told of"
        return "ended, record complete: close it"
