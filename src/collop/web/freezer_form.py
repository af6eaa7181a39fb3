"""A freezer order as it is typed: fields to problem, and the kernel's words beside their field."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from collop.carcass import large_cuts, piece_named, styles_of
from collop.carcass.freezer import freezer_order
from collop.carcass.freezer_ways import usual_form
from collop.errors import CollopError, ProblemError, StorageTrouble
from collop.web.forms import Faults, Fields, read_amount

if TYPE_CHECKING:
    from collop.shop import FreezerPiece
    from collop.web.room import Room

__all__ = ["SHARES", "Asked", "CutRow", "PartForm", "field_of", "read_order"]

#: Shares that are offered; another is asked for by weight.
SHARES = {"1/2": "half", "1/4": "quarter", "1": "all of it", "weight": "by weight"}
_MOST_PARTS = 2
_LABELS = {
    "thickness": "Thickness", "pieces_per_pack": "Pieces to a pack", "roast_weight": "Roast",
    "bone": "Bone", "as": "Cut as", "share": "Share of the trim to mince",
    "pack_weight": "Pack of mince", "fat_pct": "Fat of the mince", "per_unit": "Price",
    "weight": "Weight it is priced on", "take": "Weight wanted",
}  # fmt: skip
_FIELDS = {
    "thickness": "thick", "pieces_per_pack": "each", "roast_weight": "roast", "bone": "bone",
    "as": "as",
}  # fmt: skip
_PART_FIELDS = {
    "take": "take", "share": "share", "weight": "tag", "piece": "tag", "bones": "bones",
    "fat": "fat", "mince.share": "mince", "mince.pack_weight": "pack", "mince.fat_pct": "lean",
    "price.per_unit": "price", "price.weight": "paid",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class CutRow:
    """The fields of one large cut."""

    at: str
    name: str
    usual: str


@dataclass(frozen=True, slots=True)
class PartForm:
    """One piece of the form: its place, the piece, and its large cuts in the animal's order."""

    at: int
    piece: FreezerPiece
    cuts: tuple[CutRow, ...]


@dataclass(frozen=True, slots=True)
class Asked:
    """What was typed: the pieces, the problem, and its plan; None where it cannot be worked out."""

    parts: tuple[PartForm, ...]
    problem: Mapping[str, Any] | None
    plan: Mapping[str, Any] | None
    trouble: str = ""


def read_order(room: Room, fields: Fields, faults: Faults) -> Asked:
    """Read the form and work it out.

    Parameters
    ----------
    room : Room
        The shop behind the page.
    fields : Fields
        As typed; a field that is not there has its usual value.
    faults : Faults
        Takes what a person can put right.
    """
    there = room.shop.freezer.pieces()
    forms = tuple(_forms(there, fields))
    if not forms:
        if fields.one("tag0"):
            faults.add("tag0", "Piece: it is not there any more; choose another.")
        return Asked((), None, None)
    try:
        parts = [_part(room, form, fields, faults) for form in forms]
        problem = room.shop.freezer.problem(parts, name=fields.one("name"), fees=_fees(fields))
        if faults:
            return Asked(forms, problem, None)
        return Asked(forms, problem, freezer_order(problem))
    except ProblemError as error:
        name, label = field_of(error.where, forms)
        faults.add(name, f"{label}: {error.message.removeprefix(error.where).strip()}")
        return Asked(forms, None, None)
    except StorageTrouble:
        raise
    except CollopError as error:
        return Asked(forms, None, None, error.message)


def _forms(there: Sequence[FreezerPiece], fields: Fields) -> list[PartForm]:
    found: list[PartForm] = []
    for at in range(_MOST_PARTS):
        piece = next((one for one in there if one.tag == fields.one(f"tag{at}")), None)
        if piece is None or any(form.piece.tag == piece.tag for form in found):
            continue
        known = piece_named(piece.piece, piece.species)
        of_piece = [one.part for one in styles_of(known.species, known.name)[0].shares]
        names = [
            cut.name for cut in large_cuts(known.species)
            if cut.name in (piece.large_cuts or of_piece)
        ]  # fmt: skip
        cuts = tuple(CutRow(f"{at}-{k}", name, usual_form(name)) for k, name in enumerate(names))
        found.append(PartForm(at, piece, cuts))
    return found


