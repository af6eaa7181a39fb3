"""What the shop learns from its orders, its knife and its glass; slowly, and shown."""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal
from typing import Any

from sqlalchemy.engine import Connection

from collop.chalk.pace import pace
from collop.measures import Weight
from collop.shop.acts import Act, Room, once
from collop.shop.hook import bookings_between
from collop.shop.learning_cuts import (
    learned_cut,
    load_tests,
    note_test,
    standing_tests,
    take_test_back,
)
from collop.shop.learning_model import (
    CuttingTest,
    Fed,
    Feedback,
    LearnedCut,
    LearnedPace,
    NewFeedback,
)
from collop.shop.learning_orders import (
    appetite_problem,
    is_one_meal,
    learned_appetite,
    load_feedback,
    meals_of,
    needed_meals,
    note_feedback,
)
from collop.shop.learning_pace import pace_problem, seen_pace
from collop.shop.model import Booking, State
from collop.shop.quotes import number_in
from collop.shop.sales import line_of, lines_of
from collop.shop.settings import load_settings
from collop.shop.weekday_sales import WeekdaySales, weekday_sales

__all__ = ["LearningRoom"]


class LearningRoom:
    """Appetites, boneless shares and paces of sale. Reached as `Shop.learning`.

    Every write takes the person `by` and an idempotency `key`, as all of `Shop`'s do.

    Parameters
    ----------
    room : Room
        Database and clock.
    """

    def __init__(self, room: Room) -> None:
        self._room = room

    def tell(self, booking_id: str, new: NewFeedback, *, by: str, key: str) -> Feedback:
        """Write how an order ate; see `collop.shop.learning_orders.note_feedback`."""
        number = number_in("H", booking_id, "booking")

        def work(act: Act) -> str:
            note_feedback(act, number, new)
            return booking_id

        once(self._room, "how it ate", [number, new], by=by, key=key, work=work)
        with self._room.store.read() as conn:
            return load_feedback(conn, number)[0]

    def told(self, booking_id: str | None = None) -> tuple[Feedback, ...]:
        """Return how orders ate, newest first; of one order if it is named."""
        number = None if booking_id is None else number_in("H", booking_id, "booking")
        with self._room.store.read() as conn:
            return load_feedback(conn, number)

    def waiting(self, since: date) -> tuple[Booking, ...]:
        """Return the orders collected since then that went and may be told, and were not yet.

        Only those are meant that name their heads and were food for one meal of so many.
        """
        # some are fetched before the day they were booked for
        until = self._room.clock.now().date() + timedelta(days=14)
        with self._room.store.read() as conn:
            chosen = load_settings(conn)
            told = {one.booking_id for one in load_feedback(conn)}
            gone = [
                one
                for one in bookings_between(conn, since, until, chosen)
                if one.state is State.GONE and one.kind == "order" and one.heads
                and one.id not in told
            ]  # fmt: skip
            return tuple(
                one for one in gone
                if is_one_meal(meals_of(conn, number_in("H", one.id, "booking"), chosen),
                               needed_meals(Fed(one.heads or 0)))
            )  # fmt: skip

    def appetite_problem(self) -> dict[str, Any]:
        """Return the ``collop.appetite/1`` problem of all that was told."""
        return appetite_problem(self.told())

    def appetite(self) -> dict[str, Any]:
        """Return what the shop's eaters eat against the tables: ``collop.appetite.plan/1``."""
        return dict(learned_appetite(self.told()))

    def test(
        self, case_id: str, before: Weight, after: Weight, *, by: str, key: str, words: str = "",
        lot_id: str | None = None,
    ) -> CuttingTest:  # fmt: skip
        """Write a cutting test; see `collop.shop.learning_cuts.note_test`."""

        def work(act: Act) -> str:
            return str(note_test(act, case_id, (before, after), words=words, lot_id=lot_id))

        request = [case_id, before, after, words, lot_id]
        number = once(self._room, "cutting test", request, by=by, key=key, work=work)
        return next(one for one in self.tests(case_id) if one.number == int(number))

    def take_back(self, number: int, *, by: str, key: str) -> None:
        """Take a cutting test back; a further row undoes it."""

        def work(act: Act) -> str:
            take_test_back(act, number)
            return str(number)

        once(self._room, "take test back", number, by=by, key=key, work=work)

    def tests(self, case_id: str | None = None) -> tuple[CuttingTest, ...]:
        """Return the newest cutting tests, newest first; of one line if it is named."""
        with self._room.store.read() as conn:
            return load_tests(conn, case_id)

    def boneless(self, case_id: str) -> LearnedCut:
        """Return the boneless share of a line, with the shop's own tests in it."""
        with self._room.store.read() as conn:
            line = line_of(conn, case_id, load_settings(conn))
            return learned_cut(line, standing_tests(conn, case_id))

    def cuts(self) -> tuple[LearnedCut, ...]:
        """Return the boneless share of every line that has a cutting test, in board order."""
        with self._room.store.read() as conn:
            tests = standing_tests(conn)
            found = [learned_cut(line, tests) for line in self._lines(conn)]
        return tuple(one for one in found if one.tests)

    def _lines(self, conn: Connection) -> Any:  # noqa: ANN401 -- a view of the case lines
        return lines_of(conn, load_settings(conn)).values()

    def pace(self, case_id: str) -> LearnedPace | None:
        """Return what a line sells on an open day; None if nothing tells."""
        return next((one for one in self.paces() if one.case_id == case_id), None)

    def paces(self) -> tuple[LearnedPace, ...]:
        """Return what every line sells on an open day, in board order."""
        with self._room.store.read() as conn:
            chosen = load_settings(conn)
            seen = seen_pace(conn, self._room.clock.now().date(), chosen)
        problems = {case_id: pace_problem(seen, case_id, chosen) for case_id in seen.lines}
        return tuple(
            LearnedPace(case_id, problem["name"], pace(problem))
            for case_id, problem in problems.items()
            if problem["usual"] is not None or problem["days"]
        )

    def weekdays(self, case_id: str | None = None) -> tuple[WeekdaySales, ...]:
        """Return what sells on each day of the week, of one line or of all; nothing without a sale.

        Raises
        ------
        NotFound
            If there is no such line.
        """
        with self._room.store.read() as conn:
            chosen = load_settings(conn)
            if case_id is not None:
                line_of(conn, case_id, chosen)
            return weekday_sales(conn, self._room.clock.now().date(), chosen, case_id)

    def factor(self) -> Decimal:
        """Return what the counter multiplies portions by: 1 until enough orders were told."""
        return Decimal(str(self.appetite()["used"]))
