"""Lays the sources of the site out: the pages of docs/ beside those made from the code."""

from __future__ import annotations

import shutil
from pathlib import Path

import site_commands
import site_figures
import site_json
import site_start

ROOT = Path(__file__).resolve().parents[1]
#: Makes the pages that are not kept in docs/: a function of the staged folder of documents.
MAKERS = (site_start.make, site_commands.make, site_json.make, site_figures.make)


def stage(to: Path) -> Path:
    """Lay the sources of the site out under a folder; return the folder of the documents."""
    shutil.rmtree(to, ignore_errors=True)
    documents = to / "docs"
    shutil.copytree(ROOT / "docs", documents, ignore=shutil.ignore_patterns("__pycache__"))
    # documents point at modules: those links keep their way
    (to / "src").symlink_to(ROOT / "src", target_is_directory=True)
    for make in MAKERS:
        make(documents)
    return documents
