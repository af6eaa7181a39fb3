"""The board as a plan: exact prices, prices on endings, and what pulling one price does.

The weights are closed first, then the equation is solved (`equation`), its prices are put on the
shop's endings (`endings`), and each pull is answered (`pulls`).
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import ceil, floor
from typing import Any

from collop.chalk.endings import NEAR, Grid, Spot, on_endings, step_on_smallest
from collop.chalk.equation import Solved, brought, solve_board
from collop.chalk.equation_board import Board, BoardCut, EndingRule
from collop.chalk.equation_reading import read_board
from collop.chalk.equation_words import Texts, number
from collop.chalk.pulls import Pulling
from collop.errors import Contradiction

__all__ = ["PLAN_ID", "chalk", "put_on_endings"]

PLAN_ID = "collop.chalk.plan/1"
#: A remainder is taken as cutting loss up to this part of the start; more is a part left out.
MOST_LOSS = Fraction(15, 100)


@dataclass(frozen=True, slots=True)
class _Closing:
    """Whether the weights close: loss and gap [unit], and what was assumed."""

    closes: bool | None = None
    loss: Fraction | None = None
    gap: Fraction | None = None
    note: str = ""


def chalk(problem: object) -> dict[str, Any]:
    """Work out the prices that bring an animal's cost and margin; see `docs/chalk.md`.

    Parameters
    ----------
    problem : object
        The ``collop.chalk/1`` object.

    Returns
    -------
    dict
        The ``collop.chalk.plan/1`` object: money and weights as decimal texts, shares and ratios
        as numbers.

    Raises
    ------
    ProblemError
        If the problem cannot be read, or the weights do not close.
    """
    board = read_board(problem)
    texts = Texts(board.currency, board.rounding)
    closing = _closing(board, texts)
    solved = solve_board(board.cuts, board.needed)
    grid = _grid(board.endings, texts.units)
    prices, step, odd = put_on_endings(board.cuts, solved, grid, texts.units)
    revenue = brought(board.cuts, prices)
    short = max(board.needed - revenue, Fraction(0))
    pulling = Pulling(board.cuts, solved, prices, grid, texts, unit=board.unit)
    notes = [*board.notes, closing.note, *_solved_notes(board, solved, texts),
             *_ending_notes(board, odd, revenue, step=step, texts=texts),
             *_far_notes(board, solved, prices, Fraction(grid.gap, texts.units), texts),
             *_present_notes(board)]  # fmt: skip
    return {
        **_head(board, texts),
        "base": None if solved.base is None else texts.exact(solved.base),
        "cuts": [
            _cut_json(cut, exact, price, why, texts)
            for cut, exact, price, why in zip(
                board.cuts, solved.prices, prices, solved.whys, strict=True
            )
        ],
        "revenue": texts.money(revenue),
        "margin": _margin(revenue, board.net_cost),
        "over": texts.price(max(revenue - board.needed, Fraction(0))),
        "step_on_smallest": None if step is None else texts.price(step),
        "reached": not short,
        "short_by": texts.money(short) if short else None,
        "closes": closing.closes,
        "loss_weight": None if closing.loss is None else texts.weight(closing.loss),
        "gap_weight": None if closing.gap is None else texts.weight(closing.gap),
        "present": _present(board, texts),
        "earned": _earned(board, prices, texts),
        "pulls": [pulling.answer(asked) for asked in board.pulls],
        "assumptions": [note for note in notes if note],
    }


def _head(board: Board, texts: Texts) -> dict[str, Any]:
    return {
        "schema": PLAN_ID,
        "name": board.name,
        "currency": board.currency,
        "unit": board.unit,
        "cost": texts.money(board.cost),
        "credit_value": texts.money(board.credit_value),
        "needed": texts.money(board.needed),
    }


def _closing(board: Board, texts: Texts) -> _Closing:
    """Hold the parts against the weight before cutting; refuse what does not close."""
    if board.start is None:
        return _Closing(loss=board.loss)
    parts = sum((cut.weight for cut in board.cuts), Fraction(0))
    parts += sum((credit.weight for credit in board.credits), Fraction(0))
    rest = board.start - parts
    if board.loss is not None:
        gap = rest - board.loss
        if abs(gap) > board.tolerance:
            raise _open(board, gap, texts)
        return _Closing(closes=True, loss=board.loss, gap=gap)
    if rest < -board.tolerance or rest > MOST_LOSS * board.start:
        raise _open(board, rest, texts)
    loss = max(rest, Fraction(0))
    note = (
        f"{texts.weight(loss, 3)} {board.unit} that no part accounts for is taken as cutting loss."
    )
    return _Closing(closes=True, loss=loss, gap=rest - loss, note=note if loss else "")


def _open(board: Board, gap: Fraction, texts: Texts) -> Contradiction:
    size = f"{texts.weight(abs(gap), 3)} {board.unit}"
    share = f"{number(abs(gap) / (board.start or 1) * 100, 1):g} %"
    if gap > 0:
        say = f"{size} ({share}) of it is in no part: weigh the cut, bone, fat or loss left out."
    else:
        say = f"The parts weigh {size} ({share}) more than the start: weigh them again."
    return Contradiction(f"$.start_weight does not close. {say}", where="$.start_weight")


def _grid(rule: EndingRule, units: int) -> Grid:
    return Grid(units, rule.ends) if rule.ends else Grid(rule.step)


def put_on_endings(
    cuts: Sequence[BoardCut], solved: Solved, grid: Grid, units: int
) -> tuple[tuple[Fraction, ...], Fraction | None, tuple[BoardCut, ...]]:
    """Put the exact prices of a board on endings.

    Parameters
    ----------
    cuts : sequence of BoardCut
        All cuts; a fixed price stays as it is.
    solved : Solved
        Their exact prices [money/unit].
    grid : Grid
        The endings [minor units].
    units : int
        Minor units of one unit of money.

    Returns
    -------
    tuple of Fraction, Fraction or None, tuple of BoardCut
        Prices [money/unit]; the largest step times the smallest free selling weight [money]; cuts
        with no ending between floor and cap, whose price keeps the minor unit only.
    """
    spots: list[Spot] = []
    where: list[int] = []
    odd: list[BoardCut] = []
    prices = list(solved.prices)
    carry: list[int] = []
    for index, (cut, why) in enumerate(zip(cuts, solved.whys, strict=True)):
        if why == "fixed":
            continue
        low = grid.up(ceil(cut.floor * units))
        high = None if cut.cap is None else grid.down(floor(cut.cap * units))
        if high is not None and low > high:
            odd.append(cut)
            prices[index] = Fraction(_between(cut, solved.prices[index], units), units)
            carry.append(index)
            continue
        exact = solved.prices[index] * units
        spots.append(Spot(key=cut.cut_id, exact=exact, sells=cut.sells, low=low, high=high,
                          free=why == "free"))  # fmt: skip
        where.append(index)
    for index, price in zip(where, on_endings(spots, grid), strict=True):
        prices[index] = Fraction(price, units)
    step = step_on_smallest(spots, grid)
    return tuple(prices), None if step is None else step / units, tuple(odd)


def _between(cut: BoardCut, exact: Fraction, units: int) -> int:
    """Return the minor units next above the exact price, under the cap if that has none."""
    price = ceil(exact * units)
    return price if cut.cap is None or price <= cut.cap * units else floor(exact * units)


def _cut_json(
    cut: BoardCut, exact: Fraction, price: Fraction, why: str, texts: Texts
) -> dict[str, Any]:
    change = None if cut.present is None else price - cut.present
    return {
        "id": cut.cut_id,
        "name": cut.name,
        "weight": texts.weight(cut.weight),
        "sells": texts.weight(cut.sells),
        "relative": number(cut.relative) if cut.relative else None,
        "exact": texts.exact(exact),
        "price": texts.price(price),
        "why": why,
        "present": None if cut.present is None else texts.price(cut.present),
        "change": None if change is None else texts.price(change),
        "revenue": texts.money(price * cut.sells),
        "sold": None if cut.sold is None else texts.weight(cut.sold),
        "sold_share": None if cut.sold is None else number(cut.sold / cut.weight, 4),
    }


def _margin(revenue: Fraction, net_cost: Fraction) -> float | None:
    return number((revenue - net_cost) / revenue, 6) if revenue else None


def _present(board: Board, texts: Texts) -> dict[str, Any] | None:
    """Return what the present prices bring; None if a cut has none."""
    prices = [cut.fixed if cut.present is None else cut.present for cut in board.cuts]
    known = [price for price in prices if price is not None]
    if len(known) < len(prices):
        return None
    revenue = brought(board.cuts, known)
    short = board.needed - revenue
    return {
        "revenue": texts.money(revenue),
        "margin": _margin(revenue, board.net_cost),
        "short_by": texts.money(short) if short > 0 else None,
    }


def _earned(board: Board, prices: Sequence[Fraction], texts: Texts) -> str | None:
    """Return what was sold so far at present prices (at the new one where there is none)."""
    if all(cut.sold is None for cut in board.cuts):
        return None
    pairs = zip(board.cuts, prices, strict=True)
    amounts = (
        (cut.sold or 0) * (price if cut.present is None else cut.present) for cut, price in pairs
    )
    return texts.money(sum(amounts, Fraction(0)))


def _solved_notes(board: Board, solved: Solved, texts: Texts) -> Iterator[str]:
    if board.credits:
        yield "By-products are taken off the cost at their value; the cuts carry the rest."
    more = solved.revenue - board.needed
    if not solved.reached:
        yield (
            f"The caps and fixed prices bring {texts.money(-more)} less than is needed; every free "
            "cut is at its cap."
        )
    elif more:
        yield (
            f"The fixed prices and floors bring {texts.money(more)} more than is needed; free cuts "
            "are at their floor, and as low as an ending goes where they have none."
        )


def _ending_notes(
    board: Board, odd: tuple[BoardCut, ...], revenue: Fraction, *, step: Fraction | None,
    texts: Texts,
) -> Iterator[str]:  # fmt: skip
    for cut in odd:
        yield f"{cut.name} has no ending between its floor and its cap; its price is left between."
    over = revenue - board.needed
    if step is not None and over >= step:
        yield (
            f"Floors, caps, fixed prices or the lowest ending leave {texts.money(over)} over what "
            "is needed, more than one step on the smallest cut."
        )


def _far_notes(
    board: Board, solved: Solved, prices: Sequence[Fraction], gap: Fraction, texts: Texts
) -> Iterator[str]:
    """Yield the cuts that no search could keep near their exact price."""
    for cut, exact, price, why in zip(board.cuts, solved.prices, prices, solved.whys, strict=True):
        if why == "free" and abs(price - exact) > max(gap, NEAR * exact):
            size = texts.money(abs(price - exact))
            yield (
                f"{cut.name} stands {size} from its exact price: these weights and endings leave "
                "no nearer board that keeps the target as closely."
            )


def _present_notes(board: Board) -> Iterator[str]:
    fixed = [cut for cut in board.cuts if cut.present is None and cut.fixed is not None]
    if fixed and len(fixed) < len(board.cuts):
        yield "A fixed price without a present one counts as the present one."
    heavy = [cut.name for cut in board.cuts if (cut.sold or 0) > cut.weight]
    if heavy:
        yield f"More of {heavy[0]} was sold than was cut; check what was weighed."
