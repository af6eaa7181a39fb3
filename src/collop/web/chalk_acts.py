"""What changes the board: putting prices up, and putting the former ones up again."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING
from uuid import uuid4

from collop.errors import BadValue, ShopError
from collop.shop import NewPrice
from collop.web.chalk_form import Change, put_fault
from collop.web.chalk_past import TAKEN_BACK, LastChange, stood
from collop.web.forms import Faults, Fields

if TYPE_CHECKING:
    from collop.web.room import Room

__all__ = ["key_of", "put_up", "take_back", "withdraw"]

_FIELDS = ("why", "by", "from_time")
_ALREADY = "Nothing can be taken back: the last change is more than an hour old."
_BACK = "The last change was taken back already; the former prices stand."
_NOT_AHEAD = "That price is not planned any more; look at the prices of the line again."
_OTHER = "The board changed since this page was shown; look again before taking anything back."


def key_of(fields: Fields) -> str:
    """Return the key made when the page was shown; a form without one is sent once."""
    return fields.one("key")[:64] or uuid4().hex


def put_up(
    room: Room, new: Sequence[NewPrice], change: Change, fields: Fields, faults: Faults, *,
    where: Mapping[str, str],
) -> str:  # fmt: skip
    """Put prices on the board, all or none.

    Parameters
    ----------
    room : Room
        The shop behind the page.
    new : sequence of NewPrice
        At least one.
    change : Change
        Who, why and from when.
    fields : Fields
        The form; its key makes a second sending harmless.
    faults : Faults
        Takes what a person can put right, beside its field.
    where : mapping of str to str
        By case line, the field of its price.

    Returns
    -------
    str
        What nobody can put right on this form; empty if there is no such thing.
    """
    put_fault(room.shop.chalk.guards(new, change.from_at), change.why, where, faults)
    if faults:
        return ""
    try:
        room.shop.chalk.put(
            new, by=change.by, why=change.why, key=key_of(fields), from_at=change.from_at
        )
    except BadValue as error:
        faults.add(error.where if error.where in _FIELDS else "why", error.message)
    except ShopError as error:
        return error.message
    return ""


def take_back(room: Room, last: LastChange | None, fields: Fields, *, by: str) -> str:
    """Put the former prices up again, from the time the change had or has; return what hinders.

    Parameters
    ----------
    room : Room
        The shop behind the page.
    last : LastChange or None
        The last change as it stands now.
    fields : Fields
        The form; ``last`` tells which change its page showed.
    by : str
        Who takes it back.
    """
    if last is not None and last.is_taken_back:
        return _BACK
    if last is None or not last.can_undo:
        return _ALREADY
    if fields.one("last") != last.entered_at.isoformat():
        return _OTHER
    former = [NewPrice(line.case_id, line.was) for line in last.lines if line.was is not None]
    # a change still ahead is replaced from its own time; one in force ends now
    from_at = last.from_at if last.from_at > room.now() else None
    try:
        room.shop.chalk.put(
            former, by=by, why=f"{TAKEN_BACK}: {last.why}"[:200], key=key_of(fields),
            from_at=from_at,
        )  # fmt: skip
    except (BadValue, ShopError) as error:
        return error.message
    return ""


def withdraw(room: Room, case_id: str, fields: Fields, *, by: str) -> str:
    """Leave the board at a planned price's time as it is just before it; return what hinders.

    The plan stays in the history, followed by the entry that takes it back from the same time.

    Parameters
    ----------
    room : Room
        The shop behind the page.
    case_id : str
        A line of the board.
    fields : Fields
        ``withdraw`` is the `Stood.mark` of the plan; ``why`` may say more than the plan's reason.
    by : str
        Who takes it back.
    """
    past = stood(room.shop.chalk.history(case_id), room.now())
    mark = fields.one("withdraw")
    plan = next((one for one in past if one.mark == mark and one.can_withdraw), None)
    if plan is None or plan.before is None:
        return _NOT_AHEAD
    why = f"{TAKEN_BACK}: {fields.one('why') or plan.change.why}".rstrip(": ")
    try:
        room.shop.chalk.put(
            [NewPrice(case_id, plan.before)], by=by, why=why[:200], key=key_of(fields),
            from_at=plan.change.from_at,
        )  # fmt: skip
    except (BadValue, ShopError) as error:
        return error.message
    return ""
