"""Rules and settings: every rule with its source, what the shop chose, and changing it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING
from uuid import uuid4

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from collop.errors import BadValue, ShopError
from collop.reference.rulebook import safe_handling_parts
from collop.reference.sources import FROM_MEMORY
from collop.rules import (
    TOPICS,
    Rule,
    Setting,
    edition_of,
    laxer_than_usual,
    limit_of,
    rule,
    rules,
    search,
    setting,
)
from collop.web import rules_sums
from collop.web.forms import Faults, Fields
from collop.web.hook import read_who
from collop.web.rendering import page
from collop.web.room import Posted, Queried, Room, room_of

if TYPE_CHECKING:
    from collop.shop.rule_choices import RuleChange

__all__ = ["router"]

router = APIRouter()
# before the address of a rule with any id
router.include_router(rules_sums.router)
#: What the list may be narrowed to.
KINDS: Mapping[str, str] = {
    "": "all rules",
    "settings": "what the shop may set",
    "chosen": "what the shop set",
    "memory": "from memory, not checked",
}
_MOST_SHOWN = 200
_LONGEST = 80
_DONE = "Changed. It holds from now on; what was written before stays as it is."
_SENT = "This was sent already with another value; look at what stands now."


@router.get("/rules", response_class=HTMLResponse)
def show_rules(request: Request, fields: Queried) -> HTMLResponse:
    """Show the topics, or the rules of a topic or a search."""
    room, faults = room_of(request), Faults()
    topic, text, kind = fields.one("topic"), fields.one("q")[:_LONGEST], fields.one("show")
    if topic not in ("", *TOPICS):
        faults.add("topic", "Topic: choose one of the list.")
    if kind not in KINDS:
        faults.add("show", "Show: choose one of the list.")
    chosen = room.shop.rules.chosen()
    asked = bool(topic or text or kind)
    found = (
        [] if faults or not asked else _narrowed(search(text, chosen, topic=topic), kind, chosen)
    )
    history = list(reversed(room.shop.rules.history()))
    return page(
        request, "rules.html", status=422 if faults else 200, faults=faults, asked=asked,
        topic=topic, text=text, kind=kind, kinds=KINDS, topics=TOPICS, counts=_counts(),
        groups=_groups(found, every=bool(text or kind)), total=len(found),
        handling=safe_handling_parts() if topic == "handling" else (), memory=FROM_MEMORY,
        history=history[:_MOST_SHOWN], labels=_labels(history), chosen_count=len(chosen),
        names=_names(room),
    )  # fmt: skip


def _counts() -> dict[str, int]:
    found = dict.fromkeys(TOPICS, 0)
    for one in rules():
        found[one.topic] += 1
    return found


def _narrowed(found: Sequence[Rule], kind: str, chosen: Mapping[str, str]) -> list[Rule]:
    if kind == "settings":
        return [one for one in found if one.settings]
    if kind == "chosen":
        return [one for one in found if any(each.name in chosen for each in one.settings)]
    if kind == "memory":
        return [one for one in found if not one.is_cited]
    return list(found)


def _groups(
    found: Sequence[Rule], *, every: bool
) -> list[tuple[str, list[tuple[Rule, list[Rule]]], list[Rule]]]:
    """Return by topic each rule with its further rows, and the rows the product does not act on.

    If `every`, what was found stands in a row of its own, whatever it is a part of.
    """
    shown = {one.id for one in found}
    groups = []
    for topic in TOPICS:
        here = [one for one in found if one.topic == topic]
        leads = [one for one in here if every or (one.does and not one.part_of)]
        rest = [] if every else [one for one in here if not one.does]
        if here:
            pairs = [
                (one, [rule(row) for row in one.also if not every or row not in shown])
                for one in leads
            ]
            groups.append((topic, pairs, rest))
    return groups


def _labels(history: Sequence[RuleChange]) -> dict[str, tuple[str, str]]:
    """Return of each setting that was changed its label and its rule, where it still is one."""
    found = {}
    for name in {one.name for one in history}:
        try:
            found[name] = (setting(name).label, setting(name).rule_id)
        except BadValue:
            found[name] = (name, "")
    return found


def _names(room: Room) -> dict[str, str]:
    return {person.id: person.name for person in room.shop.people()}


@router.get("/rules/{rule_id}", response_class=HTMLResponse)
def show_rule(request: Request, rule_id: str, fields: Queried) -> HTMLResponse:
    """Show one rule in full, and the form that changes what may be set."""
    return _show(request, rule_id, Fields([]), Faults(), done=bool(fields.one("done")))


@router.post("/rules/{rule_id}", response_class=HTMLResponse)
def change_rule(request: Request, rule_id: str, fields: Posted) -> Response:
    """Change one setting of the rule, with the reason; the former ones stay in the list."""
    room, faults = room_of(request), Faults()
    found = rule(rule_id)
    names = [one.name for one in found.settings if not one.elsewhere]
    name = fields.one("name")
    if name not in names:
        faults.add("name", "What: choose what to change.")
    why = fields.one("why")
    if not why:
        faults.add("why", "Why: write the reason; it stays with the change.")
    by = faults.take("by", lambda: read_who(room, fields), "")
    if faults:
        return _show(request, rule_id, fields, faults, status=422)
    try:
        room.shop.rules.change(name, fields.one("value"), why=why, by=by,
                               key=fields.one("key")[:64] or uuid4().hex)  # fmt: skip
    except BadValue as error:
        if error.where == "key":
            return _show(request, rule_id, fields, faults, status=409, trouble=_SENT)
        faults.add("why" if error.where == "why" else "value", error.message)
        return _show(request, rule_id, fields, faults, status=422)
    except ShopError as error:
        return _show(request, rule_id, fields, faults, status=409, trouble=error.message)
    return RedirectResponse(f"/rules/{found.id}?done=1", status_code=303)


def _show(
    request: Request, rule_id: str, fields: Fields, faults: Faults, *, status: int = 200,
    done: bool = False, trouble: str = "",
) -> HTMLResponse:  # fmt: skip
    room = room_of(request)
    chosen = room.shop.rules.chosen()
    found = rule(rule_id, chosen)
    mine = {one.name for one in found.settings}
    history = [one for one in reversed(room.shop.rules.history()) if one.name in mine]
    return page(
        request, "rules_one.html", status=status, rule=found, fields=fields, faults=faults,
        done=_DONE if done else "", trouble=trouble, topics=TOPICS, memory=FROM_MEMORY,
        pairs=list(zip(found.settings, found.chosen, strict=True)), chosen=chosen,
        open=[one for one in found.settings if not one.elsewhere],
        limits={one.name: _limit(one, chosen) for one in found.settings},
        parts=[rule(row, chosen) for row in found.also],
        whole=rule(found.part_of, chosen) if found.part_of else None,
        history=history, labels=_labels(history), people=room.shop.people(), names=_names(room),
        key=uuid4().hex, elsewhere=_elsewhere(room, found),
        laxer=laxer_than_usual(edition_of(chosen).key) if "food_code" in mine else "",
    )  # fmt: skip


def _limit(one: Setting, chosen: Mapping[str, str]) -> str:
    """Return the published figure that is the end of a setting, empty if there is none."""
    limit = limit_of(one.name, chosen) if one.stricter else None
    return "" if limit is None else one.told(f"{limit:f}")


def _elsewhere(room: Room, found: Rule) -> dict[str, str]:
    """Return the value of settings that are kept with the shop's own."""
    chosen = room.shop.settings()
    told = {}
    for one in found.settings:
        kept = getattr(chosen, one.name, None) if one.elsewhere else None
        if kept is not None:
            told[one.name] = one.told(str(kept))
    return told
