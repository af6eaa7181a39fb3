"""The words of the tool in the language of whoever reads them.

English is what stands in the code; other languages are gettext catalogues beside it
(``locale/es/LC_MESSAGES/collop.po``), read at first use, so that there is no step of building.
`speaking` says whose language is read now: the web sets it for each request, a command for its run,
a paper for the customer it is printed for. What has no translation stays in English.

The rooms below the web make their sentences in English, with the values already in them. `said`
translates such a sentence where it is shown: it looks for the message it was made from.
"""

from __future__ import annotations

import gettext as standard
import re
from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from datetime import date, datetime, time, timedelta
from functools import cache, lru_cache
from io import BytesIO
from pathlib import Path

__all__ = [
    "LANGUAGES", "LOCALES", "N_", "SPOKEN", "day_text", "gettext", "ngettext", "npgettext",
    "pgettext", "said", "speaking",
]  # fmt: skip

#: Languages by their code (ISO 639-1), each in its own words.
LANGUAGES = {"en": "English", "es": "Español"}
#: The language that is read now, a key of `LANGUAGES`.
SPOKEN: ContextVar[str] = ContextVar("spoken", default="en")
_FOLDER = Path(__file__).parent / "locale"
#: The context of a message that stands for a sentence made elsewhere, and what divides it from it.
_MADE = "said\x04"
_VALUE = re.compile(r"%\((\w+)\)s")
_LONGEST = 2000
#: The locale whose days and numbers a language uses; English is written by Python itself.
LOCALES = {"es": "es_US"}
_PARTS = {"%A": "EEEE", "%a": "EEE", "%-d": "d", "%d": "dd", "%B": "MMMM", "%b": "MMM", "%Y": "y",
          "%H": "HH", "%M": "mm", "%S": "ss"}  # fmt: skip
_PART = re.compile("|".join(_PARTS))
#: A month in full after a day, and a year after such a month, take a word between in Spanish.
_JOINED = {"%d %B": "%d 'de' %B", "%-d %B": "%-d 'de' %B", "%B %Y": "%B 'de' %Y"}
#: Where a text is taken apart if it is not known as a whole.
_JOINTS = ((re.compile(r"(?<=[.;:!?]) "), " "), (re.compile(r", (?![A-Z])"), ", "))
_NAME = re.compile("[A-Z]")
#: A message of at most so many fixed letters, begun by a value, is that of a text of at most so
#: many times as many: a longer one only happens to hold them.
_FEW_LETTERS = 12
_LOOSE = 12
_WEEK = {name: at for at, names in enumerate((
    ("Mon", "Monday"), ("Tue", "Tuesday"), ("Wed", "Wednesday"), ("Thu", "Thursday"),
    ("Fri", "Friday"), ("Sat", "Saturday"), ("Sun", "Sunday"),
)) for name in names}  # fmt: skip
_YEAR = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
#: A day in a finished sentence: its name, its number and its month, or a part of them.
_DAY = re.compile(rf"\b({'|'.join(sorted(_WEEK, reverse=True))})\b"
                  rf"(?: (\d\d?)\b(?: ({'|'.join(_YEAR)})([a-z]*)\b)?)?")  # fmt: skip
_ANY_MONDAY = date(2024, 1, 1)


@cache
def _catalogue(language: str) -> standard.NullTranslations:
    path = _FOLDER / language / "LC_MESSAGES" / "collop.po"
    if language == "en" or not path.exists():
        return standard.NullTranslations()
    from babel.messages.mofile import write_mo  # noqa: PLC0415 -- English needs none of it
    from babel.messages.pofile import read_po  # noqa: PLC0415

    compiled = BytesIO()
    with path.open("rb") as source:
        write_mo(compiled, read_po(source, locale=language))
    compiled.seek(0)
    return standard.GNUTranslations(compiled)


def gettext(message: str) -> str:
    """Return a message in the language that is read now; the message itself if it has none."""
    return _catalogue(SPOKEN.get()).gettext(message)


def ngettext(singular: str, plural: str, n: int) -> str:
    """Return the form of a message for `n` things."""
    return _catalogue(SPOKEN.get()).ngettext(singular, plural, n)


def pgettext(context: str, message: str) -> str:
    """Return a message that means something else elsewhere, by its context."""
    return _catalogue(SPOKEN.get()).pgettext(context, message)


def npgettext(context: str, singular: str, plural: str, n: int) -> str:
    """Return the form for `n` things of a message with a context."""
    return _catalogue(SPOKEN.get()).npgettext(context, singular, plural, n)


def N_(message: str) -> str:  # noqa: N802 -- the usual name of a mark that does nothing
    """Mark a word that is shown by `said` later, so that it comes into the catalogue."""
    return message


@cache
def _made(language: str) -> tuple[tuple[tuple[str, ...], str], ...]:
    """Return fixed words, names of values between, and translation; the most fixed words first."""
    texts: dict[str, str] = getattr(_catalogue(language), "_catalog", {})
    found = []
    for key, translated in texts.items():
        if isinstance(key, str) and key.startswith(_MADE) and translated:
            # what is followed by more in the code may be read without it
            pieces = _VALUE.split(key.removeprefix(_MADE).rstrip(" "))
            pieces[::2] = [piece.replace("%%", "%") for piece in pieces[::2]]
            found.append((tuple(pieces), translated.rstrip(" ")))
    found.sort(key=lambda one: (-sum(map(len, one[0][::2])), one[0]))
    return tuple(found)


