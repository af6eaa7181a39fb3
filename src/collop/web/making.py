"""Mince lots and batches in the Day Book: the lists, one of them with its record, its table."""

from __future__ import annotations

from collections.abc import Sequence
from uuid import uuid4

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from collop.shop import Making, MakingEvent, MakingState, Material, making_rows
from collop.shop.exporting import csv_text
from collop.shop.making_model import BATCH, MINCE
from collop.shop.making_record_fields import named
from collop.web.daybook import names_of
from collop.web.daybook_form import DayForm, form_of
from collop.web.daybook_write import send
from collop.web.forms import Faults, Fields, read_choice
from collop.web.making_form import NAMES, lots_by_place, material_in
from collop.web.rendering import page
from collop.web.room import Posted, Queried, Room, room_of

__all__ = ["base_of", "kind_of", "router"]

router = APIRouter()
_WAYS = ("own", "box")
_DONE = {
    "begin": "Begun.", "own": "It is in.", "box": "It is in.", "ingredient": "It is in.",
    "out": "Weighed into the case.", "left": "Written: it goes on to the next lot.",
    "lost": "Written as lost.", "none": "Written: nothing was carried over.",
    "made": "Written.", "tell": "Written; the line shows both times.",
    "back": "Taken back; both lines stay.", "close": "Closed.", "reopen": "Open again.",
}  # fmt: skip


def kind_of(request: Request) -> str:
    """Return ``mince`` or ``batch``, as the address says."""
    return BATCH if request.url.path.startswith("/daybook/batch") else MINCE


def base_of(made: Making) -> str:
    """Return the address of one making."""
    return f"/daybook/{made.kind}/{made.code}"


@router.get("/daybook/mince", response_class=HTMLResponse)
@router.get("/daybook/batch", response_class=HTMLResponse)
def show_list(request: Request) -> HTMLResponse:
    """Show the newest mince lots or batches, those that are not closed on top."""
    room, kind = room_of(request), kind_of(request)
    making = room.shop.making
    found = making.batches() if kind == BATCH else making.mince()
    return page(
        request, "making_list.html", kind=kind, faults=Faults(), names=names_of(room),
        running=[one for one in found if one.state is not MakingState.CLOSED],
        closed=[one for one in found if one.state is MakingState.CLOSED],
    )  # fmt: skip


@router.get("/daybook/mince/begin", response_class=HTMLResponse)
@router.get("/daybook/batch/begin", response_class=HTMLResponse)
def show_begin(request: Request, fields: Queried) -> HTMLResponse:
    """Show the form that begins a mince lot or a batch with what goes in first."""
    asked = Fields([(name, text) for name, text in fields if name == "way"])
    return _show_begin(request, form_of(request, room_of(request), asked, kept=("way",)))


@router.post("/daybook/mince/begin", response_class=HTMLResponse)
@router.post("/daybook/batch/begin", response_class=HTMLResponse)
def begin(request: Request, fields: Posted) -> Response:
    """Begin a mince lot or a batch."""
    room, kind = room_of(request), kind_of(request)
    form = form_of(request, room, fields)
    lots = room.shop.making.on_hand()
    way = _way(form)
    first = material_in(form, way, lots)
    species = {one.lot_id: one.species for one in lots}.get(first.lot_id or "", "")
    if kind == MINCE and way == "box":
        species = form.take("species", lambda text: read_choice(
            text, "Species", _species(room)), "")  # fmt: skip
    if not fields.one("name"):
        form.faults.add("name", "Name: say what is made.")
    if kind == MINCE and not fields.one("machine"):
        form.faults.add("machine", "Grinder: say which, such as G1.")
    if kind == BATCH and not fields.one("case_id"):
        form.faults.add("case_id", "Case line: choose what it becomes.")

    def write(by: str, key: str) -> str:
        making = room.shop.making
        one = fields.one
        if kind == BATCH:
            made = making.open_batch(one("name"), one("case_id"), first, by=by, key=key,
                                     done_at=first.done_at)  # fmt: skip
        else:
            made = making.open(species, one("machine"), one("name"), first, by=by, key=key,
                               done_at=first.done_at)  # fmt: skip
        return f"{base_of(made)}?done=begin"

    return send(form, NAMES, write, lambda **more: _show_begin(request, form, **more))


def _way(form: DayForm) -> str:
    return form.fields.one("way") if form.fields.one("way") in _WAYS else "own"


def _species(room: Room) -> list[str]:
    return sorted({line.species for line in room.shop.case()} - {"none"})


def _declares(contains: Sequence[str]) -> str:
    return f"declares {', '.join(contains)}" if contains else "declares none"


