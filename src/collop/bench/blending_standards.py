"""Published limits on what a ground meat or fresh sausage of a certain name may be made of.

The figures come from `collop.reference.composition_rows`, each with its source.  A row from memory
is held as well, and is said to be from memory.  Local codes come first.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from functools import cache

from collop.reference import CompositionRow, Source, composition_rows

__all__ = ["FAT_AS_SUCH", "STANDARDS", "PublishedLimit", "limits_of", "reminders_of", "rests_on",
           "species_of"]  # fmt: skip

#: Names of standards that a recipe may fall under.
STANDARDS = (
    "ground beef", "hamburger", "beef patties", "fresh pork sausage", "whole hog sausage",
    "fresh beef sausage", "breakfast sausage", "Italian sausage",
)  # fmt: skip
#: From this share of fat on, a bin is taken as fat as such and no trimmings; a figure of ours.
FAT_AS_SUCH = Fraction(4, 5)
# common practice, no published source: the name says the animal
_SPECIES = {
    "ground beef": "beef", "hamburger": "beef", "beef patties": "beef",
    "fresh beef sausage": "beef", "fresh pork sausage": "pork", "whole hog sausage": "pork",
}  # fmt: skip
# what is limited, and the row that says so
_RULES = {
    "ground beef": {"fat": "LB065", "fat as such": "LB066", "water": "LB068", "binder": "LB068"},
    "hamburger": {"fat": "LB067", "water": "LB068", "binder": "LB068"},
    "beef patties": {"fat": "LB071"},
    "fresh pork sausage": {"fat": "LB073", "water": "LB074"},
    "whole hog sausage": {"fat": "LB076", "water": "LB077"},
    "fresh beef sausage": {"fat": "LB078", "water": "LB079"},
    "breakfast sausage": {"fat": "LB080", "water": "LB081", "binder": "LB082"},
    "Italian sausage": {"meat": "LB083", "fat": "LB084"},
}
# requirements in words, which a blend cannot measure
_REMINDERS = {
    "ground beef": ("LB069", "LB072"),
    "hamburger": ("LB072",),
    "fresh pork sausage": ("LB075",),
    "Italian sausage": ("LB085",),
}


@dataclass(frozen=True, slots=True)
class PublishedLimit:
    """One limit of a standard.

    Parameters
    ----------
    what : str
        ``fat``, ``water``, ``binder``, ``meat`` or ``fat as such``.
    figure : Fraction
        Share of the finished weight: the most there may be, or of ``meat`` the least.
    row : CompositionRow
        Where it stands.
    """

    what: str
    figure: Fraction
    row: CompositionRow

    @property
    def source(self) -> str:
        """Return the citation, with its mark if the figure is from memory."""
        return rests_on(self.row)


def rests_on(row: CompositionRow) -> str:
    """Return where a requirement stands: its id and the citation of its source."""
    text = f"{row.rule_id}, {_short(row.source)}"
    return text if row.is_cited else f"{text}; from memory, check your code"


def _short(source: Source) -> str:
    return ", ".join(part for part in (source.title, source.publisher) if part)


@cache
def limits_of(standard: str | None) -> tuple[PublishedLimit, ...]:
    """Return the published limits of a standard; none without one."""
    found = []
    for what, rule_id in _RULES.get(standard or "", {}).items():
        (row,) = composition_rows(rule_id)
        percent = row.percent
        # words such as "not allowed" are a limit of nothing at all
        figure = Fraction(0) if percent is None else Fraction(percent) / 100
        found.append(PublishedLimit(what, figure, row))
    return tuple(found)


def reminders_of(standard: str | None) -> tuple[str, ...]:
    """Return what a standard says in words that no weight can show, each with its source."""
    rows = [composition_rows(rule_id)[0] for rule_id in _REMINDERS.get(standard or "", ())]
    return tuple(f"{_words(row)} ({rests_on(row)})" for row in rows)


def _words(row: CompositionRow) -> str:
    value = f"{row.value} {row.unit}" if row.unit else row.value
    return f"{row.requirement}: {value}"


def species_of(standard: str | None) -> str | None:
    """Return the one species that the name of a standard stands for, None if it names none."""
    return _SPECIES.get(standard or "")
