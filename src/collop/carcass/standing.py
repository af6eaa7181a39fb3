"""How well a figure of the carcass stands: read, computed, recalled, or the shop's own."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from collop.reference import FROM_MEMORY, Row

__all__ = ["COMMON_PRACTICE", "Basis", "Standing"]

COMMON_PRACTICE = "common practice, no published source"


class Standing(StrEnum):
    """Where a figure comes from; only the first two may be shown without a mark."""

    SEEN = "seen"
    COMPUTED = "computed"
    MEMORY = "memory"
    SHOP = "shop"
    GIVEN = "given"


@dataclass(frozen=True, slots=True)
class Basis:
    """What a figure rests on.

    Parameters
    ----------
    standing : Standing
        How it was obtained.
    source : str
        The publication in one line; empty for the shop's own figures.
    note : str
        What a reader of the figure must know.
    """

    standing: Standing
    source: str = ""
    note: str = ""

    @classmethod
    def of(cls, row: Row, *, note: str = "") -> Basis:
        """Return the basis of a published row."""
        return cls(Standing(row.status), row.source.text(), note or row.note)

    @classmethod
    def computed(cls, row: Row, note: str) -> Basis:
        """Return the basis of a figure computed from a row: recalled if the row is."""
        standing = Standing.COMPUTED if row.is_cited else Standing.MEMORY
        return cls(standing, row.source.text(), note)

    @property
    def is_cited(self) -> bool:
        """Tell whether the figure was read in a source or computed from one that was."""
        return self.standing in {Standing.SEEN, Standing.COMPUTED}

    def text(self) -> str:
        """Return the source in one line, with its mark."""
        if self.standing is Standing.SHOP:
            return f"the shop's own starting figure; {COMMON_PRACTICE}"
        if self.standing is Standing.GIVEN:
            return "given"
        return f"{self.source}; {FROM_MEMORY}" if self.standing is Standing.MEMORY else self.source
