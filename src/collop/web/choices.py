"""The shop's pricing choices: what each means, changing them, and who changed what."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import TYPE_CHECKING, Any
from uuid import uuid4

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from collop.errors import BadValue, CollopError, ShopError
from collop.shop import choice_words as words
from collop.shop.pricing_choices import OF_THE_BENCH, OF_THE_YEAR
from collop.shop.till_choices import CASH_WORDS, PER_WORDS
from collop.web.chalk_acts import key_of
from collop.web.chalk_past import TAKEN_BACK, UNDO_FOR
from collop.web.choices_form import ENDS, ends_of, read_changes, was
from collop.web.forms import Faults, Fields
from collop.web.hook import read_who
from collop.web.rendering import page
from collop.web.room import Posted, Queried, Room, room_of

if TYPE_CHECKING:
    from collop.shop import SettingChange, Settings

__all__ = ["LastAct", "acts_of", "router"]

router = APIRouter()
_HERE = "/chalk/choices"
_MOST_SHOWN = 200
_LONGEST_WHY = 200
_FIELDS = ("why", "by", *(choice.name for choice in words.CHOICES))
_SENT = "These choices were sent already with other figures; look at what stands now."
_NOTHING = "Nothing can be taken back: the last change is more than an hour old."
_OTHER = "The choices changed since this page was shown; look again before taking anything back."


@dataclass(frozen=True, slots=True)
class LastAct:
    """Entries that were made in one act, by one person, at one time, for one reason."""

    entries: tuple[SettingChange, ...]

    @property
    def at(self) -> datetime:
        """Return when it was done."""
        return self.entries[0].at

    @property
    def by(self) -> str | None:
        """Return who did it."""
        return self.entries[0].by

    @property
    def why(self) -> str:
        """Return the reason."""
        return self.entries[0].why

    @property
    def is_taken_back(self) -> bool:
        """Tell whether it was itself the way back."""
        return self.why.startswith(TAKEN_BACK)

    def parts(self) -> list[tuple[str, Any, Any]]:
        """Return name, former and new figure of every choice it changed."""
        return [part for entry in self.entries for part in words.parts_of(entry)]

    def way_back(self) -> dict[str, Any]:
        """Return the changes that put the former figures back; what had none stays."""
        back: dict[str, Any] = {}
        for name, before, _ in self.parts():
            whole, _, part = name.partition(".")
            if before is None:
                continue
            if part:
                back.setdefault(whole, {})[part] = before
            else:
                back[name] = before
        return back


def acts_of(history: Sequence[SettingChange]) -> list[LastAct]:
    """Return the acts a history is made of, the newest first; one changes a setting but once.

    The cutting room's settings and days that were opened or shut are none of prices: left out.
    """
    found: list[list[SettingChange]] = []
    for entry in history:
        if entry.name in OF_THE_BENCH or entry.name in OF_THE_YEAR:
            continue
        act = found[-1] if found else []
        if (
            not act
            or (entry.at, entry.by, entry.why) != (act[0].at, act[0].by, act[0].why)
            or entry.name in {other.name for other in act}
        ):
            found.append([entry])
        else:
            act.append(entry)
    return [LastAct(tuple(act)) for act in reversed(found)]


def _undoable(acts: Sequence[LastAct], now: datetime) -> LastAct | None:
    """Return the newest act if it is no way back and within the hour."""
    if not acts or acts[0].is_taken_back or not _recent(acts[0], now):
        return None
    return acts[0]


def _recent(act: LastAct, now: datetime) -> bool:
    return timedelta(0) <= now - act.at <= UNDO_FOR


@router.get("/chalk/choices", response_class=HTMLResponse)
def show_choices(request: Request, fields: Queried) -> Response:
    """Show every choice with its figure, and what was changed."""
    done = fields.one("done") in {"saved", "undone"}
    return _show(request, Fields([]), Faults(), done=done)


@router.post("/chalk/choices", response_class=HTMLResponse)
def act(request: Request, fields: Posted) -> Response:
    """Save what was changed, or put the last change's former figures back."""
    room, faults = room_of(request), Faults()
    if fields.one("do") == "undo":
        trouble = _undo(room, fields, faults)
        done = "undone"
    else:
        trouble = _save(room, fields, faults)
        done = "saved"
    if trouble or faults:
        return _show(request, fields, faults, status=409 if trouble else 422, trouble=trouble)
    return RedirectResponse(f"{_HERE}?done={done}", status_code=303)


