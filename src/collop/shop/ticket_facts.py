"""Facts of a line's label: kept by the shop, newest counts; what nobody told is said, not guessed.

A line of which nobody told anything gets what its name, its meat and its cooking rule give beyond
doubt. Its allergens are never among that unless the case names them: a blank is not "none".
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import replace
from decimal import Decimal, InvalidOperation
from typing import Any

from sqlalchemy import func, insert, select
from sqlalchemy.engine import Connection

from collop.errors import BadValue, NotFound, ProblemError
from collop.rules.labelling import CLASSES, TENDERISED
from collop.rules.labelling_allergens import check_ingredients, declared
from collop.shop.acts import Act
from collop.shop.day_tables import case_labels
from collop.shop.fire_cooks import load_cooks
from collop.shop.store import AnyRow
from collop.shop.tables import case_lines
from collop.shop.ticket_model import FactsChange, LabelFacts, LineFacts, Missing
from collop.spread.contents import tags_of
from collop.ticket.digits import gtin14

__all__ = ["case_row", "facts_as_json", "facts_from_json", "line_facts", "missing_facts",
           "set_facts", "usual_facts"]  # fmt: skip

_LONGEST, _MOST_INGREDIENTS = 120, 60
_ITEM = re.compile(r"[0-9]{5}", re.ASCII)
_NAMED_SAUSAGE = re.compile(r"\b(links?|sausages?)\b", re.IGNORECASE)
_PIERCED = {"tenderised", "injected"}
_STAGES = ("born", "raised", "slaughtered", "processed")
_NOT_TOLD = "Contains: not told; name its allergens, or say that none are declared."


def facts_as_json(facts: LabelFacts) -> dict[str, Any]:
    """Return facts as they are kept: weights and percents as decimal text."""
    return {
        "class": facts.product_class,
        "item": facts.item,
        "gtin": facts.gtin,
        "ingredients": None if facts.ingredients is None else list(facts.ingredients),
        "contains": None if facts.contains is None else list(facts.contains),
        "lean_pct": None if facts.lean_pct is None else f"{facts.lean_pct:f}",
        "fat_pct": None if facts.fat_pct is None else f"{facts.fat_pct:f}",
        "tenderised": facts.tenderised,
        "previously_frozen": facts.previously_frozen,
        "vacuum": facts.vacuum,
        "origin": _origin(facts),
        "tax_class": facts.tax_class,
    }


def _origin(facts: LabelFacts) -> dict[str, Any] | None:
    if facts.origin is None and not facts.origin_words:
        return None
    stages = dict.fromkeys(_STAGES, facts.origin) if facts.every_stage else {}
    return {"country": facts.origin, "words": facts.origin_words, **stages}


def _tuple(value: Iterable[str] | None) -> tuple[str, ...] | None:
    return None if value is None else tuple(value)


def _percent(value: str | None) -> Decimal | None:
    return None if value is None else Decimal(value)


def facts_from_json(kept: Mapping[str, Any]) -> LabelFacts:
    """Read facts back as `facts_as_json` wrote them."""
    origin = kept["origin"] or {}
    return LabelFacts(
        product_class=kept["class"], item=kept["item"], gtin=kept["gtin"],
        ingredients=_tuple(kept["ingredients"]), contains=_tuple(kept["contains"]),
        lean_pct=_percent(kept["lean_pct"]), fat_pct=_percent(kept["fat_pct"]),
        tenderised=kept["tenderised"], previously_frozen=kept["previously_frozen"],
        vacuum=kept["vacuum"], origin=origin.get("country"), origin_words=origin.get("words", ""),
        every_stage="born" in origin,
        tax_class=kept["tax_class"],
    )  # fmt: skip


def case_row(conn: Connection, case_id: str) -> AnyRow:
    """Return a case line's row, or raise `NotFound`."""
    row = conn.execute(select(case_lines).where(case_lines.c.id == case_id)).first()
    if row is None:
        raise NotFound(f"There is no case line {case_id[:40]!r}; look at the case again.",
                       where="case_id")  # fmt: skip
    return row


def _allergens_of(row: AnyRow) -> tuple[str, ...]:
    """Return the allergens the case names, at any depth of the line's recipe."""
    tags = tags_of(row.species, row.casing, row.contains)
    return tuple(sorted(tag.name for tag in tags if tag.kind == "allergen"))


