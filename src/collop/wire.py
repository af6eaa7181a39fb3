"""Reading JSON problems: typed fields, unknown keys refused with their path.

A `Reader` wraps one JSON object. Each getter names the value's path in its error, so that every
bad input gets one clear sentence. Numbers that are money or weight arrive as decimal strings.
"""

from __future__ import annotations

import json
import math
import re
from decimal import Decimal, InvalidOperation
from typing import TYPE_CHECKING, Any

from collop.errors import BadValue, ProblemError, UnknownKey
from collop.measures import minor_places

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

__all__ = ["SCHEMA_DRAFT", "Reader", "all_of", "load_json", "object_of"]

#: The JSON Schema that problems and plans are described by.
SCHEMA_DRAFT = "https://json-schema.org/draft/2020-12/schema"

_MISSING = object()
_MAX_DIGITS = 24
_SHOWN_KEY = 60
_HALF_LETTER = re.compile(r"\\u[dD][89a-fA-F]|[\ud800-\udfff]")


def object_of(required: str, properties: dict[str, Any]) -> dict[str, Any]:
    """Return the schema of an object with these keys only; `required` names some, by spaces."""
    return {
        "type": "object",
        "required": required.split(),
        "properties": properties,
        "additionalProperties": False,
    }


def all_of(properties: dict[str, Any]) -> dict[str, Any]:
    """Return the schema of an object that has all these keys and no other."""
    return object_of(" ".join(properties), properties)


