"""Pages of the site made from files that lie outside docs/: README, changes, measurements."""

from __future__ import annotations

import re
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
_RESULTS = re.compile(r"\]\(\.\./benchmarks/(\w+)/\w+\.md\)")
_LINK = re.compile(r"\]\((?!https?:|#)([^)]+)\)")


def make(documents: Path) -> None:
    """Write start.md, changes.md and measured/ into the staged documents; list what is unlisted."""
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    start = _LINK.sub(lambda found: f"]({_from_root(found[1])})", readme)
    (documents / "start.md").write_text(_lead(start), encoding="utf-8")
    changes = (ROOT / "CHANGELOG.md").read_text(encoding="utf-8")
    (documents / "changes.md").write_text(changes, encoding="utf-8")
    _measured(documents / "measured")
    for page in documents.glob("*.md"):
        text = page.read_text(encoding="utf-8")
        text = _RESULTS.sub(r"](measured/\1.md)", text).replace("](../README.md)", "](start.md)")
        page.write_text(text, encoding="utf-8")
    index = documents / "index.md"
    text = index.read_text(encoding="utf-8")
    index.write_text(text + further(text, [page.stem for page in documents.glob("*.md")]), "utf-8")


def further(index: str, pages: list[str]) -> str:
    """Return a list of the pages that the index does not name, so that none is out of reach."""
    missing = sorted(set(pages) - {"index"} - set(index.splitlines()))
    if not missing:
        return ""
    listed = "\n".join(missing)
    return f"\n```{{toctree}}\n:caption: Further\n:maxdepth: 1\n\n{listed}\n```\n"


def _from_root(target: str) -> str:
    """Return where a link of the README leads when it stands in docs/."""
    if target == "docs/decisions":
        return "decisions/index.md"
    if target.startswith("docs/"):
        return target.removeprefix("docs/")
    if target.startswith("benchmarks/"):
        return f"measured/{target.removeprefix('benchmarks/')}.md"
    return f"../{target}"


def _lead(text: str) -> str:
    """Return a link to the licence as words: the site holds no copy of it."""
    return re.sub(r"\[([^\]]*)\]\(\.\./LICENSE\)", r"\1", text)


def _measured(folder: Path) -> None:
    """Write one page for each room that was measured: what, how, and the results."""
    folder.mkdir()
    rooms = []
    for room in sorted((ROOT / "benchmarks").iterdir()):
        parts = [room / name for name in ("README.md", "RESULTS.md") if (room / name).is_file()]
        if not parts:
            continue
        rooms.append(room.name)
        text = "\n\n".join(part.read_text(encoding="utf-8") for part in parts)
        (folder / f"{room.name}.md").write_text(_one_title(text), encoding="utf-8")
    listed = "\n".join(rooms)
    (folder / "index.md").write_text(
        "# Measured\n\nWhat was measured, on which machine, and the commands that do it again.\n\n"
        f"```{{toctree}}\n:maxdepth: 1\n\n{listed}\n```\n", encoding="utf-8")  # fmt: skip


def _one_title(text: str) -> str:
    """Return Markdown in which the first title stays one and every further heading is under it."""
    lines, titled, fenced = [], False, False
    for line in text.splitlines():
        fenced ^= line.startswith("```")
        heading = line.startswith("#") and not fenced
        if heading and not titled:
            titled = True
        elif heading and line.startswith("# "):
            line = f"#{line}"  # noqa: PLW2901
        lines.append(line)
    return "\n".join(lines) + "\n"
