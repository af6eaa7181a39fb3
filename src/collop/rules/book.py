"""The book of rules: every published row, in our words where the product acts on it.

Nothing here is legal advice: the local code and the local authority come first.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from functools import cache

from collop.errors import BadValue, NotFound
from collop.reference.rulebook import PublishedRule, rule_rows
from collop.reference.sources import Status
from collop.rules.book_model import OUR_FIGURE, Ours, Rule
from collop.rules.book_texts_food import FOOD
from collop.rules.book_texts_goods import GOODS
from collop.rules.book_texts_records import RECORDS_AND_MONEY
from collop.rules.book_topics import TOPICS, topic_of
from collop.rules.choosing import NOTHING_CHOSEN, in_force, settings
from collop.rules.settings_model import Setting

__all__ = ["rule", "rules", "search"]

_NO_YEAR = frozenset({"", "n.d.", "current", "annual"})
_MOST_WORDS = 12
_OWN = (
    ("OWN01", "Every fridge and the case are read three times a day.",
     "The Day Book tells when the next cold check is due, and a day without one is a gap."),
    ("OWN02", "Checks of the Day Book are kept a year.",
     "Nothing is ever deleted; the sums of the rules give the day it must be kept through."),
)  # fmt: skip


@cache
def _ours() -> dict[str, Ours]:
    return {one.rule_id: one for one in (*FOOD, *GOODS, *RECORDS_AND_MONEY)}


@cache
def _part_of() -> dict[str, str]:
    leads = _ours()
    return {row: lead for lead, one in leads.items() for row in one.also if row not in leads}


@cache
def _settings_of() -> dict[str, tuple[Setting, ...]]:
    found: dict[str, tuple[Setting, ...]] = {}
    for one in settings():
        found[one.rule_id] = (*found.get(one.rule_id, ()), one)
    return found


def _edition(row: PublishedRule, ours: Ours | None) -> str:
    if ours is not None and ours.edition:
        return ours.edition
    return "" if row.source.year in _NO_YEAR else row.source.year


def _made(row: PublishedRule) -> Rule:
    ours = _ours().get(row.rule_id)
    inputs = (row.worked_inputs, row.worked_result)
    part_of = _part_of().get(row.rule_id, "")
    does = _ours()[part_of].does if part_of else ""
    return Rule(
        id=row.rule_id, topic=topic_of(row), text=row.text if ours is None else ours.text,
        published=row.text, value=row.value, unit=row.unit, scope=row.applies_to, when=row.when,
        worked=" = ".join(part for part in inputs if part), note=row.note, source=row.source,
        edition=_edition(row, ours), status=row.status,
        does=does if ours is None else ours.does, also=() if ours is None else ours.also,
        part_of=part_of, settings=_settings_of().get(row.rule_id, ()), chosen=(),
    )  # fmt: skip


def _own(rule_id: str, text: str, does: str) -> Rule:
    return Rule(
        id=rule_id, topic="own", text=text, published=text, value="", unit="", scope="", when="",
        worked="", note="", source=OUR_FIGURE, edition="", status=Status.MEMORY, does=does,
        also=(), part_of="", settings=_settings_of().get(rule_id, ()), chosen=(),
    )  # fmt: skip


@cache
def _book() -> dict[str, Rule]:
    """Return every rule in the order of the topics, those with our words first in each."""
    made = [_made(row) for row in rule_rows()] + [_own(*one) for one in _OWN]
    order = list(TOPICS)
    made.sort(key=lambda one: (order.index(one.topic), bool(one.part_of), not one.does))
    return {one.id: one for one in made}


def _in_force(one: Rule, chosen: Mapping[str, str]) -> Rule:
    if not one.settings:
        return one
    return replace(one, chosen=tuple(in_force(each.name, chosen) for each in one.settings))


def rules(chosen: Mapping[str, str] = NOTHING_CHOSEN, *, topic: str = "") -> tuple[Rule, ...]:
    """Return the rules of the book, with what the shop chose.

    Parameters
    ----------
    chosen : mapping of str to str
        The shop's choices, by the name of the setting.
    topic : str
        Key of `collop.rules.book_topics.TOPICS`; all topics if empty.

    Raises
    ------
    BadValue
        If there is no such topic.

    Examples
    --------
    >>> [one.id for one in rules(topic="cooling")]
    ['SF012', 'SF013', 'SF014']
    """
    if topic and topic not in TOPICS:
        raise BadValue(f"There is no topic {topic[:20]!r} of rules; use one of "
                       f"{', '.join(TOPICS)}.", where="topic")  # fmt: skip
    return tuple(_in_force(one, chosen) for one in _book().values() if topic in ("", one.topic))


def rule(rule_id: str, chosen: Mapping[str, str] = NOTHING_CHOSEN) -> Rule:
    """Return one rule by its id.

    Raises
    ------
    NotFound
        If there is none.

    Examples
    --------
    >>> rule("SF006", {"cold_limit_f": "38"}).chosen
    ('38',)
    """
    found = _book().get(rule_id.strip().upper() if isinstance(rule_id, str) else "")
    if found is None:
        raise NotFound(f"There is no rule {str(rule_id)[:20]!r}; see collop rules or the page "
                       "Rules.", where="rule_id")  # fmt: skip
    return _in_force(found, chosen)


def search(
    text: str, chosen: Mapping[str, str] = NOTHING_CHOSEN, *, topic: str = ""
) -> tuple[Rule, ...]:
    """Return the rules in which every word stands, in the order of the book; all if none is given.

    Parameters
    ----------
    text : str
        Words, in any order; parts of words count. The first twelve count.
    chosen : mapping of str to str
        The shop's choices.
    topic : str
        As in `rules`.

    Examples
    --------
    >>> [one.id for one in search("vacuum days older")]
    ['SF062']
    """
    wanted = text.casefold().split()[:_MOST_WORDS]
    return tuple(one for one in rules(chosen, topic=topic) if all(w in one.words() for w in wanted))
