"""The words of the tool in the language of whoever reads them.

English is what stands in the code; other languages are gettext catalogues beside it
(``locale/es/LC_MESSAGES/collop.po``), read at first use, so that there is no step of building.
`speaking` says whose language is read now: the web sets it for each request, a command for its run,
a paper for the customer it is printed for. What has no translation stays in English.
"""

from __future__ import annotations

import gettext as standard
from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from functools import cache
from io import BytesIO
from pathlib import Path

__all__ = ["LANGUAGES", "SPOKEN", "gettext", "ngettext", "npgettext", "pgettext", "speaking"]

#: Languages by their code (ISO 639-1), each in its own words.
LANGUAGES = {"en": "English", "es": "Español"}
#: The language that is read now, a key of `LANGUAGES`.
SPOKEN: ContextVar[str] = ContextVar("spoken", default="en")
_FOLDER = Path(__file__).parent / "locale"


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
