"""The board and its workings: prices, costs, what each piece must bring, and the moves of the day.

Everything here is read from the same ledger as the counter's, in one moment of it.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from datetime import date, datetime, timedelta
from decimal import Decimal
from fractions import Fraction
from threading import Lock
from typing import TYPE_CHECKING, Any

from sqlalchemy import func, select
from sqlalchemy.engine import Connection

from collop.chalk import chalk, clearing, putout, whole
from collop.errors import Contradiction, WrongState
from collop.measures import UnitPrice
from collop.shop.acts import Room
from collop.shop.ageing import CaseView, load_view
from collop.shop.board import board_at, board_changes, board_lines, planned_changes
from collop.shop.board_guard import guards, put_all_on_board
from collop.shop.chalk_animals import Sheet, chalk_animals, chalk_parts, load_sheet
from collop.shop.chalk_model import (
    BoardLine,
    ChalkAnimal,
    ChalkPart,
    LotCost,
    Move,
    NewPrice,
    PriceGuard,
    WeekOfSales,
)
from collop.shop.chalk_problem import SHRINK, Wish, chalk_problem, shrink_of
from collop.shop.chalk_put_out import putout_problem
from collop.shop.chalk_said import guessed_of, mean_notes
from collop.shop.chalk_ways import (
    clearing_notes,
    clearing_problem,
    cuttings,
    unsold_notes,
    whole_problem,
)
from collop.shop.costing import case_costs, lot_costs
from collop.shop.knife_tables import break_events, stock_counts, style_parts, weighings
from collop.shop.model import BoardChange, Settings
from collop.shop.moves import MOST, best_moves
from collop.shop.railing import load_rail
from collop.shop.sales import WEEKS, first_day, line_of, lines_of, sales_by_day, weeks_of
from collop.shop.settings import load_settings
from collop.shop.tables import ledger_entries

if TYPE_CHECKING:
    from collop.shop.knife_model import RailPiece

__all__ = ["ChalkRoom"]

_MOST_KEPT = 64


def _version(conn: Connection) -> tuple[int, ...]:
    """Return numbers that change with every weight, weighing, count and style that is written."""
    newest = (ledger_entries.c.seq, weighings.c.seq, break_events.c.seq, style_parts.c.id,
              stock_counts.c.number)  # fmt: skip
    row = conn.execute(select(*(select(func.max(one)).scalar_subquery() for one in newest))).one()
    return tuple(int(one or 0) for one in row)


class ChalkRoom:
    """The board and how its prices are found. Reached as `Shop.chalk`.

    What does not change while a price is tried (weights, cost, yields) is kept until the ledger
    moves on, so that trying many prices is quick. Safe to share between threads.

    Parameters
    ----------
    room : Room
        Database and clock.
    """

    def __init__(self, room: Room) -> None:
        self._room = room
        self._lock = Lock()
        self._kept: dict[tuple[str, str | None], tuple[tuple[int, ...], Sheet]] = {}
        self._shrink: tuple[tuple[int, ...], dict[str, Fraction]] | None = None

    def _now(self) -> datetime:
        return self._room.clock.now()

    # the board

    def board(self, at: datetime | None = None) -> tuple[BoardLine, ...]:
        """Return the board as customers see it, now or at another moment, in board order."""
        with self._room.store.read() as conn:
            return board_lines(conn, at or self._now(), load_settings(conn), as_of=at is not None)

    def history(self, case_id: str) -> tuple[BoardChange, ...]:
        """Return every price of a line as it was put up, oldest first; `NotFound` if none such."""
        with self._room.store.read() as conn:
            chosen = load_settings(conn)
            line_of(conn, case_id, chosen)
            return board_changes(conn, case_id, chosen.currency)

    def planned(self) -> tuple[BoardChange, ...]:
        """Return the prices that are still to come, soonest first."""
        with self._room.store.read() as conn:
            return planned_changes(conn, load_settings(conn), self._now())

    def guards(
        self, new: Sequence[NewPrice], from_at: datetime | None = None
    ) -> tuple[PriceGuard, ...]:
        """Return why these prices need a reason, as of now or of when they would begin."""
        with self._room.store.read() as conn:
            return guards(conn, new, load_settings(conn), from_at or self._now())

    def put(
        self, new: Sequence[NewPrice], *, by: str, why: str, key: str,
        from_at: datetime | None = None,
    ) -> tuple[BoardChange, ...]:  # fmt: skip
        """Put prices on the board, all or none; see `collop.shop.board_guard.put_all_on_board`."""
        return put_all_on_board(self._room, new, by=by, why=why, key=key, from_at=from_at)

    def mark_down(
        self, case_id: str, price: UnitPrice, *, by: str, why: str, key: str
    ) -> tuple[BoardChange, ...]:
        """Put one price on the board at once, as any other price: guarded, and kept with `why`."""
        return self.put([NewPrice(case_id, price)], by=by, why=why, key=key)

    # what it cost

    def costs(self) -> tuple[LotCost, ...]:
        """Return everything on hand with what it cost, by lot and place."""
        with self._room.store.read() as conn:
            return lot_costs(conn, load_settings(conn))

    def case_costs(self) -> dict[str, UnitPrice]:
        """Return the mean cost of what is on hand, by case line; unknown ones are left out."""
        with self._room.store.read() as conn:
            return case_costs(conn, load_settings(conn))

    # a piece and its board

    def animals(self) -> tuple[ChalkAnimal, ...]:
        """Return what hangs and what was broken in the last 14 days, newest first."""
        with self._room.store.read() as conn:
            return chalk_animals(conn, self._now(), load_settings(conn))

    def _sheet(self, conn: Connection, tag: str, chosen: Settings, style_id: str | None) -> Sheet:
        version, key = _version(conn), (tag, style_id)
        with self._lock:
            kept = self._kept.get(key)
        if kept is not None and kept[0] == version:
            return kept[1]
        sheet = load_sheet(conn, tag, chosen, style_id)
        with self._lock:
            if len(self._kept) >= _MOST_KEPT:
                self._kept.clear()
            self._kept[key] = (version, sheet)
        return sheet

    def _shrinks(self, conn: Connection) -> dict[str, Fraction]:
        version = _version(conn)
        if self._shrink is None or self._shrink[0] != version:
            self._shrink = (version, shrink_of(conn))
        return self._shrink[1]

    def parts(self, tag: str, *, style_id: str | None = None) -> tuple[ChalkPart, ...]:
        """Return the parts of a piece, loss too, adding up to its weight.

        Of one that hangs: expected, as this shop cuts it. Of a broken one: as weighed, and what of
        them was sold; of an open break, what is left as expected.
        """
        with self._room.store.read() as conn:
            chosen = load_settings(conn)
            sheet = self._sheet(conn, tag, chosen, style_id)
            return chalk_parts(sheet, board_at(conn, self._now(), chosen.currency))

    def _problem(
        self, conn: Connection, tag: str, style_id: str | None, wish: Wish
    ) -> tuple[dict[str, Any], tuple[str, ...], Sheet]:
        chosen = load_settings(conn)
        sheet = self._sheet(conn, tag, chosen, style_id)
        board = board_at(conn, self._now(), chosen.currency)
        problem, notes = chalk_problem(
            sheet, wish, board, lines_of(conn, chosen), shrink=self._shrinks(conn), chosen=chosen
        )
        return problem, notes, sheet

    def problem(
        self, tag: str, *, style_id: str | None = None,
        prices: Mapping[str, Decimal] | None = None, fixed: Collection[str] = (),
        relatives: Mapping[str, Decimal] | None = None, margin: Decimal | None = None,
        paid: Decimal | None = None, pulls: Sequence[tuple[str, Decimal]] | None = None,
    ) -> dict[str, Any]:  # fmt: skip
        """Return the ``collop.chalk/1`` problem of a piece.

        Parameters
        ----------
        tag : str
            A piece that hangs or was broken.
        style_id : str, optional
            How a hanging piece would be cut; by default its first style.
        prices : mapping, optional
            Prices tried, per legal unit, by cut id: these stay, the others answer.
        fixed : collection of str
            Cuts that keep the price they have on the board.
        relatives : mapping, optional
            Of cuts, on the scale of board prices; the others stand by their prices.
        margin : Decimal, optional
            Of sales; by default the shop's.
        paid : Decimal, optional
            What the piece cost, with haulage, instead of what its delivery says.
        pulls : sequence of (str, Decimal), optional
            Changes to ask about; by default each cut down by half a unit of money.

        Raises
        ------
        NotFound, WrongState, BadValue
            If it neither hangs nor was broken, nobody knows what it cost, or it gives no such cut.
        """
        wish = Wish(prices or {}, tuple(fixed), relatives or {}, margin, paid, pulls)
        with self._room.store.read() as conn:
            return self._problem(conn, tag, style_id, wish)[0]

    def plan(
        self, tag: str, *, style_id: str | None = None,
        prices: Mapping[str, Decimal] | None = None, fixed: Collection[str] = (),
        relatives: Mapping[str, Decimal] | None = None, margin: Decimal | None = None,
        paid: Decimal | None = None, pulls: Sequence[tuple[str, Decimal]] | None = None,
    ) -> dict[str, Any]:  # fmt: skip
        """Return the board that pays for a piece; what it is asked is told at `problem`.

        Its assumptions say too what the shop took for granted. ``guessed`` tells what of the board
        in force rests on cuts without a price; see `collop.shop.chalk_said.guessed_of`.
        """
        wish = Wish(prices or {}, tuple(fixed), relatives or {}, margin, paid, pulls)
        with self._room.store.read() as conn:
            problem, notes, _ = self._problem(conn, tag, style_id, wish)
        try:
            plan = chalk(problem)
        except Contradiction as error:
            if error.where != "$.credits":
                raise
            raise WrongState(
                f"The by-products of {tag} are worth as much as the whole of it cost; look at what"
                " was paid, and at what they are worth.", where="paid",
            ) from None  # fmt: skip
        return plan | {
            "guessed": guessed_of(problem), "assumptions": [*notes, *plan["assumptions"]],
        }  # fmt: skip

    def _whole(
        self, tag: str, style_id: str | None, price: UnitPrice | None
    ) -> tuple[dict[str, Any], tuple[str, ...]]:
        with self._room.store.read() as conn:
            problem, _, sheet = self._problem(conn, tag, style_id, Wish(paid=Decimal(0)))
            view = self._view(conn, None, *(cut["id"] for cut in problem["cuts"]))
            asked = whole_problem(sheet, problem, view, price, self._rail(conn))
            return asked, mean_notes(problem)

    def whole_problem(
        self, tag: str, *, style_id: str | None = None, price: UnitPrice | None = None
    ) -> dict[str, Any]:
        """Return the ``collop.whole/1`` problem of a piece, by its cuts at the board of now."""
        return self._whole(tag, style_id, price)[0]

    def whole(
        self, tag: str, *, style_id: str | None = None, price: UnitPrice | None = None
    ) -> dict[str, Any]:
        """Return what a piece must bring whole so that it earns as much as cut up."""
        problem, notes = self._whole(tag, style_id, price)
        plan = whole(problem)
        return plan | {"assumptions": [*notes, *plan["assumptions"]]}

    # what sells

    def _view(self, conn: Connection, at: datetime | None = None, *case_ids: str) -> CaseView:
        return load_view(conn, at or self._now(), load_settings(conn), case_ids or None)

    def _rail(self, conn: Connection) -> tuple[RailPiece, ...]:
        return load_rail(conn, self._now(), load_settings(conn))

    def sales(self, case_id: str, weeks: int = WEEKS) -> tuple[WeekOfSales, ...]:
        """Return what a line sold, week by week from the oldest, this week too.

        Raises
        ------
        NotFound
            If there is no such line.
        BadValue
            If `weeks` is not from 1 to 520.
        """
        today: date = self._now().date()
        with self._room.store.read() as conn:
            chosen = load_settings(conn)
            line_of(conn, case_id, chosen)
            found = sales_by_day(
                conn, since=first_day(today, weeks), until=today + timedelta(days=1),
                case_ids=[case_id],
            )  # fmt: skip
            return weeks_of(found.get(case_id, ()), chosen)

    def demand(self, case_id: str) -> dict[str, Any]:
        """Return how a line's sale answers its price, from whole weeks of sales and from print."""
        with self._room.store.read() as conn:
            line_of(conn, case_id, load_settings(conn))
            return self._view(conn, None, case_id).demand(case_id)

    def moves(self, at: datetime | None = None, most: int = MOST) -> tuple[Move, ...]:
        """Return the moves worth most for stock in its last days, best first; none past its day.

        `at` sets the hour and the board; stock is that of now.
        """
        with self._room.store.read() as conn:
            return best_moves(self._view(conn, at), most)

    def _put_out(self, case_id: str) -> tuple[dict[str, Any], tuple[str, ...]]:
        with self._room.store.read() as conn:
            chosen = load_settings(conn)
            line_of(conn, case_id, chosen)
            cost = case_costs(conn, chosen).get(case_id)
            shrink = self._shrinks(conn).get(case_id, SHRINK)
            return putout_problem(self._view(conn, None, case_id), case_id, cost, shrink)

    def put_out_problem(self, case_id: str) -> dict[str, Any]:
        """Return the ``collop.putout/1`` problem of a line, for one day."""
        return self._put_out(case_id)[0]

    def put_out_notes(self, case_id: str) -> tuple[str, ...]:
        """Return what the shop takes for granted in that problem, one sentence each."""
        return self._put_out(case_id)[1]

    def put_out(self, case_id: str) -> dict[str, Any]:
        """Return how much of a line to put out for a day."""
        problem, notes = self._put_out(case_id)
        plan = putout(problem)
        return plan | {"assumptions": [*notes, *plan["assumptions"]]}

    # what hangs

    def _clearing(self, tags: Collection[str] | None) -> tuple[dict[str, Any], tuple[str, ...]]:
        with self._room.store.read() as conn:
            ways = cuttings(conn, tags)
            problem = clearing_problem(self._view(conn), ways)
            return problem, clearing_notes(problem, [way.style for way in ways])

    def clearing_problem(self, tags: Collection[str] | None = None) -> dict[str, Any]:
        """Return the ``collop.clearing/1`` problem of what hangs, or of some tags of it."""
        return self._clearing(tags)[0]

    def clearing_notes(self, tags: Collection[str] | None = None) -> tuple[str, ...]:
        """Return what the shop takes for granted in that problem, one sentence each."""
        return self._clearing(tags)[1]

    def clearing(self, tags: Collection[str] | None = None) -> dict[str, Any]:
        """Return the prices, and the ways to cut, that sell what hangs in a week.

        Of the ways to cut only those in use are told. What no price allowed sells is told among
        the assumptions.
        """
        problem, notes = self._clearing(tags)
        plan = clearing(problem)
        used = [one for one in plan["activities"] if Decimal(one["weight"])]
        assumptions = [*notes, *unsold_notes(plan), *plan["assumptions"]]
        return plan | {"activities": used, "assumptions": assumptions}
