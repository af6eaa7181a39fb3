"""Plans of tickets written by hand, invented by us, for the tests of the drawing."""

from __future__ import annotations

from random import Random
from typing import Any

from collop.reference.rulebook import safe_handling_parts
from collop.ticket import symbol_of, variable_upc

FORMS = {"58x40": (463, 319), "58x60": (463, 479), "80x50": (639, 399), "80x80": (639, 639),
         "4x6": (812, 1218)}  # fmt: skip
CLASSES = ("whole", "ground", "sausage", "tenderised", "ready to eat", "meat-free")
GTIN = "90614141000015"
ALLERGENS = ("milk", "egg", "fish", "crustacean shellfish", "tree nuts", "peanuts", "wheat",
             "soybeans", "sesame", "mustard", "celery", "sulphites")  # fmt: skip


def line(role: str, text: str, weight: str = "plain", *, bold: bool = False, side: str = "full"):
    """Return one line of a plan."""
    return {"role": role, "text": text, "weight": weight, "bold": bold, "side": side}


def handling() -> list[dict[str, Any]]:
    """Return the safe-handling lines in the prescribed words."""
    return [
        line("handling_head" if part.part == "heading" else "handling", part.words, "small",
             bold=part.part == "heading")
        for part in safe_handling_parts()
    ]  # fmt: skip


def code(kind: str, *, lot: str = "L-208.01", ticket: str = "T12", cents: int = 4074,
         hundredths: int = 485, item: str = "00101") -> dict[str, str]:  # fmt: skip
    """Return a code of a kind with what such a ticket holds."""
    if kind == "upc-a":
        data = variable_upc(item, cents)
    elif kind == "ean-13":
        data = "0" + variable_upc(item, cents)
    elif kind in ("datamatrix", "qr"):
        data = f"{ticket} {lot}"
    elif kind == "gs1-128":
        data = f"(01){GTIN}(3202){hundredths:06d}(10){lot}"
    else:
        data = f"(01){GTIN}(3202){hundredths:06d}(3922){cents:04d}(10){lot}"
    return {"kind": kind, "data": data, "text": symbol_of(kind, data).text}


_BODY = {
    "whole": [line("name", "Lamb shoulder, bone in", "big", bold=True),
              line("contains", "Contains: none declared"),
              line("claims", "Product of USA"),
              line("cook", "Cook: 145 F in the middle, then rest 3 min", "small")],
    "ground": [line("name", "Ground beef, 80% lean 20% fat", "big", bold=True),
               line("contains", "Contains: none declared"),
               line("cook", "Cook: 160 F in the middle", "small")],
    "sausage": [line("name", "Merguez, lamb", "big", bold=True),
                line("contains", "Contains: milk, sesame, wheat", bold=True),
                line("ingredients", "Ingredients: lamb, water, breadcrumb (wheat), salt, paprika, "
                     "sesame oil, skimmed milk powder, garlic, cumin, fennel, black pepper, "
                     "harissa (chilli, caraway, coriander)", "small"),
                line("claims", "Sheep casing", "small"),
                line("cook", "Cook: 160 F in the middle", "small")],
    "tenderised": [line("name", "Beef short ribs, cross-cut, bone in", "big", bold=True),
                   line("also", "Mechanically tenderized", "plain", bold=True),
                   line("contains", "Contains: none declared"),
                   line("claims", "Previously frozen; keep at 41 F, discard by Jun 17"),
                   line("cook", "Cook: 145 F in the middle, then rest 3 min", "small")],
    "ready to eat": [line("name", "Ham, dry cured, sliced", "big", bold=True),
                     line("contains", "Contains: none declared"),
                     line("ingredients", "Ingredients: pork, salt", "small")],
    "meat-free": [line("name", "Bean and barley patty", "big", bold=True),
                  line("contains", "Contains: wheat", bold=True),
                  line("ingredients", "Ingredients: beans, barley (wheat), onion, oil, salt",
                       "small")],
}  # fmt: skip
_RAW = {"whole", "ground", "sausage", "tenderised"}


def plan(
    size: str = "58x60", dpi: int = 203, kind: str = "whole", codes: tuple[str, ...] = ("upc-a",),
    *, block: bool | None = None, name: str = "", more: tuple[dict[str, Any], ...] = (),
) -> dict[str, Any]:  # fmt: skip
    """Return a plan of a form, resolution and product class.

    `block` says whether the safe-handling words stand on it; raw meat has them if left out.
    """
    body = [dict(one) for one in _BODY[kind]]
    if name:
        body[0]["text"] = name
    lines = [
        line("shop", "Tollebank Meats", bold=True, side="left"),
        line("place", "Weir Lane, Oddwater Lock", "small", side="right"),
        line("net", "Net 4.85 lb (2.199 kg)", "big", bold=True, side="left"),
        line("price", "$8.40/lb ($18.52/kg)", side="left"),
        line("total", "$40.74", "big", bold=True, side="right"),
        line("dates", "Packed Wed 10 Jun, use or freeze by Sat 13 Jun", side="left"),
        line("keep", "Keep at 41 F or below", side="left"),
        line("lot", "Lot L-208.01", side="left"),
        line("tare", "Tare 0.02 lb", "small", side="right"),
        *body, *more,
    ]  # fmt: skip
    if kind in _RAW if block is None else block:
        lines += handling()
    return {
        "schema": "collop.ticket.plan/1", "ticket": "T12", "form": {"size": size, "dpi": dpi},
        "lines": lines, "codes": [code(one) for one in codes],
    }  # fmt: skip


_NAMES = ("Lamb shoulder, bone in", "Ground beef", "Pork belly, rolled", "Beef shin, sliced",
          "Chicken thighs, skin on", "Goat leg, bone in", "Beef short ribs, cross-cut, bone in",
          "Entrecôte de bœuf", "Filé of the eye", "Heart")  # fmt: skip
_SETS = (("upc-a",), ("ean-13",), ("qr",), ("datamatrix",), ("upc-a", "qr"),
         ("upc-a", "datamatrix"), ("ean-13", "qr"), ("databar-expanded-stacked",),
         ("gs1-datamatrix",), ("gs1-qr",), ("databar-expanded-stacked", "qr"))  # fmt: skip


def random_plan(draws: Random, dpi: int = 203) -> dict[str, Any]:
    """Return a plan with a name, weight, price, lot, form and set of codes by chance."""
    size = draws.choice(list(FORMS))
    kind = draws.choice(CLASSES)
    found = plan(size, dpi, kind, (), name=draws.choice(_NAMES))
    hundredths = draws.randint(1, 9999)
    cents = draws.randint(1, 9999)
    lot = f"L-{draws.randint(1, 366)}.{draws.randint(1, 99):02d}"
    ticket = f"T{draws.randint(1, 99999)}"
    item = f"{draws.randint(1, 99999):05d}"
    for one in found["lines"]:
        if one["role"] == "net":
            one["text"] = f"Net {hundredths / 100:.2f} lb"
        elif one["role"] == "total":
            one["text"] = f"${cents / 100:.2f}"
        elif one["role"] == "lot":
            one["text"] = f"Lot {lot}"
    sets = [*_SETS, ("gs1-128",)] if size == "4x6" else _SETS
    found["ticket"] = ticket
    found["codes"] = [
        code(one, lot=lot, ticket=ticket, cents=cents, hundredths=hundredths, item=item)
        for one in draws.choice(sets)
    ]
    return found
