"""Kinds of piece and the styles they may be cut in, read from JSON.

Large cuts are kinds too, so that a style may give what another style cuts further.  No kind may
come back to itself.
"""

from __future__ import annotations

from collections.abc import Container, Mapping
from dataclasses import dataclass
from fractions import Fraction

from collop.bench.problem import Bin, Cut, Kind, Output, Style
from collop.bench.reading_parts import (
    known,
    label,
    lines,
    minutes,
    money,
    name_of,
    number,
    share,
    whole,
)
from collop.errors import Contradiction
from collop.measures import decimal_of
from collop.wire import Reader

__all__ = ["MOST_DEEP", "MOST_KINDS", "MOST_OUTPUTS", "MOST_STYLES", "read_kinds"]

MOST_KINDS, MOST_STYLES, MOST_OUTPUTS = 200, 30, 100
#: How often a large cut may come off a large cut, below the piece that hangs.
MOST_DEEP = 4
MOST_HOLDS = 14
_KEYS = ("id", "name", "species", "holds_days", "styles")
_STYLE_KEYS = ("id", "name", "minutes", "outputs")
_TARGETS = ("cut", "bin", "kind", "worth")
_OUTPUT_KEYS = (*_TARGETS, "name", "share", "sd")


@dataclass(frozen=True, slots=True)
class _Targets:
    """Names by id of all that a style may give."""

    names: Mapping[str, Mapping[str, str]]

    def read(self, row: Reader) -> tuple[str, str, str]:
        """Return what an output line goes to: its sort, id and name."""
        given = [key for key in _TARGETS if row.has(key)]
        if len(given) != 1:
            said = " and ".join(given) if given else "none of them"
            raise row.fail("cut", f"or bin, kind, worth: one must be given, here is {said}.")
        to = given[0]
        if to == "worth":
            return to, "", name_of(row, "name", "by-product") or "by-product"
        if row.has("name"):
            raise row.fail("name", f"stands beside {to}, which has a name; leave it out.")
        found = known(row, to, self.names[to], to, f"$.{to}s")
        return to, found, self.names[to][found]


def read_kinds(top: Reader, cuts: Mapping[str, Cut], bins: Mapping[str, Bin]) -> dict[str, Kind]:
    """Read ``kinds``; ids of styles are unique over all of them.

    Returns
    -------
    dict of str to Kind
        By id, in the order given.

    Raises
    ------
    ProblemError
        With the path of the first bad value.
    """
    rows = list(lines(top, "kinds", _KEYS, MOST_KINDS))
    seen: set[str] = set()
    names: dict[str, str] = {}
    for row in rows:
        found = label(row, "id", seen)
        names[found] = name_of(row, "name", "") or found
    targets = _Targets(
        {
            "kind": names,
            "cut": {one.id: one.name for one in cuts.values()},
            "bin": {one.id: one.name for one in bins.values()},
        }
    )
    styles: set[str] = set()
    kinds = {one.id: one for one in (_kind(row, targets, styles) for row in rows)}
    _no_endless_cutting(kinds, {row.value["id"]: row for row in rows})
    return kinds


def _kind(row: Reader, targets: _Targets, seen: set[str]) -> Kind:
    kind = row.value["id"]
    found = tuple(
        _style(one, targets, seen) for one in lines(row, "styles", _STYLE_KEYS, MOST_STYLES)
    )
    if not found:
        raise row.fail("styles", "is empty; give at least one way to cut it.")
    return Kind(
        id=kind,
        name=targets.names["kind"][kind],
        species=name_of(row, "species", ""),
        styles=found,
        holds_days=whole(row, "holds_days", 0, MOST_HOLDS, 0),
    )


def _style(row: Reader, targets: _Targets, seen: set[str]) -> Style:
    style = label(row, "id", seen)
    outputs: list[Output] = []
    given: set[tuple[str, str]] = set()
    for line in lines(row, "outputs", _OUTPUT_KEYS, MOST_OUTPUTS):
        output = _output(line, targets)
        _once(line, output, given)
        outputs.append(output)
    if not outputs:
        raise row.fail("outputs", "is empty; give what comes off.")
    total = sum((one.share for one in outputs), Fraction(0))
    if total != 1:
        raise Contradiction(
            f"{row.where('outputs')} sums to {decimal_of(total, 12).normalize():f} instead of 1; "
            "give every share, the cutting loss too.",
            where=row.where("outputs"),
        )
    return Style(
        id=style,
        name=name_of(row, "name", "") or style,
        minutes=minutes(row, "minutes"),
        outputs=tuple(outputs),
    )


def _once(row: Reader, output: Output, given: set[tuple[str, str]]) -> None:
    """Refuse what a style gives already; large cuts are told apart by their names too."""
    keys = [(output.to, output.id or output.name)]
    if output.to == "kind":
        keys.append(("large cut named", output.name))
    if any(key in given for key in keys):
        raise row.fail(
            output.to if output.id else "name",
            f"is {output.name[:40]!r}, which this style gives already; add the shares up, or name "
            "them apart.",
        )
    given.update(keys)


def _output(row: Reader, targets: _Targets) -> Output:
    to, found, name = targets.read(row)
    return Output(
        to=to,
        id=found,
        name=name,
        share=share(row, "share", above_zero=True),
        sd=number(row, "sd", 0.0, 0.5, "0") or Fraction(0),
        worth=money(row, "worth") if to == "worth" else Fraction(0),
    )


def _no_endless_cutting(kinds: Mapping[str, Kind], rows: Mapping[str, Reader]) -> None:
    """Refuse a kind that comes back to itself, and one that is cut too often."""
    done: dict[str, int] = {}
    for kind in kinds:
        _depth(kind, kinds, rows, done, ())


def _depth(
    kind: str,
    kinds: Mapping[str, Kind],
    rows: Mapping[str, Reader],
    done: dict[str, int],
    above: tuple[str, ...],
) -> int:
    """Return how many times over a kind is cut into large cuts."""
    if kind in done:
        return done[kind]
    _not_above(kind, above, rows)
    below = [o.id for style in kinds[kind].styles for o in style.outputs if o.to == "kind"]
    deepest = max((1 + _depth(one, kinds, rows, done, (*above, kind)) for one in below), default=0)
    if deepest > MOST_DEEP:
        path = rows[kind].path
        raise Contradiction(
            f"{path} is cut into large cuts {deepest} times over; {MOST_DEEP} is the most: leave a "
            "step out.",
            where=path,
        )
    done[kind] = deepest
    return deepest


def _not_above(kind: str, above: Container[str], rows: Mapping[str, Reader]) -> None:
    if kind in above:
        path = rows[kind].path
        raise Contradiction(
            f"{path} comes off itself: a style of it gives {kind[:40]!r} again, at once or through "
            "a large cut; take that output out.",
            where=path,
        )
