"""Closing a break: is the bar full within scale error, and if not, what was likely forgotten."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction

from sqlalchemy import insert

from collop.carcass import Likely, Verdict, weigh_up
from collop.carcass import Part as WeighedPart
from collop.errors import BadValue, WrongState
from collop.measures import Weight, round_fraction
from collop.shop.acts import Act
from collop.shop.breaking import break_row, last_event, load_break, must_be_open
from collop.shop.knife_model import Break
from collop.shop.knife_tables import break_events
from collop.shop.ledger import Pick, move
from collop.shop.model import Settings

__all__ = ["LOSS", "close_break", "judge", "put_back", "reopen_break"]

LOSS = "loss at the block"
# a part of the style that usually is a fiftieth of the piece is not left out without a word
_WORTH_ASKING = Fraction(1, 50)


def _usual_parts(found: Break) -> list[tuple[str, Weight]]:
    """Return the parts of the style with nothing weighed yet, with what they usually weigh."""
    done = {one.part for one in found.parts}
    start, unit = found.start.count, found.start.unit
    return [
        (part.name, Weight(round_fraction(part.share * start), unit))
        for part in found.style.parts
        if part.kind != "loss" and part.name not in done and part.share
    ]


def judge(found: Break, chosen: Settings) -> Verdict:
    """Tell whether the parts and the usual loss fill the start weight, or what is missing.

    Raises
    ------
    BadValue
        If nothing is weighed yet.
    """
    parts = [WeighedPart(one.part, one.weight) for one in found.parts]
    to_come = _usual_parts(found)
    verdict = weigh_up(
        found.start, parts, scale_sd=chosen.scale_step, loss_share=found.style.loss_share,
        usual_parts=to_come,
    )  # fmt: skip
    if verdict.closes or verdict.gap <= Weight.zero() or not to_come:
        return verdict
    return replace(verdict, likely=(_still_to_weigh(to_come), *verdict.likely))


def _still_to_weigh(to_come: Sequence[tuple[str, Weight]]) -> Likely:
    usual = Weight(sum(weight.count for _, weight in to_come), to_come[0][1].unit)
    names = "; ".join(f"{name}, usually {weight.text()}" for name, weight in to_come[:4])
    more = f"; and {len(to_come) - 4} more" if len(to_come) > 4 else ""
    return Likely("unweighed", f"Not weighed yet: {names}{more}.", usual)


def _forgotten(found: Break) -> str:
    """Return a question about parts that usually weigh something and are not weighed yet."""
    least = found.start.count * _WORTH_ASKING
    missing = [(name, w) for name, w in _usual_parts(found) if w.count >= least]
    return _still_to_weigh(missing).sentence if missing else ""


def _refusal(found: Break, verdict: Verdict) -> str:
    likely = " ".join(one.sentence for one in verdict.likely[:3])
    return f"{found.tag} does not close: {found.left.text()} is not weighed. {likely}".strip()


def close_break(act: Act, number: int, *, why: str = "") -> None:
    """Close a break: what is left on the block is its loss.

    Parameters
    ----------
    act : Act
        The write.
    number : int
        The break.
    why : str
        Where the rest went, for a gap beyond scale error and usual loss.

    Raises
    ------
    WrongState
        If the bar is not full within tolerance and no reason is given; the sentence names what
        was most likely forgotten.
    """
    row = break_row(act.conn, number)
    must_be_open(act.conn, row)
    found = load_break(act.conn, number)
    if not found.parts:
        raise WrongState(
            f"Nothing of {row.lot_id} is weighed yet; put the first part on the scale."
        )
    verdict = judge(found, act.settings)
    closes = verdict.closes
    if not closes and not why.strip():
        raise WrongState(_refusal(found, verdict))
    if not why.strip() and (forgotten := _forgotten(found)):
        raise WrongState(
            f"{row.lot_id} is full, but: {forgotten} Was it touched onto another tile? Take that"
            " back, or say why there is none."
        )
    left = Pick(row.lot_id, found.left.count, row.unit)
    move(act, [left], ("block", "drip"), LOSS)
    _note_event(act, number, "closed", left.count, why, closes=closes)


def _note_event(
    act: Act, number: int, what: str, gap: int, why: str, *, closes: bool = False
) -> None:
    act.conn.execute(
        insert(break_events).values(
            break_number=number, what=what, gap=gap, closes=closes, why=why[:200], at=act.at,
            by_id=act.by, key=act.key,
        )
    )  # fmt: skip


def reopen_break(act: Act, number: int, *, why: str) -> None:
    """Open a closed break again: its loss is back on the block.

    Raises
    ------
    WrongState
        If it is open.
    BadValue
        If no reason is given.
    """
    row = break_row(act.conn, number)
    if not why.strip():
        raise BadValue("Say why it is opened again; a word or two will do.", where="why")
    last = last_event(act.conn, number)
    if last is None or last.what == "reopened":
        raise WrongState(f"{row.lot_id} is open already.")
    if last.what == "put back":
        raise WrongState(f"{row.lot_id} was put back on the rail; start it again there.")
    move(act, [Pick(row.lot_id, last.gap, row.unit)], ("drip", "block"), "opened again")
    _note_event(act, number, "reopened", last.gap, why)


def put_back(act: Act, number: int) -> None:
    """Put a piece of which nothing is weighed yet back on the rail.

    Raises
    ------
    WrongState
        If the break is closed, or parts of it are weighed.
    """
    row = break_row(act.conn, number)
    must_be_open(act.conn, row)
    found = load_break(act.conn, number)
    if found.parts:
        raise WrongState(f"Parts of {row.lot_id} are weighed; take them back first.")
    move(act, [Pick(row.lot_id, found.left.count, row.unit)], ("block", "rail"), "back on the rail")
    _note_event(act, number, "put back", 0, "")
