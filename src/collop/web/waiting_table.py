"""What may wait on a device while the server is away, and what may not: one table, with why.

What has happened already may wait: goods over the glass, money in the drawer, a reading of a
thermometer, a weight on the scale. What has to be worked out or looked up first may not.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass, field
from typing import Any

__all__ = ["ALWAYS_KEPT", "CANNOT_WAIT", "MAY_WAIT", "CannotWait", "MayWait", "rules_for_device"]


@dataclass(frozen=True, slots=True, kw_only=True)
class MayWait:
    """A form that a device may keep and send later.

    Parameters
    ----------
    path : str
        Regular expression of its whole address, without query.
    title : str
        What such forms are called in the list.
    words : str
        What it is, for a person: ``{name}`` is a field of the form, ``{#name}`` how many of it
        there are, ``{1}`` the first group of `path`.
    why : str
        Why it may wait.
    having : mapping of str to str
        Fields it must have, each with a regular expression of the whole text.
    caution : str
        What has to be said when it is kept.
    """

    path: str
    title: str
    words: str
    why: str
    having: Mapping[str, str] = field(default_factory=dict)
    caution: str = ""


@dataclass(frozen=True, slots=True)
class CannotWait:
    """Forms that need the server at once: the beginning of their addresses, a title, and why."""

    path: str
    title: str
    why: str


_NO_PRICE = "If a price or a tax was changed meanwhile, it comes back to a person."
MAY_WAIT = (
    MayWait(
        path="/sell",
        title="Sale at the glass",
        having={"way": ".+"},
        words="Sale at the glass: {#line} lines, {total} {way}",
        why="the goods are over the glass and the money is in the drawer",
        caution="Its number follows. If something of it was sold elsewhere meanwhile, or comes "
        "to another total, it comes back to a person.",
    ),
    MayWait(
        path="/sell/([^/]+)/money",
        title="Money noted",
        words="Money noted for {1}: {what} {amount} {way}",
        why="the money has changed hands",
    ),
    MayWait(
        path="/hook/([^/]+)/hand-over",
        title="Hand-over with its weights",
        having={"do": "hand-over"},
        words="Hand-over of {1}",
        why="the customer has gone with it",
        caution=_NO_PRICE,
    ),
    MayWait(
        path="/hook/([^/]+)/state",
        title="A booking marked cut or packed",
        words="{1} marked {state}",
        why="the work is done",
    ),
    MayWait(
        path="/daybook/cold",
        title="Cold check",
        words="Cold check: {place} {reading} {degrees}",
        why="a reading is of its moment",
    ),
    MayWait(
        path="/daybook/probe",
        title="Thermometer checked",
        words="Thermometer checked: {name} {reading}",
        why="a reading is of its moment",
    ),
    MayWait(
        path="/daybook/receive",
        title="Box at the door",
        words="Box at the door: {what} {temperature}",
        why="a reading is of its moment, and the box is in",
    ),
    MayWait(
        path="/daybook/scale",
        title="Scale checked",
        words="Scale checked: {name} {reading}",
        why="a reading is of its moment",
    ),
    MayWait(path="/daybook/clean", title="Clean-down", words="Clean-down", why="the work is done"),
    MayWait(
        path="/knife/([0-9]+)",
        title="A part weighed at the knife",
        having={"part": ".+"},
        words="Knife, piece {1}: a part of {weight} {unit}",
        why="the part is off the scale",
    ),
    MayWait(
        path="/bench/done",
        title="A line of the bench done",
        words="Bench: {line} done, {weight} {unit}",
        why="the work is done and weighed",
    ),
    MayWait(
        path="/bench/clean",
        title="Clean-down of the bench",
        words="Bench: clean-down",
        why="the work is done",
    ),
    MayWait(
        path="/put-away",
        title="Put away",
        words="Put away: {lot} {do} {weight}",
        why="it lies where it was put",
    ),
    MayWait(
        path="/put-away/count",
        title="Count of a line",
        words="Count of {case_id}: {counted}",
        why="a count is of its moment",
    ),
    MayWait(
        path="/lockup/line/([^/]+)/count",
        title="Count at lock-up",
        words="Lock-up count of {1}: {counted}",
        why="a count is of its moment",
    ),
    MayWait(
        path="/free-by/book",
        title="A booking, as a wish",
        words="Wish of {name} for {day} {time}",
        why="it is a wish until the server is back, and is told as one",
        caution="Nothing is booked yet: it is a wish. If it is not free any more when the "
        "server is back, it comes back to a person; tell the customer so.",
    ),
)
#: Looked at from above; the last is for all the rest.
CANNOT_WAIT = (
    CannotWait("/ask", "Ask", "a spread is worked out from what is free now"),
    CannotWait("/bench/plan", "Cutting plan", "a cutting plan is worked out from what hangs now"),
    CannotWait("/farm", "Farm orders", "orders to farms are worked out from what hangs now"),
    CannotWait("/free-by", "Free by", "what may be promised is worked out from what is free now"),
    CannotWait("/chalk", "Prices", "prices are changed for every counter at once"),
    CannotWait(
        "/case/",
        "Lines and mark-downs of the case",
        "prices and lines are changed for every counter at once",
    ),
    CannotWait("/people", "People", "who may come in is decided by the server alone"),
    CannotWait("/sign-", "Sign-in", "who may come in is decided by the server alone"),
    CannotWait("/first-run", "First run", "who may come in is decided by the server alone"),
    CannotWait(
        "/exchange",
        "Lists in and out",
        "lists are looked through before anything of them is taken in",
    ),
    CannotWait("/papers", "Paper keyed back", "paper is written in whole, or not at all"),
    CannotWait("/rules", "Choices of rules", "settings are changed for every counter at once"),
    CannotWait("/device", "Units of this device", "it needs the server"),
    CannotWait("/keeping", "Copies of the shop", "a copy is made by the server"),
    CannotWait("/tickets", "Tickets", "numbers of tickets are given by the server, each once"),
    CannotWait(
        "/sell/", "Goods back over the glass", "what comes back is looked up on its slip first"
    ),
    CannotWait("/lockup", "Locking up", "a day is closed with all that was written in it"),
    CannotWait("/", "All the rest", "it needs what is free, or what stands, at this moment"),
)
#: Pages every device keeps, even if nobody opened them there.
ALWAYS_KEPT = ("/waiting", "/sell", "/hook", "/case", "/daybook", "/daybook/cold")


def rules_for_device() -> dict[str, Any]:
    """Return the table as the offline script reads it, JSON."""
    return {"may": [asdict(one) for one in MAY_WAIT], "not": [asdict(one) for one in CANNOT_WAIT]}