def _part(room: Room, form: PartForm, fields: Fields, faults: Faults) -> dict[str, Any]:
    at = form.at
    choices = [_choice(row, fields, fields.one("thick_unit", "in")) for row in form.cuts]
    mince: dict[str, Any] = {
        "share": str(faults.take(f"mince{at}", lambda: _share(fields, at), Decimal(1)))
    }
    _put(mince, "pack_weight", fields.one(f"pack{at}"))
    _put(mince, "fat_pct", fields.one(f"lean{at}"))
    price: dict[str, Any] = {"weight_is": fields.one(f"paid_is{at}", "cold")}
    _put(price, "per_unit", fields.one(f"price{at}"))
    _put(price, "weight", fields.one(f"paid{at}"))
    more = {
        "mince": mince, "price": price, "bones": fields.one(f"bones{at}", "leave"),
        "fat": fields.one(f"fat{at}", "leave"),
    }  # fmt: skip
    share = fields.one(f"share{at}", "1" if form.piece.trimmed else "1/2")
    take = fields.one(f"take{at}") if share == "weight" else ""
    if share == "weight" and not take:
        faults.add(f"take{at}", "Weight wanted: write how much of the piece, such as 40.")
    return room.shop.freezer.part(
        form.piece.tag, "1" if share == "weight" else share, choices, take=take, more=more
    )


def _put(found: dict[str, Any], key: str, text: str) -> None:
    if text:
        found[key] = text.replace(",", ".")


def _choice(row: CutRow, fields: Fields, unit: str) -> dict[str, Any]:
    found: dict[str, Any] = {
        "large_cut": row.name, "bone": fields.one(f"bone{row.at}", "in"),
        "as": fields.one(f"as{row.at}", row.usual), "thickness_unit": unit,
    }  # fmt: skip
    _put(found, "thickness", fields.one(f"thick{row.at}"))
    _put(found, "roast_weight", fields.one(f"roast{row.at}"))
    each = fields.one(f"each{row.at}")
    if each:
        # the kernel says it in its own words where this is no count
        found["pieces_per_pack"] = int(each) if re.fullmatch(r"[0-9]{1,4}", each) else each
    return found


def _share(fields: Fields, at: int) -> Decimal:
    text = fields.one(f"mince{at}", "75")
    return read_amount(text, "Share of the trim to mince", places=2) / 100


def _fees(fields: Fields) -> list[dict[str, str]]:
    found = []
    for name, per, words in (("cutting", "hanging", "cutting"), ("wrapping", "pack", "wrapping")):
        text = fields.one(name)
        if text:
            found.append({"name": words, "per": per, "amount": text.replace(",", ".")})
    return found


def field_of(where: str, forms: Sequence[PartForm]) -> tuple[str, str]:
    """Return the field and the label that a path of the problem is shown beside."""
    found = re.match(r"\$\.parts\[(\d+)\]\.choices\[(\d+)\]\.(\w+)", where)
    if found and int(found[1]) < len(forms):
        cuts = forms[int(found[1])].cuts
        if int(found[2]) < len(cuts) and found[3] in _FIELDS:
            row = cuts[int(found[2])]
            label = _LABELS.get(found[3], found[3])
            return f"{_FIELDS[found[3]]}{row.at}", f"{label}, {row.name}"
    found = re.match(r"\$\.parts\[(\d+)\]\.([\w.]+)", where)
    if found and int(found[1]) < len(forms):
        key = found[2]
        label = _LABELS.get(key.rpartition(".")[2], "Piece")
        return f"{_PART_FIELDS.get(key, 'tag')}{forms[int(found[1])].at}", label
    if where.startswith("$.fees"):
        return "cutting", "Fee"
    return "tag0", "Order"