def _save(room: Room, fields: Fields, faults: Faults) -> str:
    """Change what was changed on the form, all or none; return what nobody can put right on it."""
    changes = read_changes(fields, room.shop.settings(), faults)
    why = fields.one("why")[:_LONGEST_WHY]
    if not changes and not faults:
        faults.add(words.CHOICES[0].name, "Nothing is changed yet: write a new figure.")
    if not why:
        faults.add("why", "Why: write a reason; a word or two will do.")
    by = faults.take("by", lambda: read_who(room, fields), "")
    if faults:
        return ""
    try:
        room.shop.change_settings(changes, by=by, why=why, key=key_of(fields))
    except BadValue as error:
        if error.where == "key":
            return _SENT
        faults.add(error.where if error.where in _FIELDS else "why", error.message)
    except ShopError as error:
        return error.message
    return ""


def _undo(room: Room, fields: Fields, faults: Faults) -> str:
    """Put the former figures back as a further change; return what hinders."""
    by = faults.take("by", lambda: read_who(room, fields), "")
    if faults:
        return ""
    acts = acts_of(room.shop.setting_changes())
    # the same undo sent twice meets its own way back: its key makes it harmless
    open_acts = acts[1:] if acts and acts[0].is_taken_back else acts
    if not open_acts or open_acts[0].is_taken_back or not _recent(open_acts[0], room.now()):
        return _NOTHING
    last = open_acts[0]
    if fields.one("last") != last.at.isoformat():
        return _OTHER
    why = f"{TAKEN_BACK}: {last.why}"[:_LONGEST_WHY]
    try:
        room.shop.change_settings(last.way_back(), by=by, why=why, key=key_of(fields))
    except CollopError as error:
        return error.message
    return ""


def _show(
    request: Request, fields: Fields, faults: Faults, *, status: int = 200, done: bool = False,
    trouble: str = "",
) -> HTMLResponse:  # fmt: skip
    room = room_of(request)
    chosen, history = room.shop.settings(), room.shop.setting_changes()
    acts = acts_of(history)
    shown = acts[:1] if acts and _recent(acts[0], room.now()) else []
    rows = [(one, part) for one in acts for part in one.parts()]
    return page(
        request, "chalk_choices.html", status=status, fields=fields, faults=faults,
        trouble=trouble, done=done, people=room.shop.people(), key=uuid4().hex,
        names={person.id: person.name for person in room.shop.people()},
        choices=_by_name(chosen, history, fields), per_words=PER_WORDS, cash_words=CASH_WORDS,
        ends=ENDS, ends_now=ends_of(chosen),
        ends_typed=_ends_typed(fields, chosen),
        last=shown[0] if shown else None, undo=_undoable(acts, room.now()),
        rows=rows[:_MOST_SHOWN], left_out=max(0, len(rows) - _MOST_SHOWN),
        label=lambda name: _label(name, chosen),
        told=lambda name, value: words.told(name, value, chosen),
    )  # fmt: skip


def _label(name: str, chosen: Settings) -> str:
    """Return what a choice is called, without its unit."""
    found = next(choice for choice in words.CHOICES if choice.name == name)
    label = found.label_for(chosen).split(",", maxsplit=1)[0]
    return f"Worth of {label.lower()}" if name.startswith("worths.") else label


@dataclass(frozen=True, slots=True)
class _Shown:
    """One choice on the page."""

    name: str
    label: str
    meaning: str
    now: str
    was: str
    typed: str
    last: SettingChange | None


def _by_name(
    chosen: Settings, history: Iterable[SettingChange], fields: Fields
) -> dict[str, _Shown]:
    """Return every choice; what was typed stays, what was left shows the figure in force."""
    last = words.last_changed(history)
    found = {}
    for choice in words.CHOICES:
        name = choice.name
        kept = words.kept_of(name, chosen)
        present = words.figure_text(name, kept)
        typed = fields.one(name, present)
        if typed == fields.one(was(name)) and was(name) in fields:
            typed = present
        found[name] = _Shown(
            name, choice.label_for(chosen), choice.meaning, words.told(name, kept, chosen),
            present, typed, last.get(name),
        )  # fmt: skip
    return found


def _ends_typed(fields: Fields, chosen: Settings) -> str:
    typed = fields.one("ends")
    return typed if typed in ENDS and typed != fields.one(was("ends")) else ends_of(chosen)
