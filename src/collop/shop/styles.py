"""The shop's cutting styles: how a piece is cut, part by part, closing to 1 with the loss."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from fractions import Fraction

from sqlalchemy import insert, select
from sqlalchemy.engine import Connection

from collop.carcass import PIECES, PlanPart, starting_plan
from collop.errors import BadValue, NotFound
from collop.shop.knife_model import NewPart, NewStyle, Part, Style
from collop.shop.knife_tables import cutting_styles, style_parts
from collop.shop.store import AnyRow
from collop.shop.tables import case_lines

__all__ = [
    "KINDS", "load_style", "load_styles", "starting_style", "store_style", "styles_for",
]  # fmt: skip

_LONGEST, _MOST_DAYS, _MOST_PARTS = 120, 730, 100
KINDS = ("cut", "trim", "fat", "bone", "fat_bone", "scrap", "loss")
#: Where a part may go; a cut without a case line waits on the block.
_PLACES = {
    "cut": ("case", "block"),
    "trim": ("trim",),
    "fat": ("fat",),
    "bone": ("bone", "case"),
    "fat_bone": ("bone", "fat"),
    "scrap": ("bin",),
    "loss": ("drip",),
}


def _checked_part(part: NewPart, where: str) -> None:
    if not part.name.strip():
        raise BadValue(f"{where} needs a name.", where=where)
    if len(part.name) > _LONGEST or not part.name.isprintable():
        raise BadValue(f"{where}: a name has up to {_LONGEST} letters.", where=where)
    if part.keeps_days is not None and not 0 <= part.keeps_days <= _MOST_DAYS:
        raise BadValue(f"{where}: days it keeps are from 0 to {_MOST_DAYS}.", where=where)
    if part.kind not in KINDS:
        raise BadValue(f"{where}: {part.kind!r} is none of {', '.join(KINDS)}.", where=where)
    if part.place not in _PLACES[part.kind]:
        ways = " or ".join(_PLACES[part.kind])
        raise BadValue(f"{where}: {part.kind} goes to {ways}, not {part.place}.", where=where)
    if part.share < 0:
        raise BadValue(f"{where}: a share is zero or more.", where=where)
    if (part.place == "case") != (part.case_id is not None):
        raise BadValue(f"{where}: a part for the case names its case line.", where=where)


def _checked(new: NewStyle) -> None:
    if not 2 <= len(new.parts) <= _MOST_PARTS:
        raise BadValue(f"A cutting style needs parts: from 2 to {_MOST_PARTS}.", where="parts")
    for text, where in ((new.id, "id"), (new.name, "name"), (new.piece, "piece")):
        if not 1 <= len(text.strip()) <= 60 or not text.isprintable():
            raise BadValue(f"The {where} of a style has 1 to 60 characters.", where=where)
    if len(new.id) > 40:
        raise BadValue("The id of a style has up to 40 characters.", where="id")
    for index, part in enumerate(new.parts):
        _checked_part(part, f"parts[{index}]")
    names = [part.name for part in new.parts]
    if len(set(names)) < len(names):
        raise BadValue("Two parts of the style have one name; tell them apart.", where="parts")
    total = sum((part.share for part in new.parts), Fraction(0))
    if total != 1:
        raise BadValue(
            f"The shares of {new.name} add up to {float(total):.4f}, not 1; correct the loss.",
            where="parts",
        )


def _checked_line(new: NewStyle, part: NewPart, line: AnyRow | None) -> None:
    if line is None:
        raise BadValue(f"{part.name}: there is no case line {part.case_id}.", where="parts")
    if line.species != new.species:
        raise BadValue(f"{part.name}: {line.name} is {line.species}, not {new.species}.",
                       where="parts")  # fmt: skip
    if part.keeps_days is None and line.keeps_days is None:
        raise BadValue(f"{part.name}: say how many days {line.name} keeps.", where="parts")


def store_style(conn: Connection, new: NewStyle) -> None:
    """Write a new style.

    Raises
    ------
    BadValue
        If its parts do not close to 1, a part goes where its kind cannot, or its id is taken.
    """
    _checked(new)
    known = {row.id: row for row in conn.execute(select(case_lines))}
    for part in new.parts:
        if part.case_id is not None:
            _checked_line(new, part, known.get(part.case_id))
    taken = select(cutting_styles.c.id).where(cutting_styles.c.id == new.id)
    if conn.execute(taken).first() is not None:
        raise BadValue(f"There is a style {new.id!r} already; choose another name.", where="id")
    conn.execute(
        insert(cutting_styles).values(
            id=new.id, species=new.species, piece=new.piece, name=new.name,
            labour_minutes=new.labour_minutes, source=new.source,
        )
    )  # fmt: skip
    rows = [
        {"style_id": new.id, "position": at, "name": part.name, "kind": part.kind,
         "place": part.place, "share": str(part.share), "case_id": part.case_id,
         "keeps_days": part.keeps_days}
        for at, part in enumerate(new.parts, 1)
    ]  # fmt: skip
    conn.execute(insert(style_parts), rows)


def lines_by_name(conn: Connection) -> dict[str, str]:
    """Return the case line of each cut name, small letters, that keeps a known number of days."""
    rows = conn.execute(
        select(case_lines).where(
            case_lines.c.form != "frozen", case_lines.c.keeps_days.is_not(None)
        )
    )
    return {f"{row.species}: {row.name.casefold()}": row.id for row in rows}


def _line_of(part: PlanPart, species: str, lines: Mapping[str, str]) -> str | None:
    name = part.part.casefold()
    keys = (part.part, f"{species}: {name}", f"{species}: {species} {name}")
    return next((lines[key] for key in keys if key in lines), None)


def starting_style(
    piece: str, case_ids: Mapping[str, str] | None = None, taken: Collection[str] = ()
) -> NewStyle:
    """Return a style from the starting figures of a piece: published, remembered, or common use.

    Parameters
    ----------
    piece : str
        E.g. ``beef forequarter``; see `collop.carcass.PIECES`.
    case_ids : mapping, optional
        Case line of a cut by its name, or by species and name (`lines_by_name`); a cut without one
        waits on the block.
    taken : collection of str
        Ids of styles that are there.

    Raises
    ------
    BadValue
        If there is no such piece.
    """
    known = next((one for one in PIECES if one.title == piece), None)
    if known is None:
        names = ", ".join(one.title for one in PIECES)
        raise BadValue(f"There are no starting figures for {piece!r}; for {names} there are.",
                       where="piece")  # fmt: skip
    lines = case_ids or {}
    plan = starting_plan(known.species, known.name)
    parts = [_starting_part(part, _line_of(part, known.species, lines)) for part in plan]
    first = f"start-{piece.replace(' ', '-')}"
    ids = (first, *(f"{first}-{number}" for number in range(2, 1000)))
    free = next(one for one in ids if one not in taken)
    again = free.removeprefix(first).replace("-", " ")
    sources = sorted({str(part.basis.standing) for part in plan})
    return NewStyle(
        id=free, species=known.species, piece=piece,
        name=f"{piece.capitalize()}, starting figures{again}", parts=parts,
        source=f"starting figures ({', '.join(sources)}); weigh your own",
    )  # fmt: skip


def _starting_part(part: PlanPart, case_id: str | None) -> NewPart:
    kind = str(part.kind)
    place = part.place if kind != "cut" or case_id else "block"
    return NewPart(part.part, kind, place, part.fraction, case_id if kind == "cut" else None)


def part_of(row: AnyRow) -> Part:
    """Read a stored part."""
    return Part(row.id, row.name, row.kind, row.place, Fraction(row.share), row.case_id,
                row.keeps_days)  # fmt: skip


def _with_parts(conn: Connection, rows: Sequence[AnyRow]) -> tuple[Style, ...]:
    parts: dict[str, list[Part]] = {row.id: [] for row in rows}
    found = conn.execute(
        select(style_parts)
        .where(style_parts.c.style_id.in_(list(parts)))
        .order_by(style_parts.c.style_id, style_parts.c.position)
    )
    for row in found:
        parts[row.style_id].append(part_of(row))
    return tuple(
        Style(row.id, row.species, row.piece, row.name, row.labour_minutes, row.source,
              tuple(parts[row.id]))
        for row in rows
    )  # fmt: skip


def load_styles(conn: Connection) -> tuple[Style, ...]:
    """Return every style the shop cuts by."""
    order = (cutting_styles.c.species, cutting_styles.c.piece, cutting_styles.c.id)
    return _with_parts(conn, conn.execute(select(cutting_styles).order_by(*order)).all())


def load_style(conn: Connection, style_id: str) -> Style:
    """Return one style, or raise `NotFound`."""
    query = select(cutting_styles).where(cutting_styles.c.id == style_id)
    found = _with_parts(conn, conn.execute(query).all())
    if not found:
        raise NotFound(f"There is no cutting style {style_id[:40]!r}; choose one of the list.",
                       where="style")  # fmt: skip
    return found[0]


def styles_for(styles: Iterable[Style], piece: str | None, species: str) -> tuple[Style, ...]:
    """Return the styles that cut a piece.

    A piece of no known shape, written down in words at the door, is cut by any style of its
    species.
    """
    own = tuple(style for style in styles if style.species == species)
    fits = tuple(style for style in own if style.piece == piece)
    is_known = any(one.title == piece for one in PIECES)
    return fits if fits or is_known else own
