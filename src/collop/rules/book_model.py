"""A rule as the book shows it: published row, our words, what the product does, its settings."""

from __future__ import annotations

import re
from dataclasses import dataclass

from collop.reference.sources import FROM_MEMORY, Source, Status
from collop.rules.settings_model import Setting

__all__ = ["OUR_FIGURE", "Ours", "Rule"]

#: The source of a figure that is nobody's but ours.
OUR_FIGURE = Source("RULE", "Common practice, no published source")


@dataclass(frozen=True, slots=True)
class Ours:
    """What we say of a published row.

    Parameters
    ----------
    rule_id : str
        The row.
    text : str
        The rule in our words.
    does : str
        What the product does with it.
    also : tuple of str
        Rows that say more of the same rule.
    edition : str
        Which editions the figure is of, where they differ.
    """

    rule_id: str
    text: str
    does: str
    also: tuple[str, ...] = ()
    edition: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Rule:
    """One rule of the book.

    Parameters
    ----------
    id : str
        Id of the published row, e.g. ``SF006``.
    topic : str
        Key of `collop.rules.book_topics.TOPICS`.
    text : str
        In our words where the product acts on it, else as the table tells it.
    published : str
        What the table tells: what it is about.
    value, unit : str
        The published figure or words.
    scope : str
        What and where it rules; empty if everywhere.
    when : str
        Its time or frequency, or what is exempt; empty if not told.
    worked : str
        A worked example, empty if there is none.
    note : str
        What a reader of the figure must know.
    source : Source
        Where it was published.
    edition : str
        Edition or year of it.
    status : Status
        How the figure was obtained.
    does : str
        What the product does with it; empty if nothing.
    also : tuple of str
        Further rows it rests on.
    part_of : str
        The rule whose part this row is; empty if none.
    settings : tuple of Setting
        What a shop may choose about it.
    chosen : tuple of str
        For each setting the value in force.
    """

    id: str
    topic: str
    text: str
    published: str
    value: str
    unit: str
    scope: str
    when: str
    worked: str
    note: str
    source: Source
    edition: str
    status: Status
    does: str
    also: tuple[str, ...]
    part_of: str
    settings: tuple[Setting, ...]
    chosen: tuple[str, ...]

    @property
    def is_cited(self) -> bool:
        """Tell whether the figure was read in its source or computed from it."""
        return self.status is not Status.MEMORY

    @property
    def figure(self) -> str:
        """Return the published figure with its unit."""
        if not re.search(r"\d", self.value):  # words have no unit
            return self.value
        return f"{self.value} {self.unit}".strip()

    def citation(self) -> str:
        """Return the source in one line, with a mark if the figure was recalled."""
        said = self.source.text()
        return said if self.is_cited or self.source is OUR_FIGURE else f"{said}; {FROM_MEMORY}"

    def words(self) -> str:
        """Return everything that a search looks at, in small letters."""
        parts = (self.id, self.text, self.published, self.figure, self.scope, self.when, self.note,
                 self.does, self.source.text(), *(one.label for one in self.settings))  # fmt: skip
        return " ".join(parts).casefold()
