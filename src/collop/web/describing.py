"""What each address takes, told to programs: ``/openapi.json`` with the fields of every form.

The pages read their forms as people send them, text by text; what they look for stands in
``form_fields.json``, which ``scripts/describe`` writes from a walk over the pages of the demo shop:
the fields of every form that is shown, and every name that is looked for when it is sent. A field
that numbers its lines (``weight-1``, ``weight-2``) is told once, with its first number.
"""

from __future__ import annotations

import json
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

from fastapi.openapi.utils import get_openapi

if TYPE_CHECKING:
    from fastapi import FastAPI

__all__ = ["describe", "fields_of"]

_FILE = Path(__file__).with_name("form_fields.json")
#: Text is cut at this length when it is read; see `collop.web.forms.Fields`.
_MOST_TEXT = 2000
_FORMATS = {"date": "date", "time": "time", "password": "password"}
_KINDS = {
    "amount": "an amount, such as 4.85", "count": "a whole number", "date": "a day",
    "time": "a time of day", "choice": "one of those shown on the page", "password": "a password",
    "radio": "one of those shown on the page", "checkbox": "there if it is ticked",
    "hidden": "as the page has it", "file": "a file", "button": "which button was pressed",
}  # fmt: skip
_REFUSALS = {
    "400": "The request could not be read.", "401": "Nobody is signed in.",
    "403": "Another site sent it, or it is not this person's to do.",
    "404": "There is no such thing.", "409": "The shop is in another state; nothing was written.",
    "413": "The form is too large.", "422": "Something in it is wrong; nothing was written.",
    "429": "Too many tries; wait.", "503": "The database cannot be read.",
}  # fmt: skip

Json = dict[str, Any]


@cache
def fields_of() -> dict[str, dict[str, list[str]]]:
    """Return the fields by ``METHOD /path``: name to kind and a few of its values."""
    found: dict[str, dict[str, list[str]]] = json.loads(_FILE.read_text(encoding="utf-8"))
    return found


def describe(app: FastAPI) -> None:
    """Make the application tell the fields of its forms in ``/openapi.json``.

    Parameters
    ----------
    app : FastAPI
        With all its routes.
    """

    def openapi() -> Json:
        if not app.openapi_schema:
            app.openapi_schema = _told(app)
        return app.openapi_schema

    app.openapi = openapi  # type: ignore[method-assign]


def _told(app: FastAPI) -> Json:
    told = get_openapi(title=app.title, version="1", routes=app.routes)
    for path, methods in told["paths"].items():
        for method, operation in methods.items():
            _describe(f"{method.upper()} {path}", operation)
    return told


def _describe(key: str, operation: Json) -> None:
    fields = fields_of().get(key, {})
    responses = operation.setdefault("responses", {})
    for status, said in _REFUSALS.items():
        responses.setdefault(status, {"description": said})
    responses.setdefault("303", {"description": "Done; the page that shows it."})
    if key.startswith("GET "):
        operation["parameters"] = [
            *operation.get("parameters", ()),
            *({"name": name, "in": "query", "required": False, "schema": _schema(told)}
              for name, told in fields.items()),
        ]  # fmt: skip
        return
    is_file = any(told[0] == "file" for told in fields.values())
    kind = "multipart/form-data" if is_file else "application/x-www-form-urlencoded"
    schema = {
        "type": "object",
        "properties": {name: _schema(told) for name, told in fields.items()},
        "additionalProperties": {"type": "string"},
    }
    operation["requestBody"] = {"required": False, "content": {kind: {"schema": schema}}}


def _schema(told: list[str]) -> Json:
    kind, *values = told
    found: Json = {"type": "string", "maxLength": _MOST_TEXT}
    if kind in _FORMATS:
        found["format"] = _FORMATS[kind]
    if kind == "file":
        return {"type": "string", "format": "binary"}
    if kind in _KINDS:
        found["description"] = _KINDS[kind]
    if values:
        found["examples"] = values
    return found
