"""Pages of the site for every published figure: its table, its source, its status."""

from __future__ import annotations

import csv
from importlib.machinery import SourceFileLoader
from importlib.util import module_from_spec, spec_from_loader
from pathlib import Path
from types import ModuleType

from site_commands import ORPHAN

from collop.reference import Status, known_sources, listed_tables

HERE = Path(__file__).resolve().parent
DEMO = HERE.parent / "src" / "collop" / "shop" / "demo"


def make(documents: Path) -> None:
    """Write reference/figures/: an index, and one page for each table of published figures."""
    folder = documents / "reference" / "figures"
    folder.mkdir(parents=True)
    told = _sources_script()
    lines = []
    for path, rows in listed_tables().items():
        name = path.removesuffix(".csv").replace("/", "-")
        holds, columns = told.TABLES[path]
        counts = " | ".join(map(str, told.counts(rows)))
        cited = len({row.origin().source_id for row in rows})
        lines.append(
            f"| [{path}]({name}.md) | {told.cell(holds)} | {len(rows)} | {counts} | {cited} |"
        )
        (folder / f"{name}.md").write_text(_table(path, holds, columns, rows), "utf-8")
    head = " | ".join(status.value for status in Status)
    (folder / "index.md").write_text(
        "# Every figure with its status\n\n"
        "One page for each table of published figures; each row says where it was read. What the "
        "words mean, and\nthe publications, are in [Sources](../../sources.md).\n\n"
        f"| table | holds | rows | {head} | publications |\n|---|---|---:|---:|---:|---:|---:|\n"
        + "\n".join(lines) + "\n\n" + _invented(), encoding="utf-8")  # fmt: skip


def _table(path: str, holds: str, columns: tuple[str, ...], rows) -> str:  # noqa: ANN001
    """Return the page of one table."""
    publications = known_sources()
    used = sorted({row.origin().source_id for row in rows})
    lines = [ORPHAN, f"# {path}", "", f"{holds[:1].upper()}{holds[1:]}.", "",
             f"| {' | '.join(columns)} | source | status |",
             f"|{'---|' * (len(columns) + 2)}"]  # fmt: skip
    for row in rows:
        values = [_shown(row.values[name]) for name in columns]
        lines.append(
            "| " + " | ".join((*values, row.origin().source_id, row.status().value)) + " |"
        )
    lines += ["", "## Publications", "", "| source | publication |", "|---|---|"]
    lines += [f"| {one} | {_shown(publications[one].text())} |" for one in used]
    return "\n".join(lines) + "\n"


def _shown(value: object) -> str:
    """Return a value of a table as text of which Markdown makes nothing else."""
    text = "" if value is None else " ".join(str(value).split())
    for mark in "\\|<>*_[]`$":
        text = text.replace(mark, f"\\{mark}")
    return text


def _invented() -> str:
    """Return the list of the tables of the demo shop, which are no published figures."""
    lines = ["## Tables of the demo shop", "",
             "Invented by us: a week in a town that is not there. No published figure.", "",
             "| table | rows |", "|---|---:|"]  # fmt: skip
    for path in sorted(DEMO.glob("*.csv")):
        with path.open(encoding="utf-8", newline="") as file:
            lines.append(f"| {path.stem} | {sum(1 for _ in csv.reader(file)) - 1} |")
    return "\n".join(lines) + "\n"


def _sources_script() -> ModuleType:
    """Return scripts/sources as a module: it holds what each table is called."""
    loader = SourceFileLoader("sources_script", str(HERE / "sources"))
    module = module_from_spec(spec_from_loader(loader.name, loader))
    loader.exec_module(module)
    return module