def _values_of(language: str, text: str, pieces: tuple[str, ...]) -> dict[str, str] | None:
    """Return the values between the fixed words, each as short as can be; None if they differ."""
    first, last = pieces[0], pieces[-1]
    at, end = len(first), len(text) - len(last)
    if end < at or not text.startswith(first) or not text.endswith(last):
        return None
    if not first and _is_loose(pieces, text):
        return None
    values = {}
    for name, fixed, after in zip(pieces[1:-2:2], pieces[2:-1:2], pieces[4::2], strict=True):
        where = _found(fixed, text, at, end)
        if where < 0:
            return None
        if fixed == " ":
            where = _before_known(language, text[at:end], after) + at
        values[name] = text[at:where]
        at = where + len(fixed)
    return {**values, pieces[-2]: text[at:end]}


def _is_loose(pieces: tuple[str, ...], text: str) -> bool:
    """Return whether so few fixed words hold so long a text that it was made from other ones."""
    letters = sum(map(str.isalpha, "".join(pieces[::2])))
    return letters <= _FEW_LETTERS and sum(map(str.isalpha, text)) > _LOOSE * letters


def _found(fixed: str, text: str, at: int, end: int) -> int:
    """Return where fixed words stand, not within another word; -1 if they do not."""
    where = text.find(fixed, at, end)
    while where > 0 and fixed[:1].isalpha() and text[where - 1].isalpha():
        where = text.find(fixed, where + 1, end)
    return where


def _before_known(language: str, text: str, after: str) -> int:
    """Return which space parts two values: the one before words that are known, else the first."""
    until = text.find(after) if after else -1
    held = text if until < 0 else text[:until]
    spaces = [at for at, letter in enumerate(held) if letter == " "] or [text.index(" ")]
    known = (at for at in spaces if _catalogue(language).gettext(held[at + 1 :]) != held[at + 1 :])
    return next(known, spaces[0])


def said(text: str) -> str:
    """Return a finished sentence in the language that is read now.

    The message it was made from is found by its fixed words; its values are put into the
    translation as they are, each translated too if it has one. Several sentences in a row are
    taken one by one. What is not known stays as it is.
    """
    language = SPOKEN.get()
    if language == "en" or not text:
        return text
    return _said(language, str(text))


@lru_cache(maxsize=4096)
def _said(language: str, text: str) -> str:
    if not text.strip():  # the empty message is the head of the catalogue
        return text
    if text.endswith(" "):
        return _said(language, text.rstrip(" ")) + " "
    plain = _catalogue(language).gettext(text)
    if plain != text or len(text) > _LONGEST:
        return plain
    for pieces, translated in _made(language):
        values = _values_of(language, text, pieces)
        if values is not None:
            return translated % {name: _said(language, value) for name, value in values.items()}
    for divider, joint in _JOINTS:
        if joint == ", " and _NAME.match(text):  # a name keeps its own words
            break
        parts = divider.split(text)
        told = [_said(language, part) for part in parts] if len(parts) > 1 else parts
        if told != parts:
            return joint.join(told)
    return _DAY.sub(_day_said, text)


def _day_said(found: re.Match[str]) -> str:
    """Return a day of an English sentence in the language that is read now."""
    name, number, month, rest = found.groups()
    if not number and len(name) == 3 and found.group() != found.string:
        return name  # "Sat", "Sun" and "Mon" alone may be anything
    told = day_text(_ANY_MONDAY + timedelta(days=_WEEK[name]), "%a" if len(name) == 3 else "%A")
    if month:
        day = date(2024, _YEAR.index(month) + 1, 1)
        joined = day_text(day, "%-d %B" if rest else "%-d %b").partition(" ")[2]
        return f"{told} {number} {joined}"
    return f"{told} {number}" if number else told


@contextmanager
def speaking(language: str) -> Iterator[None]:
    """Speak a language while the body runs; one that is not known is English.

    Examples
    --------
    >>> with speaking("es"):
    ...     SPOKEN.get()
    'es'
    """
    token = SPOKEN.set(language if language in LANGUAGES else "en")
    try:
        yield
    finally:
        SPOKEN.reset(token)


def day_text(moment: date | time, form: str) -> str:
    """Return a day, an hour or both in the language that is read now.

    Parameters
    ----------
    moment : date or time
        What is written; a moment is a date too.
    form : str
        Its parts as ``strftime`` names them, such as ``%a %-d %b, %H:%M``.

    Examples
    --------
    >>> day_text(date(2026, 6, 13), "%A %-d %B")
    'Saturday 13 June'
    """
    locale = LOCALES.get(SPOKEN.get())
    if locale is None or not re.search("%[AaBb]", form):
        return moment.strftime(form)
    from babel.dates import format_datetime  # noqa: PLC0415 -- English needs none of it

    for plain, joined in _JOINED.items():
        form = form.replace(plain, joined)
    pattern = _PART.sub(lambda part: _PARTS[part.group()], form)
    if not isinstance(moment, datetime):
        assert isinstance(moment, date)  # an hour alone has no name in it
        moment = datetime.combine(moment, time())
    return format_datetime(moment, pattern, locale=locale)
