"""Pages of the site for every JSON problem and plan, made from their schemas."""

from __future__ import annotations

import json
from collections.abc import Iterator
from importlib import import_module
from pathlib import Path
from typing import Any

from site_commands import ORPHAN

from collop.cli.asks import _SCHEMA_MODULES as MODULES

#: What a decimal in quotes is called in the tables.
_DECIMAL, _SIGNED = r"^[0-9]+(\.[0-9]+)?$", r"^-?[0-9]+(\.[0-9]+)?$"
_PATTERNS = {_DECIMAL: "decimal in quotes", _SIGNED: "decimal in quotes, may be negative"}
_LIMITS = {"minimum": "at least {}", "maximum": "at most {}", "exclusiveMinimum": "over {}",
           "minItems": "{} or more of them", "maxItems": "{} at most",
           "minLength": "{} or more letters", "maxLength": "{} letters at most",
           "minProperties": "{} or more keys"}  # fmt: skip
Schema = dict[str, Any]


def make(documents: Path) -> None:
    """Write reference/json/: an index, and one page for each problem with its plan."""
    folder = documents / "reference" / "json"
    folder.mkdir(parents=True)
    for name in MODULES:
        told = f"../../{name}.md" if (documents / f"{name}.md").is_file() else None
        example = documents / "examples" / f"{name}.json"
        text = page(name, told, example if example.is_file() else None)
        (folder / f"{name}.md").write_text(text, encoding="utf-8")
    listed = "\n".join(f"| [{name}]({name}.md) | `collop schema {name}` |" for name in MODULES)
    (folder / "index.md").write_text(
        "# JSON\n\nThe keys of each problem and of its plan, made from the schemas that\n"
        "`collop schema NAME` prints. Money and weights are decimals in quotes; other numbers\n"
        f"are numbers. A key that is not known is refused.\n\n"
        f"| problem and plan | schema |\n|---|---|\n{listed}\n",
        encoding="utf-8")  # fmt: skip


def page(name: str, told: str | None, example: Path | None) -> str:
    """Return the page of one problem and its plan."""
    schemas = import_module(MODULES[name]).SCHEMAS
    lines = [ORPHAN, f"# {name}", ""]
    if told:
        lines += [f"What the keys mean is told in [{name}]({told}).", ""]
    if example:
        pair = f"[problem](../../examples/{name}.json)"
        if example.with_suffix(".plan.json").is_file():
            pair += f", [plan](../../examples/{name}.plan.json)"
        lines += [f"A worked pair: {pair}.", ""]
    for title, which in (("The problem", name), ("The plan", f"{name}.plan")):
        lines += [f"## {title}", "", "| key | kind | must be there |", "|---|---|---|"]
        for path, kind, must in rows(schemas[which], schemas[which]):
            lines.append(f"| `{path}` | {_cell(kind)} | {'yes' if must else ''} |")
        text = json.dumps(schemas[which], indent=1, ensure_ascii=False)
        lines += ["", f"### {title}: the schema", "", "```json", text, "```", ""]
    return "\n".join(lines) + "\n"


def rows(
    schema: Schema, whole: Schema, path: str = "", seen: tuple[str, ...] = ()
) -> Iterator[tuple[str, str, bool]]:
    """Yield each key of an object with its kind and whether it must be there, parents first."""
    schema = _solid(schema, whole)
    must = set(schema.get("required", ()))
    for key, value in schema.get("properties", {}).items():
        here = f"{path}{key}"
        yield here, kind_of(value, whole), key in must
        yield from _under(value, whole, here, seen)


def _under(
    value: Schema, whole: Schema, here: str, seen: tuple[str, ...]
) -> Iterator[tuple[str, str, bool]]:
    """Yield the keys of what lies in a value; what holds itself is told once."""
    if "$ref" in value:
        if value["$ref"] in seen:
            return
        seen = (*seen, value["$ref"])
    one = _solid(value, whole)
    for part in one.get("anyOf") or one.get("oneOf") or ():
        yield from _under(part, whole, here, seen)
    if "properties" in one:
        yield from rows(one, whole, f"{here}.", seen)
    elif isinstance(one.get("additionalProperties"), dict):
        yield from _under(one["additionalProperties"], whole, f"{here}.NAME", seen)
    elif isinstance(one.get("items"), dict):
        yield from _under(one["items"], whole, f"{here}[]", seen)


def _solid(schema: Schema, whole: Schema) -> Schema:
    """Return a schema with its reference, if it is one, looked up."""
    if "$ref" not in schema:
        return schema
    found: Any = whole
    for part in schema["$ref"].removeprefix("#/").split("/"):
        found = found[part]
    return _solid(found, whole)


def _choices(schema: Schema, whole: Schema) -> list[Schema]:
    """Return what a value may be: one schema, or each of several."""
    schema = _solid(schema, whole)
    several = schema.get("anyOf") or schema.get("oneOf")
    if not several:
        return [schema]
    return [one for part in several for one in _choices(part, whole)]


def kind_of(schema: Schema, whole: Schema) -> str:
    """Return what a value may be, in words."""
    return " or ".join(dict.fromkeys(_word(one, whole) for one in _choices(schema, whole)))


def _word(one: Schema, whole: Schema) -> str:
    """Return what one schema without choices asks for."""
    if "const" in one:
        return f"`{json.dumps(one['const'])}`"
    if "enum" in one:
        return ", ".join(f"`{json.dumps(value)}`" for value in one["enum"])
    kinds = one.get("type", "anything")
    kinds = [kinds] if isinstance(kinds, str) else list(kinds)
    words = []
    for kind in kinds:
        if kind == "string" and "pattern" in one:
            words.append(_PATTERNS.get(one["pattern"], f"text like `{one['pattern']}`"))
        elif kind == "array" and isinstance(one.get("items"), dict):
            words.append(f"list of {kind_of(one['items'], whole)}")
        else:
            words.append(
                {"string": "text", "array": "list", "integer": "whole number"}.get(kind, kind)
            )
    limits = [text.format(one[key]) for key, text in _LIMITS.items() if key in one]
    return " or ".join(words) + (f" ({', '.join(limits)})" if limits else "")


def _cell(text: str) -> str:
    """Return a text that cannot break a row of a table."""
    return text.replace("|", "\\|")