def load_json(text: str) -> dict[str, Any]:
    """Parse one JSON object; NaN, Infinity and repeated keys are refused.

    Raises
    ------
    ProblemError
        With line and column where the text is no JSON.
    """

    def no_constant(name: str) -> Any:  # noqa: ANN401 -- signature fixed by json
        raise ProblemError(f"{name} is not a number; write a decimal number or leave the key out.")

    def no_repeat(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
        found: dict[str, Any] = {}
        for key, value in pairs:
            if key in found:
                raise ProblemError(f"The key {key!r} is given twice; keep one of them.")
            found[key] = value
        return found

    try:
        value = json.loads(text, parse_constant=no_constant, object_pairs_hook=no_repeat)
    except json.JSONDecodeError as error:
        raise ProblemError(
            f"This is not JSON: {error.msg} at line {error.lineno}, column {error.colno}."
        ) from None
    except ProblemError:  # from the two checks above; it is a ValueError too
        raise
    except RecursionError:
        raise ProblemError("The JSON is nested too deeply; flatten it.") from None
    except ValueError:
        raise ProblemError("A number in the JSON is too long to read; shorten it.") from None
    if not isinstance(value, dict):
        raise ProblemError("The problem must be one JSON object in braces.", where="$")
    _refuse_half_letters(text, value)
    return value


def _refuse_half_letters(text: str, value: object) -> None:
    if _HALF_LETTER.search(text) and _holds_half_a_letter(value):
        raise ProblemError(
            "The JSON holds half a letter, an escape from \\ud800 to \\udfff without its other "
            "half; write the letter itself."
        )


def _holds_half_a_letter(value: object) -> bool:
    """Tell whether some text of a problem could be written in no file."""
    try:
        json.dumps(value, ensure_ascii=False).encode()
    except UnicodeEncodeError:
        return True
    except RecursionError:
        raise ProblemError("The JSON is nested too deeply; flatten it.") from None
    return False


def _kind(value: object) -> str:
    names = {type(None): "null", bool: "true/false", str: "text", list: "a list", dict: "an object"}
    return names.get(type(value), "a number")


class Reader:
    """One JSON object with its path.

    Parameters
    ----------
    value : object
        Parsed JSON; must be an object.
    path : str
        Where it stands, e.g. ``$.groups[0]``.
    keys : iterable of str
        The keys that are known here; any other is refused.
    """

    def __init__(self, value: object, path: str, keys: Iterable[str]) -> None:
        if not isinstance(value, dict):
            raise BadValue(f"{path} must be an object, not {_kind(value)}.", where=path)
        self.value: dict[str, Any] = value
        self.path = path
        known = set(keys)
        for key in value:
            if key not in known:
                # a key may be any text, and the sentence stays one line
                is_plain = isinstance(key, str) and key.isprintable() and len(key) <= _SHOWN_KEY
                shown = key if is_plain else repr(key)[:_SHOWN_KEY]
                raise UnknownKey(
                    f"{path}.{shown} is not a known key; remove it or check its spelling.",
                    where=f"{path}.{shown}",
                )

    def where(self, key: str) -> str:
        """Return the path of `key`."""
        return f"{self.path}.{key}"

    def fail(self, key: str, problem: str) -> BadValue:
        """Return an error about `key`, to be raised by the caller."""
        return BadValue(f"{self.where(key)} {problem}", where=self.where(key))

    def has(self, key: str) -> bool:
        """Tell whether `key` is given and not null."""
        return self.value.get(key) is not None

    def _get(self, key: str, default: object) -> Any:  # noqa: ANN401 -- JSON is untyped
        value = self.value.get(key, _MISSING)
        if value is _MISSING or (value is None and default is not _MISSING):
            if default is _MISSING:
                raise self.fail(key, "is missing; add it.")
            return default
        return value

    def text(self, key: str, default: object = _MISSING) -> Any:  # noqa: ANN401
        """Return a text."""
        value = self._get(key, default)
        if value is not default and not isinstance(value, str):
            raise self.fail(key, f"must be text in quotes, not {_kind(value)}.")
        return value

    def currency(self) -> str:
        """Return the optional currency, US dollars if none is given, or raise with its path."""
        found = str(self.text("currency", "USD"))
        try:
            minor_places(found)
        except BadValue:
            raise self.fail(
                "currency", f"is {found[:20]!r}; use three capital letters such as USD."
            ) from None
        return found

    def choice(self, key: str, allowed: Iterable[str], default: object = _MISSING) -> str:
        """Return one of `allowed`."""
        options = list(allowed)
        value = self.text(key, default)
        if value not in options:
            raise self.fail(key, f"is {value[:40]!r}; use one of {', '.join(options)}.")
        return str(value)

    def flag(self, key: str, *, default: bool) -> bool:
        """Return true or false."""
        value = self._get(key, default)
        if not isinstance(value, bool):
            raise self.fail(key, f"must be true or false, not {_kind(value)}.")
        return value

    def whole(self, key: str, low: int, high: int, default: object = _MISSING) -> Any:  # noqa: ANN401
        """Return a whole number within [low, high]."""
        value = self._get(key, default)
        if value is default:
            return value
        if isinstance(value, bool) or not isinstance(value, int):
            raise self.fail(key, f"must be a whole number, not {_kind(value)}.")
        if not low <= value <= high:
            raise self.fail(key, f"is {value}; it must be from {low} to {high}.")
        return value

    def number(self, key: str, low: float, high: float, default: object = _MISSING) -> Any:  # noqa: ANN401
        """Return a plain number (no money, no weight) within [low, high]."""
        value = self._get(key, default)
        if value is default:
            return value
        return checked_number(value, low, high, self.where(key))

    def decimal(self, key: str, default: object = _MISSING, *, high: str = "1000000") -> Any:  # noqa: ANN401
        """Return a decimal of zero or more, given as a string such as ``"4.85"``."""
        value = self._get(key, default)
        if value is default:
            return value
        return checked_decimal(value, self.where(key), high=high)

    def items(self, key: str, default: object = _MISSING) -> list[Any]:
        """Return a list."""
        value = self._get(key, default)
        if not isinstance(value, list):
            raise self.fail(key, f"must be a list, not {_kind(value)}.")
        return value

    def texts(self, key: str, default: object = _MISSING) -> tuple[str, ...]:
        """Return a list of texts."""
        found = self.items(key, default)
        for index, value in enumerate(found):
            if not isinstance(value, str):
                where = f"{self.where(key)}[{index}]"
                raise BadValue(f"{where} must be text, not {_kind(value)}.", where=where)
        return tuple(found)

    def each(self, key: str, default: object = _MISSING) -> Iterator[tuple[str, Any]]:
        """Yield (path, element) for a list."""
        for index, value in enumerate(self.items(key, default)):
            yield f"{self.where(key)}[{index}]", value


def checked_number(value: object, low: float, high: float, where: str) -> float:
    """Return a finite number within [low, high], or raise with its path."""
    if isinstance(value, bool) or not isinstance(value, (int, float)):
        raise BadValue(f"{where} must be a number, not {_kind(value)}.", where=where)
    # compared before it becomes a float: a long whole number has none
    if not low <= value <= high or not math.isfinite(value):
        raise BadValue(f"{where} is {value}; it must be from {low:g} to {high:g}.", where=where)
    return float(value)


def checked_decimal(value: object, where: str, *, high: str = "1000000") -> Decimal:
    """Return a decimal within [0, high] from a string, or raise with its path."""
    if not isinstance(value, str):
        raise BadValue(
            f'{where} must be a decimal in quotes such as "4.85", not {_kind(value)}.',
            where=where,
        )
    try:
        found = Decimal(value.strip())
    except InvalidOperation:
        found = Decimal("NaN")
    exponent = found.as_tuple().exponent
    # 1e-999999999 is short to write but has no end as a fraction
    too_fine = not isinstance(exponent, int) or abs(exponent) > _MAX_DIGITS
    if too_fine or len(value) > _MAX_DIGITS:
        raise BadValue(f"{where} is {value[:40]!r}; write a decimal such as 4.85.", where=where)
    if found < 0:
        raise BadValue(f"{where} is {value}; it must be zero or more.", where=where)
    if found > Decimal(high):
        raise BadValue(f"{where} is {value}; it must be at most {high}.", where=where)
    return found