def usual_facts(row: AnyRow) -> LabelFacts:
    """Return what a case line gives beyond doubt: its class, and the allergens it names.

    Parameters
    ----------
    row : row of ``case_lines``
        The line.

    Notes
    -----
    All raw classes carry the same safe-handling words, so the class that is derived here never
    leaves them out. A line whose case entry names no allergen stays "not told".
    """
    named = _allergens_of(row)
    tags = tags_of(row.species, row.casing, row.contains)
    if not any(tag.kind == "meat" for tag in tags):
        product_class = "meat-free"
    elif row.casing or _NAMED_SAUSAGE.search(row.name):
        product_class = "raw sausage"
    elif row.cook_as == "ground":
        product_class = "raw ground"
    else:
        product_class = "raw marinated" if named else "raw whole"
    return LabelFacts(product_class=product_class, contains=named or None)


def missing_facts(conn: Connection, row: AnyRow, facts: LabelFacts) -> tuple[Missing, ...]:
    """Return what the label of a line lacks, or says less than the case and the kitchen do."""
    found = []
    if facts.product_class is None:
        found.append(Missing("class of product", "Class: not told; choose what it is.", "facts"))
    if facts.contains is None:
        found.append(Missing("list of allergens", _NOT_TOLD, "facts"))
    else:
        left = [one for one in _allergens_of(row) if one not in _names(facts.contains)]
        if left:
            told = ", ".join(left)
            found.append(Missing("list of allergens", f"Contains: the case line names {told} and "
                                 "the label does not; add it.", "facts"))  # fmt: skip
    cook = load_cooks(conn).get(row.id)
    if cook is not None and cook.treatment in _PIERCED and facts.tenderised == "no":
        words = (f"Tenderised: it is cooked as {cook.treatment}, and the label does not say so; "
                 "choose how it was pierced.")  # fmt: skip
        found.append(Missing("tenderised words", words, "facts"))
    return tuple(found)


def _names(contains: Iterable[str]) -> frozenset[str]:
    try:
        return frozenset(one.name for one in declared(contains))
    except ProblemError:
        return frozenset()


def line_facts(conn: Connection, case_id: str) -> LineFacts:
    """Return a line's label facts with what is missing and everything that was told.

    Raises
    ------
    NotFound
        If there is no such line.
    """
    row = case_row(conn, case_id)
    query = select(case_labels).where(case_labels.c.case_id == case_id)
    rows = conn.execute(query.order_by(case_labels.c.seq.desc()))
    changes = tuple(FactsChange(facts_from_json(one.facts), one.at, one.by_id) for one in rows)
    facts = changes[0].facts if changes else usual_facts(row)
    return LineFacts(case_id, row.name, row.species, facts, bool(changes),
                     missing_facts(conn, row, facts), changes)  # fmt: skip


def set_facts(act: Act, case_id: str, facts: LabelFacts) -> LabelFacts:
    """Write what the label of a line says from now on, and return it; all facts are given.

    Raises
    ------
    BadValue
        If one of them cannot be, or says less than the case line does; `where` names it.
    NotFound
        If there is no such line.
    """
    row = case_row(act.conn, case_id)
    checked = checked_facts(facts)
    short = next((one for one in missing_facts(act.conn, row, checked)
                  if one.element != "class of product"), None)  # fmt: skip
    if short is not None and checked.contains is not None:
        where = "tenderised" if short.element.startswith("tenderised") else "contains"
        raise BadValue(short.words, where=where)
    _only_here(act.conn, case_id, checked.item)
    _check_tax(act, checked.tax_class)
    kept = facts_as_json(checked)
    act.conn.execute(
        insert(case_labels).values(case_id=case_id, facts=kept, at=act.at, by_id=act.by,
                                   key=act.key)
    )  # fmt: skip
    return checked


def _only_here(conn: Connection, case_id: str, item: str | None) -> None:
    """Refuse an item number that another line has: the till would charge the wrong one."""
    if item is None:
        return
    last = select(func.max(case_labels.c.seq)).group_by(case_labels.c.case_id).scalar_subquery()
    rows = conn.execute(select(case_labels).where(case_labels.c.seq.in_(last)))
    other = next((row for row in rows if row.case_id != case_id and row.facts["item"] == item),
                 None)  # fmt: skip
    if other is not None:
        raise BadValue(f"Item number: {item} is that of {other.case_id}; give another.",
                       where="item")  # fmt: skip


