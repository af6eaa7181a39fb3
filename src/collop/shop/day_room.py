"""The Day Book: what was read, cleaned and received, what is due, and what is missing."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import date, datetime, time, timedelta

from sqlalchemy.engine import Connection

from collop.errors import NotFound
from collop.measures import Temperature, Weight
from collop.shop import clean_downs, day_checks, day_cooling, day_due, day_places
from collop.shop.acts import Act, Room, once
from collop.shop.bench_list_model import CleanDue
from collop.shop.day_checks_lines import day_lines, one_line
from collop.shop.day_clean import clean_tile
from collop.shop.day_cold import hours_of, load_cold
from collop.shop.day_cooling import Warm
from collop.shop.day_gaps import all_gaps, checked_day
from collop.shop.day_mince import load_mince, mince_tile
from collop.shop.day_model import (
    Arrival,
    CleanDown,
    DayLine,
    DayPage,
    DayTile,
    InspectorBook,
    Place,
    Told,
)
from collop.shop.day_notes import write_note
from collop.shop.day_print import inspector_book
from collop.shop.day_writing import OLDEST_ENTRY, line_number
from collop.shop.making_model import Making
from collop.shop.model import Settings
from collop.shop.settings import load_settings

__all__ = ["DayRoom"]

_NOTHING = Told()


class DayRoom:
    """The Day Book. Reached as `Shop.day`.

    Every write takes the person `by` and an idempotency `key`, as all of `Shop`'s do. Nothing is
    edited: a line that was wrong is corrected by a further one. Safe to share between threads.

    Parameters
    ----------
    room : Room
        Database and clock.
    """

    def __init__(self, room: Room) -> None:
        self._room = room

    # what is read

    def places(self) -> tuple[Place, ...]:
        """Return the places that are read."""
        with self._room.store.read() as conn:
            return tuple(day_places.load_places(conn).read_now())

    def rounds(self, day: date | None = None) -> tuple[time, ...]:
        """Return at which hours cold is read on a day, by default today."""
        day = day or self._room.clock.now().date()
        with self._room.store.read() as conn:
            return hours_of(day_places.rounds_of(conn, load_settings(conn)), day)

    def steps(self) -> tuple[tuple[str, ...], bool]:
        """Return the steps for a reading over its limit, and whether they are the shop's own."""
        with self._room.store.read() as conn:
            return day_places.steps_of(conn)

    def set_place(
        self, place_id: str | None, name: str, *, kind: str, limit: Temperature, why: str, by: str,
        key: str,
    ) -> Place:  # fmt: skip
        """Name a place or change it; see `collop.shop.day_places.set_place`."""
        request = [place_id, name, kind, limit.count, why]
        found = self._once("cold place", request, by, key, lambda act: day_places.set_place(
            act, place_id, name, kind=kind, limit=limit, why=why))  # fmt: skip
        with self._room.store.read() as conn:
            return day_places.load_places(conn).places[found]

    def retire_place(self, place_id: str, *, why: str, by: str, key: str) -> None:
        """Read a place no more; what stands in the book of it stays."""

        def work(act: Act) -> str:
            day_places.retire_place(act, place_id, why)
            return place_id

        self._once("cold place retired", [place_id, why], by, key, work)

    def set_rounds(self, hours: Sequence[time], *, why: str, by: str, key: str) -> None:
        """Set at which hours cold is read; see `collop.shop.day_places.set_rounds`."""

        def work(act: Act) -> str:
            day_places.set_rounds(act, hours, why)
            return "rounds"

        self._once("rounds", [[hour.isoformat() for hour in hours], why], by, key, work)

    def set_steps(self, steps: Sequence[str], *, why: str, by: str, key: str) -> None:
        """Write the steps for a reading over its limit; see `set_steps` of `day_places`."""

        def work(act: Act) -> str:
            day_places.set_steps(act, steps, why)
            return "steps"

        self._once("steps", [list(steps), why], by, key, work)

    # what is written

    def check_cold(
        self, place_id: str, reading: Temperature, *, by: str, key: str, told: Told = _NOTHING,
        done_at: datetime | None = None, corrects: int | None = None,
    ) -> DayLine:  # fmt: skip
        """Write what a place was read at; see `collop.shop.day_checks.check_cold`."""
        return self._line("cold check", [place_id, reading.count, told, done_at, corrects], by, key,
                          lambda act: day_checks.check_cold(
            act, place_id, reading, told, done_at=done_at, corrects=corrects))  # fmt: skip

    def check_probe(
        self, name: str, reading: Temperature, *, by: str, key: str, told: Told = _NOTHING,
        done_at: datetime | None = None, corrects: int | None = None,
    ) -> DayLine:  # fmt: skip
        """Write what a thermometer said in melting ice; see `day_checks.check_probe`."""
        return self._line("probe check", [name, reading.count, told, done_at, corrects], by, key,
                          lambda act: day_checks.check_probe(
            act, name, reading, told, done_at=done_at, corrects=corrects))  # fmt: skip

    def check_scale(
        self, name: str, weights: tuple[Weight, Weight, Weight], *, by: str, key: str,
        told: Told = _NOTHING, done_at: datetime | None = None, corrects: int | None = None,
    ) -> DayLine:  # fmt: skip
        """Write what a scale said of a test weight; see `day_checks.check_scale`."""
        request = [name, list(weights), told, done_at, corrects]
        return self._line("scale check", request, by, key, lambda act: day_checks.check_scale(
            act, name, weights, told, done_at=done_at, corrects=corrects))  # fmt: skip

    def receive(
        self, box: Arrival, *, by: str, key: str, told: Told = _NOTHING,
        done_at: datetime | None = None, corrects: int | None = None,
    ) -> DayLine:  # fmt: skip
        """Write a box at the door that is no animal; see `day_checks.check_arrival`."""
        return self._line("receive check", [box, told, done_at, corrects], by, key,
                          lambda act: day_checks.check_arrival(
            act, box, told, done_at=done_at, corrects=corrects))  # fmt: skip

    def check_cooled(
        self, tag: str, reading: Temperature, *, by: str, key: str, told: Told = _NOTHING,
        done_at: datetime | None = None, corrects: int | None = None,
    ) -> DayLine:  # fmt: skip
        """Write what an animal that came warm was read at; see `day_cooling.check_cooled`."""
        request = [tag, reading.count, told, done_at, corrects]
        return self._line("cooling check", request, by, key, lambda act: day_cooling.check_cooled(
            act, tag, reading, told, done_at=done_at, corrects=corrects))  # fmt: skip

    def to_cool(self) -> tuple[Warm, ...]:
        """Return the animals that came warm in the last week and are not known to be cold."""
        now = self._room.clock.now()
        with self._room.store.read() as conn:
            found = day_cooling.load_warm(conn, now - OLDEST_ENTRY, now + OLDEST_ENTRY)
        return tuple(day_cooling.to_cool(found))

    def note(
        self, text: str, *, by: str, key: str, line: str = "", done_at: datetime | None = None
    ) -> DayLine:
        """Write a word, by itself or on a line; see `collop.shop.day_notes.write_note`."""
        return self._line("word in the book", [text, line, done_at], by, key,
                          lambda act: write_note(act, text, line, done_at=done_at))  # fmt: skip

    def take_back(self, line_id: str, *, why: str, by: str, key: str) -> DayLine:
        """Write that a line was never so; both stay. See `day_checks.take_back`."""
        number = line_number(line_id)
        return self._line("line taken back", [number, why], by, key,
                          lambda act: day_checks.take_back(act, number, why))  # fmt: skip

    def clean_down(
        self, what: str = clean_downs.ROOM, *, by: str, key: str,
        room: Temperature | None = None, words: str = "", done_at: datetime | None = None,
    ) -> CleanDue:  # fmt: skip
        """Put down a clean-down; see `collop.shop.clean_downs.clean_down`."""

        def work(act: Act) -> str:
            clean_downs.clean_down(act, what, done_at=done_at, room=room, words=words)
            return what

        self._once("clean-down", [what, room, words, done_at], by, key, work)
        return self.clean_due()

    def take_back_clean_down(self, *, by: str, key: str) -> None:
        """Take the last clean-down back within the hour; both stay on record."""

        def work(act: Act) -> str:
            clean_downs.take_back_clean_down(act)
            return "taken back"

        self._once("clean-down back", None, by, key, work)

    # what stands in it

    def line(self, line_id: str) -> DayLine:
        """Return one check by its id, such as ``D12``, or raise `NotFound`."""
        number = line_number(line_id)
        with self._room.store.read() as conn:
            found = one_line(conn, number)
        if found is None:
            raise NotFound(f"There is no line {line_id[:20]!r} in the Day Book.", where="line")
        return found

    def clean_due(self) -> CleanDue:
        """Return when the next clean-down is due."""
        with self._room.store.read() as conn:
            return clean_downs.clean_due(conn, self._room.clock.now(), load_settings(conn))

    def clean_downs(self, since: datetime, until: datetime) -> tuple[CleanDown, ...]:
        """Return the clean-downs that stand, by the time they were done."""
        with self._room.store.read() as conn:
            return clean_downs.standing_clean_downs(conn, since, until)

    def page(self, day: date | None = None) -> DayPage:
        """Return one day of the book, by default today; what is due is told of today alone."""
        now = self._room.clock.now()
        day = checked_day(day or now.date())
        with self._room.store.read() as conn:
            chosen, places = load_settings(conn), day_places.load_places(conn)
            hours = day_places.rounds_of(conn, chosen)
            cold = load_cold(conn, (places, hours), chosen, (day, day), now)
            rounds, mince = cold.rounds(day, day), load_mince(conn, now, chosen)
            begin = datetime.combine(day, time())
            tiles: tuple[DayTile, ...] = ()
            if day == now.date():
                tiles = (day_due.receive_tile(conn, now), day_due.cold_tile(cold, rounds, places),
                         *self._tiles(conn, chosen, mince, now))  # fmt: skip
            return DayPage(
                day=day, at=now, is_open=chosen.is_open(day), tiles=tiles, rounds=tuple(rounds),
                gaps=all_gaps(conn, cold, (day, day), mince),
                over=tuple(cold.over(day, day)),
                lines=tuple(day_lines(conn, begin, begin + timedelta(days=1))),
            )  # fmt: skip

    @staticmethod
    def _tiles(
        conn: Connection, chosen: Settings, mince: Sequence[Making], now: datetime
    ) -> tuple[DayTile, ...]:
        return (
            clean_tile(clean_downs.clean_due(conn, now, chosen), now), mince_tile(mince, now),
            day_due.tool_tile(conn, "scale", "Scale check", now),
            day_due.tool_tile(conn, "probe", "Thermometer check", now),
        )  # fmt: skip

    def inspector(self, first: date, last: date) -> InspectorBook:
        """Return up to 90 days of the book by tile, gaps told; see `inspector_book`."""
        now = self._room.clock.now()
        with self._room.store.read() as conn:
            return inspector_book(conn, (first, last), load_settings(conn), now)

    def _once(
        self, kind: str, request: object, by: str, key: str, work: Callable[[Act], str]
    ) -> str:
        return once(self._room, kind, request, by=by, key=key, work=work)

    def _line(
        self, kind: str, request: object, by: str, key: str, work: Callable[[Act], str]
    ) -> DayLine:
        return self.line(self._once(kind, request, by, key, work))
