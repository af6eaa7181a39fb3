"""One form of figures: what was typed, what is wrong with it, and the problem it makes.

A sheet remembers which field each key of the problem came from, so that what a kernel refuses is
said beside that field and in its label's words.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from typing import Any

from collop.errors import BadValue, ProblemError
from collop.measures import WeightUnit, parse_weight
from collop.web.forms import Faults, Fields, read_amount, read_choice, read_whole

__all__ = ["UNITS", "Sheet"]

UNITS = tuple(unit.value for unit in WeightUnit)
_NOTHING = re.compile(r"0{1,6}([.,]0{0,6})?")
_PATH = re.compile(r"\$(?:[.\[][A-Za-z0-9_\]]+)*")
_WEIGHT_PLACES = 4


@dataclass(slots=True)
class Sheet:
    """What was typed on one form.

    Parameters
    ----------
    fields : Fields
        The texts.
    main : str
        Field that a fault is put beside if nothing tells a nearer one.
    faults : Faults
        What is wrong.
    """

    fields: Fields
    main: str
    faults: Faults = field(default_factory=Faults)
    _places: dict[str, tuple[str, str]] = field(default_factory=dict)

    def one(self, name: str, default: str = "") -> str:
        """Return what was typed in a field."""
        return self.fields.one(name, default)

    def stands_for(self, path: str, name: str, label: str) -> None:
        """Remember that a key of the problem came from a field."""
        self._places[path] = (name, label)

    def amount(
        self, name: str, label: str, path: str, *, high: str = "100000", places: int = 4,
        needed: bool = False,
    ) -> str | None:  # fmt: skip
        """Read a decimal, zero or more; None if it is empty."""
        text = self.one(name)
        self.stands_for(path, name, label)
        if not text and not needed:
            return None
        if _NOTHING.fullmatch(text):
            return "0"
        found = self.faults.take(
            name, lambda: read_amount(text, label, high=high, places=places), None
        )
        return None if found is None else f"{found:f}"

    def weight(
        self, name: str, label: str, path: str, *, unit: str, needed: bool = False
    ) -> str | None:
        """Read a weight as people write it, into `unit`; None if it is empty."""
        text = self.one(name)
        self.stands_for(path, name, label)
        if not text:
            if needed:
                self.faults.add(name, f"{label}: weigh it and enter the weight.")
            return None
        return self.faults.take(name, lambda: _weight_in(text, label, unit), None)

    def whole(self, name: str, label: str, path: str, *, low: int, high: int) -> int | None:
        """Read a whole number; None if it is empty."""
        text = self.one(name)
        self.stands_for(path, name, label)
        if not text:
            return None
        return self.faults.take(name, lambda: read_whole(text, label, low, high), None)

    def choice(self, name: str, label: str, path: str, allowed: Iterable[str]) -> str:
        """Read one of some words; the first if nothing was chosen."""
        options = list(allowed)
        self.stands_for(path, name, label)
        text = self.one(name) or options[0]
        return self.faults.take(name, lambda: read_choice(text, label, options), options[0])

    def part(self, name: str, label: str, path: str) -> str:
        """Read the name of a part; a line that holds anything must have one."""
        self.stands_for(path, name, label)
        if not self.one(name):
            self.faults.add(name, f"{label}: name the part of this line, or empty the line.")
        return self.one(name)[:80]

    def used(self, names: Iterable[str], most: int) -> list[int]:
        """Return the numbers of the lines that hold something.

        Parameters
        ----------
        names : iterable of str
            Field names with ``{}`` where the line's number stands.
        most : int
            Most lines there may be.
        """
        known = list(names)
        lines = range(1, most + 1)
        return [row for row in lines if any(self.one(name.format(row)) for name in known)]

    def rows(self, names: Iterable[str], *, least: int, most: int) -> range:
        """Return the numbers of the lines to show: those used, one more, and never too few."""
        used = self.used(names, most)
        return range(1, min(most, max(least, (used[-1] if used else 0) + 1)) + 1)

    def work_out(
        self, kernel: Callable[[object], dict[str, Any]], problem: dict[str, Any]
    ) -> dict[str, Any] | None:
        """Return the kernel's plan; None if the sheet has faults, or the kernel finds one."""
        if self.faults:
            return None
        try:
            return kernel({key: value for key, value in problem.items() if value is not None})
        except ProblemError as error:
            name, _ = self._place(error.where)
            self.faults.add(name, self._in_words(error.message))
            return None

    def _place(self, where: str) -> tuple[str, str]:
        nearest = [path for path in self._places if where == path or where.startswith(path + ".")]
        return self._places[max(nearest, key=len)] if nearest else (self.main, "")

    def _in_words(self, message: str) -> str:
        """Return a kernel's sentence with labels in place of the keys of the problem."""
        for path in sorted(self._places, key=len, reverse=True):
            message = re.sub(re.escape(path) + r"(?![\w\[])", self._places[path][1], message)
        plain = _PATH.sub(lambda found: _last_key(found[0]), message)
        for path, (_, label) in self._places.items():
            key = path.rpartition(".")[2]
            if "_" in key:  # a kernel may name a key without its path
                plain = re.sub(rf"\b{re.escape(key)}\b", label.lower(), plain)
        return plain[:1].upper() + plain[1:]


def _last_key(path: str) -> str:
    words = re.findall(r"[A-Za-z_]+", path)
    return words[-1].replace("_", " ") if words else "the sheet"


def _weight_in(text: str, label: str, unit: str) -> str:
    try:
        weight = parse_weight(text, WeightUnit(unit))
    except BadValue as error:
        raise BadValue(f"{label}: {error.message}") from None
    return f"{weight.decimal(WeightUnit(unit), _WEIGHT_PLACES).normalize():f}"