def _check_tax(act: Act, name: str | None) -> None:
    """Refuse a tax class that is none of the shop's, once it has any."""
    names = {one.name.casefold(): one.name for one in act.settings.tax_classes}
    if name is not None and names and name.casefold() not in names:
        known = ", ".join(names.values())
        raise BadValue(f"Tax class: {name!r} is none of the shop's; choose one of {known}.",
                       where="tax_class")  # fmt: skip


def checked_facts(facts: LabelFacts) -> LabelFacts:
    """Return facts in the form they are kept in.

    Raises
    ------
    BadValue
        With the field in `where`.
    """
    _choice(facts.product_class, CLASSES, "product_class", "Class")
    if facts.product_class is None:
        raise BadValue(f"Class: choose one of {', '.join(CLASSES)}.", where="product_class")
    _choice(facts.tenderised, TENDERISED, "tenderised", "Tenderised")
    if facts.item is not None and not _ITEM.fullmatch(facts.item):
        raise BadValue("Item number: write five digits such as 00101.", where="item")
    ingredients = _words(facts.ingredients, "ingredients", "Ingredients")
    contains = _words(facts.contains, "contains", "Contains")
    if contains is not None:
        try:
            check_ingredients(ingredients, declared(contains))
        except ProblemError as error:
            raise BadValue(f"Contains: {error.message}", where="contains") from None
    _check_lean(facts)
    for text, where, label in ((facts.origin, "origin", "Country"),
                               (facts.origin_words, "origin_words", "Words of origin"),
                               (facts.tax_class, "tax_class", "Tax class")):  # fmt: skip
        _plain(text or "-", where, label)
    return replace(
        facts, ingredients=ingredients, contains=contains, gtin=_gtin(facts.gtin),
        origin=(facts.origin or "").strip() or None, origin_words=facts.origin_words.strip(),
        tax_class=(facts.tax_class or "").strip() or None,
    )  # fmt: skip


def _choice(text: str | None, known: Iterable[str], where: str, label: str) -> None:
    if text is not None and text not in known:
        raise BadValue(f"{label}: choose one of {', '.join(known)}.", where=where)


def _gtin(text: str | None) -> str | None:
    if text is None:
        return None
    try:
        return gtin14(text.strip())
    except BadValue as error:
        raise BadValue(f"Trade item number: {error.message}", where="gtin") from None


def _plain(text: str, where: str, label: str) -> str:
    plain = text.strip()
    if not 1 <= len(plain) <= _LONGEST or not plain.isprintable():
        raise BadValue(f"{label}: write 1 to {_LONGEST} letters.", where=where)
    return plain


def _words(words: tuple[str, ...] | None, where: str, label: str) -> tuple[str, ...] | None:
    if words is None:
        return None
    if len(words) > _MOST_INGREDIENTS:
        raise BadValue(f"{label}: name at most {_MOST_INGREDIENTS}.", where=where)
    return tuple(_plain(word, where, label) for word in words)


def _check_lean(facts: LabelFacts) -> None:
    for value, where, label in ((facts.lean_pct, "lean_pct", "Lean"),
                                (facts.fat_pct, "fat_pct", "Fat")):  # fmt: skip
        try:
            in_range = value is None or (value.is_finite() and 0 <= value <= 100)
        except InvalidOperation:
            in_range = False
        if not in_range or (value is not None and value != round(value, 1)):
            raise BadValue(f"{label}: write a percentage from 0 to 100, with one decimal at most.",
                           where=where)  # fmt: skip
    if facts.lean_pct is not None and facts.fat_pct is None:
        raise BadValue("Fat: the share of lean stands only beside that of fat; add it (LB024).",
                       where="fat_pct")  # fmt: skip
    if facts.lean_pct is not None and facts.fat_pct is not None:
        total = facts.lean_pct + facts.fat_pct
        if total != 100:
            raise BadValue(f"Lean and fat are {total} % together; they make 100 % (LB025).",
                           where="lean_pct")  # fmt: skip
