"""Pages of the site for every command, made from the commands themselves."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import click

from collop.cli import main

#: Head of a page that its index leads to; the list of all pages leaves it out and stays short.
ORPHAN = "---\norphan: true\n---\n"


def make(documents: Path) -> None:
    """Write reference/commands/: an index, and one page for each command of the terminal."""
    folder = documents / "reference" / "commands"
    folder.mkdir(parents=True)
    texts = {page.stem: page.read_text(encoding="utf-8") for page in documents.glob("*.md")
             if page.stem not in ("start", "changes", "index")}  # fmt: skip
    for name, command in sorted(main.commands.items()):
        (folder / f"{name}.md").write_text(page(name, command, told_in(name, texts)), "utf-8")
    (folder / "index.md").write_text(_index(), encoding="utf-8")


def told_in(name: str, texts: dict[str, str]) -> list[str]:
    """Return the documents that speak of a command: its own first, then those that name it most."""
    count = {stem: len(re.findall(rf"collop {name}\b", text)) for stem, text in texts.items()}
    found = [stem for stem in texts if count[stem] or stem == name]
    return sorted(found, key=lambda stem: (stem != name, -count[stem], stem))


def page(name: str, command: click.Command, told: list[str]) -> str:
    """Return the page of one command, with the commands under it."""
    lines = [ORPHAN, f"# collop {name}", ""]
    if told:
        links = ", ".join(f"[{stem}](../../{stem}.md)" for stem in told[:4])
        lines += [f"Told at length in: {links}.", ""]
    for path, one in _walk(f"collop {name}", command):
        if one is not command:
            lines += [f"## {path}", ""]
        lines += _described(path, one)
    return "\n".join(lines) + "\n"


def _walk(path: str, command: click.Command) -> Iterator[tuple[str, click.Command]]:
    """Yield a command and every command under it, with the words that call them."""
    yield path, command
    if isinstance(command, click.Group):
        for name, one in sorted(command.commands.items()):
            yield from _walk(f"{path} {name}", one)


def _described(path: str, command: click.Command) -> list[str]:
    """Return what a command says of itself: paragraphs, usage, example, options."""
    context = click.Context(command, info_name=path)
    paragraphs = re.split(r"\n\s*\n", (command.help or "").strip())
    lines = []
    for text in paragraphs:
        words = " ".join(text.replace("\b", "").split())
        example = re.match(r"Example: (.*)", words)
        if example is None:
            lines += [_plain(words), ""]
        else:
            lines += ["Example:", "", f"    {example[1]}", ""]
    usage = " ".join((path, *command.collect_usage_pieces(context)))
    lines += ["Usage:", "", f"    {usage}", ""]
    options = [one for one in command.get_params(context) if isinstance(one, click.Option)]
    rows = [record for one in options if (record := one.get_help_record(context))]
    if rows:
        lines += ["| option | meaning |", "|---|---|"]
        lines += [f"| `{_cell(option)}` | {_plain(_cell(meaning))} |" for option, meaning in rows]
        lines.append("")
    return lines


def _cell(text: str) -> str:
    """Return a text that cannot break a row of a table."""
    return " ".join(text.split()).replace("|", "\\|")


def _plain(text: str) -> str:
    """Return a text of which Markdown makes nothing else."""
    return re.sub(r"([<>*_\[\]])", r"\\\1", text)


def _index() -> str:
    """Return the page that lists the commands."""
    names = sorted(main.commands)
    told = {name: main.commands[name].get_short_help_str(90) for name in names}
    rows = [f"| [{name}]({name}.md) | {_plain(_cell(told[name]))} |" for name in names]
    return (
        "# Commands\n\nMade from the commands themselves; `collop NAME --help` tells the same.\n"
        "Exit 0 is a plan (also when the answer is no), 1 an error in one sentence, 2 wrong "
        "usage.\n\n| command | what it does |\n|---|---|\n" + "\n".join(rows) + "\n"
    )  # fmt: skip
