"""The house rules that a machine can hold: sizes, parameters, words, lock files."""

from __future__ import annotations

import ast
import re
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
MODULES = sorted((ROOT / "src").rglob("*.py"))
MOST_LINES = 400
MOST_BODY = 40
MOST_POSITIONAL = 6


def _functions(path: Path):
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, (ast.FunctionDef, ast.AsyncFunctionDef)):
            yield node


def _body_lines(node: ast.FunctionDef) -> int:
    """Count the lines of a function without its docstring."""
    body = node.body[1:] if ast.get_docstring(node) else node.body
    return body[-1].end_lineno - body[0].lineno + 1 if body else 0


@pytest.mark.parametrize("path", MODULES, ids=lambda p: str(p.relative_to(ROOT / "src")))
def test_a_module_stays_readable(path):
    """No module is over 400 lines, no body over 40, no function over six positional parameters."""
    assert len(path.read_text(encoding="utf-8").splitlines()) <= MOST_LINES
    for node in _functions(path):
        assert _body_lines(node) <= MOST_BODY, node.name
        positional = [*node.args.posonlyargs, *node.args.args]
        assert len(positional) <= MOST_POSITIONAL, node.name


@pytest.mark.parametrize("path", MODULES, ids=lambda p: str(p.relative_to(ROOT / "src")))
def test_what_is_public_is_described(path):
    """Each module, and each public class and function in it, has a docstring."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    if not tree.body:
        return
    assert ast.get_docstring(tree)
    for node in tree.body:
        if isinstance(node, (ast.FunctionDef, ast.ClassDef)) and not node.name.startswith("_"):
            assert ast.get_docstring(node), node.name


def test_lock_files_pin_hashes_and_name_no_address():
    """Each requirement has a hash; no lock file holds an address or an index option."""
    locks = sorted(ROOT.glob("requirements*.lock"))
    assert len(locks) == 2
    for lock in locks:
        text = lock.read_text(encoding="utf-8")
        assert "://" not in text
        assert "--index" not in text
        assert "--extra-index" not in text
        pins = re.findall(r"^[A-Za-z0-9_.\-\[\]]+==", text, re.MULTILINE)
        assert pins
        for block in re.split(r"\n(?=[A-Za-z0-9])", text):
            if re.match(r"[A-Za-z0-9_.\-\[\]]+==", block):
                assert "--hash=sha256:" in block, block[:60]


def test_pages_and_styles_call_no_other_address():
    """No template, style or script of ours names an outside address."""
    static = ROOT / "src/collop/web"
    files = [p for p in static.rglob("*") if p.suffix in {".html", ".css", ".js"}]
    assert files
    for path in files:
        if "vendor" in path.parts:
            continue
        text = path.read_text(encoding="utf-8")
        found = [a for a in re.findall(r"https?://[^\s\"'<>)]+", text) if "www.w3.org" not in a]
        assert not found, (path.name, found)


def test_the_kernels_load_without_database_or_web():
    """Importing the spread kernel pulls in no database, web framework or validator."""
    code = (
        "import sys, collop.spread, collop.cli\n"
        "heavy = {'sqlalchemy', 'alembic', 'fastapi', 'starlette', 'pydantic', 'uvicorn', 'jinja2',"
        " 'highspy', 'numpy'} & set(sys.modules)\n"
        "assert not heavy, heavy"
    )
    subprocess.run([sys.executable, "-c", code], check=True)


def test_import_contracts_hold():
    """The rooms import one way only."""
    tool = Path(sys.executable).with_name("lint-imports")
    done = subprocess.run([tool], cwd=ROOT, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stdout
