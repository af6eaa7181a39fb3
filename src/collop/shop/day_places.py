"""Where cold is read, against which limit, at which hours, and what to do when it is over.

A shop's own limit may be stricter than the published one, never laxer. Changes are further rows,
and each is a note in the Day Book with its reason. The hours of the rounds and the steps are common
practice, no published source; the local code comes first.

References
----------
.. [1] Food Code 3-501.16(A), quoted in a state's violation 03F-07-5: 41 degF or below. Source id
   ``FL03F``, row SF006.
.. [2] Tarrant county health page: freezer at 0 degF. Source id ``TARRANT``, row SF008.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from itertools import pairwise

from sqlalchemy import insert, select
from sqlalchemy.engine import Connection

from collop.errors import BadValue, NotFound
from collop.measures import Temperature
from collop.reference.rulebook import rule_row
from collop.rules.choosing import figure
from collop.rules.limits import Limit, cold_limit, freezer_limit
from collop.shop.acts import Act
from collop.shop.day_model import Place, both_scales
from collop.shop.day_tables import cold_places, day_checks, rule_choices
from collop.shop.model import Settings
from collop.shop.rule_choices import load_rule_choices

__all__ = [
    "USUAL_ROUNDS", "USUAL_STEPS", "PlaceBook", "load_places", "note",
    "retire_place", "rounds_of", "set_place", "set_rounds", "set_steps", "steps_of", "words_in",
]  # fmt: skip

#: When cold is read where the shop said nothing: common practice, no published source.
USUAL_ROUNDS = (time(8, 0), time(13, 0), time(17, 30))
#: What to do when a place is over its limit where the shop said nothing: ours; the local code
#: comes first.
USUAL_STEPS = (
    "Shut the door. Read again with the hand thermometer, in the meat and not in the air.",
    "Move the meat to a place that is cold enough, and write which.",
    "Meat over the limit whose hours nobody can tell is not sold: hold it apart and ask the owner.",
    "Tell the owner. Call the repairer if it is still warm after half an hour.",
    "Read again within half an hour and write it down.",
)
_KINDS = ("chilled", "frozen", "room")
_LOWEST, _HIGHEST = Temperature.fahrenheit(-40), Temperature.fahrenheit(70)
_MOST_PLACES, _MOST_ROUNDS, _MOST_STEPS = 40, 12, 8
_LEAST_APART = timedelta(hours=1)
_ROUNDS, _STEPS = "rounds", "steps"
_CHECKS = "cold_checks_a_day"
_ID = re.compile(r"[a-z0-9][a-z0-9-]{0,39}")


def words_in(text: str, label: str, most: int, *, where: str, least: int = 1) -> str:
    """Return text somebody typed, without spaces at its ends.

    Raises
    ------
    BadValue
        If it is no text, too short, over `most` characters, or holds what cannot be printed.
    """
    plain = text.strip() if isinstance(text, str) else "\n"
    if not least <= len(plain) <= most or not plain.isprintable():
        many = f"{least} to {most}" if least else f"at most {most}"
        raise BadValue(f"{label}: write {many} characters on one line.", where=where)
    return plain


def note(act: Act, subject: str, said: str, why: str, **fields: object) -> None:
    """Write a note: what was changed about the book itself, and why."""
    act.conn.execute(insert(day_checks).values(
        kind="note", subject=subject, reading=None, fields={"said": said, "why": why, **fields},
        is_over=False, action="", told="", done_at=act.at, at=act.at, by_id=act.by, key=act.key,
    ))  # fmt: skip


def _published(kind: str, chosen: Mapping[str, str]) -> Limit:
    return freezer_limit(chosen) if kind == "frozen" else cold_limit(chosen)


@dataclass(frozen=True, slots=True)
class PlaceBook:
    """Every place that ever was, and when each was read.

    Parameters
    ----------
    places : mapping of str to Place
        As they stand now, in the order they were first named.
    spans : mapping of str to sequence of (datetime, bool)
        Of each, when it was retired or taken up, oldest first.
    """

    places: Mapping[str, Place]
    spans: Mapping[str, Sequence[tuple[datetime, bool]]]

    def read_now(self) -> list[Place]:
        """Return the places that are read."""
        return [place for place in self.places.values() if not place.is_retired]

    def was_read(self, place_id: str, moment: datetime) -> bool:
        """Tell whether a place was to be read at a moment."""
        retired = True
        for at, is_retired in self.spans.get(place_id, ()):
            if at > moment:
                break
            retired = is_retired
        return not retired

    def get(self, place_id: str) -> Place:
        """Return a place that is read, or raise `NotFound`."""
        place = self.places.get(place_id)
        if place is None or place.is_retired:
            names = ", ".join(one.name for one in self.read_now()) or "none yet"
            raise NotFound(
                f"There is no place {str(place_id)[:40]!r} to read; choose from {names}.",
                where="place",
            )
        return place


def _place(row: object, chosen: Mapping[str, str], limit_count: int) -> Place:
    kind, own = row.kind, Temperature(limit_count)  # type: ignore[attr-defined]
    common = {"id": row.place_id, "name": row.name, "kind": kind,  # type: ignore[attr-defined]
              "is_retired": row.retired}  # type: ignore[attr-defined]  # fmt: skip
    if kind == "room":
        custom = rule_row("SF079")
        return Place(**common, limit=own, source=f"what the shop holds it at; {custom.citation()}",
                     is_from_memory=not custom.is_cited)  # fmt: skip
    rule = _published(kind, chosen)
    source = rule.row.citation()
    if own < rule.temperature:
        source = f"the shop's own, stricter than {source}"
    return Place(**common, limit=min(own, rule.temperature), source=source,
                 is_from_memory=not rule.row.is_cited)  # fmt: skip


def load_places(conn: Connection) -> PlaceBook:
    """Return every place with its limit in force."""
    chosen = load_rule_choices(conn)
    newest: dict[str, object] = {}
    spans: dict[str, list[tuple[datetime, bool]]] = {}
    for row in conn.execute(select(cold_places).order_by(cold_places.c.seq)):
        newest[row.place_id] = row
        spans.setdefault(row.place_id, []).append((row.at, row.retired))
    places = {
        key: _place(row, chosen, row.limit_count)  # type: ignore[attr-defined]
        for key, row in newest.items()
    }
    return PlaceBook(places, spans)


def _id_of(name: str, taken: Iterable[str]) -> str:
    plain = re.sub(r"[^a-z0-9]+", "-", name.casefold()).strip("-")[:36] or "place"
    number, found, known = 2, plain, set(taken)
    while found in known:
        found, number = f"{plain}-{number}", number + 1
    return found


def set_place(
    act: Act, place_id: str | None, name: str, *, kind: str, limit: Temperature, why: str
) -> str:
    """Name a place that is read, or change its name or limit; return its id.

    Parameters
    ----------
    act : Act
        The write.
    place_id : str or None
        None for a new one. Its kind never changes.
    name, kind : str
        How it is called; ``chilled``, ``frozen`` or ``room``.
    limit : Temperature
        The highest it may be; of a room, what it is held at.
    why : str
        The reason.

    Raises
    ------
    BadValue
        If the limit is laxer than published, or a field is out of its range.
    """
    book = load_places(act.conn)
    called = words_in(name, "Name of the place", 80, where="name")
    reason = words_in(why, "Why", 200, where="why")
    if kind not in _KINDS:
        raise BadValue(f"A place is {', '.join(_KINDS)}; choose one.", where="kind")
    if place_id is None:
        place_id = _id_of(called, book.places)
    elif not _ID.fullmatch(place_id) or place_id not in book.places:
        raise NotFound(f"There is no place {place_id[:40]!r}; see the places.", where="place")
    elif book.places[place_id].kind != kind:
        raise BadValue("What a place is never changes; retire it and name a new one.", where="kind")
    others = {one.name.casefold() for one in book.read_now() if one.id != place_id}
    if called.casefold() in others:
        raise BadValue(f"There is a place called {called} already; give another name.",
                       where="name")  # fmt: skip
    if len(book.places) >= _MOST_PLACES:
        raise BadValue(f"{_MOST_PLACES} places are the most there can be.", where="name")
    _check_limit(kind, limit, load_rule_choices(act.conn))
    _write_place(act, place_id, called, kind, limit, retired=False)
    said = f"limit {both_scales(limit)}"
    if kind == "room":
        said = f"a cutting room, held at {both_scales(limit)}, with no limit"
    note(act, place_id, f"{called}: {said}", reason)
    return place_id


def _check_limit(kind: str, limit: Temperature, chosen: Mapping[str, str]) -> None:
    if not _LOWEST <= limit <= _HIGHEST:
        raise BadValue(f"Limit: {both_scales(limit)} is out of range; look at °F and °C.",
                       where="limit")  # fmt: skip
    if kind == "room":
        return
    rule = _published(kind, chosen)
    if limit > rule.temperature:
        raise BadValue(
            f"A limit of {both_scales(limit)} is laxer than {both_scales(rule.temperature)} of "
            f"{rule.row.source.title} ({rule.row.rule_id}); give that or less.",
            where="limit",
        )


def _write_place(
    act: Act, place_id: str, name: str, kind: str, limit: Temperature, *, retired: bool
) -> None:
    act.conn.execute(insert(cold_places).values(
        place_id=place_id, name=name, kind=kind, limit_count=limit.count, retired=retired,
        at=act.at, by_id=act.by, key=act.key,
    ))  # fmt: skip


def retire_place(act: Act, place_id: str, why: str) -> None:
    """Read a place no more; what stands in the book of it stays."""
    place = load_places(act.conn).get(place_id)
    reason = words_in(why, "Why", 200, where="why")
    _write_place(act, place.id, place.name, place.kind, place.limit, retired=True)
    note(act, place.id, f"{place.name} is read no more", reason)


def _notes(conn: Connection, subject: str) -> list[tuple[datetime, list[str]]]:
    query = select(day_checks.c.at, day_checks.c.fields).where(
        day_checks.c.kind == "note", day_checks.c.subject == subject
    )
    return [(row.at, row.fields["values"]) for row in conn.execute(query.order_by(
        day_checks.c.seq)) if isinstance(row.fields.get("values"), list)]  # fmt: skip


def _usual_rounds(checks: int, chosen: Settings) -> tuple[time, ...]:
    if checks == len(USUAL_ROUNDS):
        return USUAL_ROUNDS
    first = datetime.combine(date.min, chosen.opens)
    span = datetime.combine(date.min, chosen.closes) - first - timedelta(minutes=30)
    each = span / max(checks - 1, 1)
    found = [first + each * step for step in range(checks)]
    return tuple(one.time().replace(second=0, microsecond=0) for one in found)


def rounds_of(conn: Connection, chosen: Settings) -> list[tuple[date, tuple[time, ...]]]:
    """Return from which day on cold was to be read at which hours, oldest first.

    A change counts from the day after it, so that it can never undo a gap of its own day.
    """
    checks, own = int(figure(_CHECKS)), None
    found = [(date.min, _usual_rounds(checks, chosen))]
    changes: list[tuple[datetime, int | tuple[time, ...]]] = [
        *((at, tuple(map(time.fromisoformat, hours))) for at, hours in _notes(conn, _ROUNDS)),
        *((at, int(figure(_CHECKS, {_CHECKS: value}))) for at, value in _checks(conn)),
    ]
    for at, to in sorted(changes, key=lambda change: change[0]):
        if isinstance(to, int):
            checks = to
        else:
            own = to
        hours = own if own and len(own) >= checks else _usual_rounds(checks, chosen)
        found.append((at.date() + timedelta(days=1), hours))
    return found


def _checks(conn: Connection) -> list[tuple[datetime, str]]:
    """Return when the shop changed how often it reads a day, and to what, oldest first."""
    query = select(rule_choices.c.at, rule_choices.c.value).where(rule_choices.c.name == _CHECKS)
    return [(row.at, row.value) for row in conn.execute(query.order_by(rule_choices.c.seq))]


def set_rounds(act: Act, hours: Sequence[time], why: str) -> None:
    """Set at which hours cold is read, from tomorrow on.

    Raises
    ------
    BadValue
        If there are fewer than the shop reads a day, or two are less than an hour apart.
    """
    reason = words_in(why, "Why", 200, where="why")
    wanted = sorted(set(hours))
    least = int(figure(_CHECKS, load_rule_choices(act.conn)))
    if not least <= len(wanted) <= _MOST_ROUNDS:
        raise BadValue(f"Rounds: give {least} to {_MOST_ROUNDS} hours of the day.", where="rounds")
    moments = [datetime.combine(date.min, hour) for hour in wanted]
    if any(after - before < _LEAST_APART for before, after in pairwise(moments)):
        raise BadValue("Rounds: leave at least an hour between two of them.", where="rounds")
    said = ", ".join(f"{hour:%H:%M}" for hour in wanted)
    note(act, _ROUNDS, f"Cold checks at {said} from tomorrow", reason,
         values=[hour.isoformat() for hour in wanted])  # fmt: skip


def steps_of(conn: Connection) -> tuple[tuple[str, ...], bool]:
    """Return the steps for a reading over its limit, and whether they are the shop's own."""
    own = _notes(conn, _STEPS)
    return (tuple(own[-1][1]), True) if own else (USUAL_STEPS, False)


def set_steps(act: Act, steps: Sequence[str], why: str) -> None:
    """Write the shop's own steps for a reading over its limit.

    Raises
    ------
    BadValue
        If there is none, there are over eight, or one is over 200 characters.
    """
    reason = words_in(why, "Why", 200, where="why")
    if not 1 <= len(steps) <= _MOST_STEPS:
        raise BadValue(f"Steps: write 1 to {_MOST_STEPS}, one on each line.", where="steps")
    read = [words_in(step, "Steps", 200, where="steps") for step in steps]
    note(act, _STEPS, f"The steps for a reading over its limit were written: {len(read)}", reason,
         values=read)  # fmt: skip
