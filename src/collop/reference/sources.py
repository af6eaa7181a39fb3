"""Where a figure was published, and how it is cited.

A source may stand in several folders of tables; the same id always means the same publication.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

__all__ = ["FROM_MEMORY", "Row", "Source", "Status"]

FROM_MEMORY = "from memory, not checked"


class Status(StrEnum):
    """How the figure of a row was obtained."""

    SEEN = "seen"
    MEMORY = "memory"
    COMPUTED = "computed"


@dataclass(frozen=True, slots=True)
class Source:
    """One publication.

    Parameters
    ----------
    source_id : str
        Short key the rows refer to.
    title, publisher, year, locator, url : str
        As the publication states them; empty where it does not.
    """

    source_id: str
    title: str
    publisher: str = ""
    year: str = ""
    locator: str = ""
    url: str = ""

    def text(self) -> str:
        """Return publisher, title, year and locator in one line."""
        known = (self.publisher, self.title, self.year, self.locator)
        return ", ".join(part for part in known if part not in ("", "-"))


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """What every row of a published table carries.

    Parameters
    ----------
    source : Source
        Where the figure was published.
    status : Status
        How the figure was obtained.
    note : str
        What a reader of the figure must know.
    """

    source: Source
    status: Status
    note: str = ""

    @property
    def is_cited(self) -> bool:
        """Tell whether the figure was read in its source or computed from it."""
        return self.status is not Status.MEMORY

    def citation(self) -> str:
        """Return the source in one line, with a mark if the figure was recalled."""
        return self.source.text() if self.is_cited else f"{self.source.text()}; {FROM_MEMORY}"