def _show_begin(
    request: Request, form: DayForm, *, status: int = 200, trouble: str = ""
) -> HTMLResponse:
    room, fields = form.room, form.fields
    lines = [
        (line.id, f"{line.id} {line.name}, {_declares(line.contains)}")
        for line in room.shop.case()
        if line.form != "frozen" and line.species != "none" and line.piece_lb is None
    ]
    return page(
        request, "making_begin.html", status=status, trouble=trouble, kind=kind_of(request),
        form=fields, faults=form.faults, unit=form.unit, way=_way(form),
        lots=lots_by_place(room.shop.making.on_hand()), lines=lines,
        species=[(one, one) for one in _species(room)],
        people=room.shop.people(), today=room.now().date(),
        key=fields.one("key") or uuid4().hex,
    )  # fmt: skip


@router.get("/daybook/mince/{code}", response_class=HTMLResponse)
@router.get("/daybook/batch/{code}", response_class=HTMLResponse)
def show_making(request: Request, code: str, fields: Queried) -> Response:
    """Show one mince lot or batch as it stands: what is missing first, then its record."""
    room = room_of(request)
    made = room.shop.making.record(code)
    if made.kind != kind_of(request):
        return RedirectResponse(base_of(made), status_code=303)
    return page(
        request, "making_lot.html", made=made, base=base_of(made), names=names_of(room),
        faults=Faults(), todo=_todo(made), done=_DONE.get(fields.one("done"), ""),
        told=_told, lines=[(one, _words(one, made)) for one in made.events],
        place=room.shop.settings().place, at=room.now(),
    )  # fmt: skip


def _told(one: Material) -> str:
    """Return what is known of a material, in words."""
    is_extra = one.kind == "ingredient"
    days = ", ".join(f"{day:%d %b %Y}" for day in one.dates)
    said = [
        ("animals", ", ".join(one.tags)), ("from", ", ".join(one.farms)),
        ("maker" if is_extra else "plant", ", ".join(one.establishments)),
        ("lot", ", ".join(one.lots) if one.lots != one.tags else ""),
        ("killed" if one.tags else "produced", days), ("contains", ", ".join(one.contains or ())),
    ]  # fmt: skip
    words = [f"{name} {text}" for name, text in said if text]
    if is_extra and one.contains is None:
        words.append("allergens not told")
    elif is_extra and not one.contains:
        words.append("contains none of the allergens")
    return "; ".join(words)


def _words(one: MakingEvent, made: Making) -> str:
    """Return what a further line says, in words."""
    if one.what == "ended":
        return "Record closed"
    if one.what == "taken back":
        return "A line taken back"
    if one.what == "lost":
        return f"Lost to the {one.fields['place']}:"
    if one.what != "filled":
        return {"produced": "Weighed out", "carried": "Left for the next lot"}[one.what]
    if "done_at" in one.fields:
        return "A material written late"
    about = next((part.what for part in made.materials if part.seq == one.fields.get("part")), "")
    told = [
        f"{name.replace('_', ' ')} {(', '.join(value) or 'none') if name == 'contains' else value}"
        for name, value in one.fields.items() if name != "part"
    ]  # fmt: skip
    return f"Told{f' of {about}' if about else ''}: {'; '.join(told)}"


def _todo(made: Making) -> dict[str, list[str]]:
    """Return what is missing, in words, by the address where it is told."""
    base = base_of(made)
    addresses = {"TR005": f"{base}/none", "TR006": f"{base}/made", "TR007": "/daybook/clean"}
    found: dict[str, list[str]] = {}
    for field in made.fields:
        usual = addresses.get(field.rule_id, f"{base}/made" if "produced" in field.name else base)
        for word in field.missing:
            about = (one.seq for one in made.standing
                     if one.missing and word.endswith(f" of {named(one)}"))  # fmt: skip
            seq = next(about, 0)
            found.setdefault(f"{base}/tell?part={seq}" if seq else usual, []).append(word)
    if made.mass.left.count and made.state is not MakingState.OPEN:
        word = f"what became of {made.mass.left.text()} on the block"
        found.setdefault(f"{base}/lost", []).append(word)
    return found


@router.get("/daybook/mince/{code}/csv")
@router.get("/daybook/batch/{code}/csv")
def download(request: Request, code: str) -> Response:
    """Return the record as a table for other programs."""
    room = room_of(request)
    made = room.shop.making.record(code)
    header, *rows = making_rows(made, names_of(room))
    name = f"{made.code}.csv"
    return Response(
        csv_text(header, rows), media_type="text/csv; charset=utf-8",
        headers={"Content-Disposition": f'attachment; filename="{name}"'},
    )  # fmt: skip
