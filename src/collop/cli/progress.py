"""How long work goes on, told on a terminal while it does; a file or a pipe gets none of it."""

from __future__ import annotations

import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager

import click

__all__ = ["told_while_it_works"]

_AFTER_S = 1.0
_EVERY_S = 0.2
_CLEAR = "\r\x1b[K"


@contextmanager
def told_while_it_works() -> Iterator[None]:
    """Show, from the first second on, how long the body has worked and on how many programs.

    The line stands on standard error, only if that is a terminal, and is gone at the end. What the
    kernels answer does not depend on it: they are asked whether to go on before each program that
    they solve, and always told to.
    """
    if not sys.stderr.isatty():
        yield
        return
    from collop.solver import stoppable

    began, shown, programs = time.monotonic(), 0.0, 0

    def ask() -> bool:
        nonlocal shown, programs
        now = time.monotonic()
        programs += 1
        if now - began >= _AFTER_S and now - shown >= _EVERY_S:
            shown = now
            said = f"working, {now - began:.0f} s, {programs} programs so far; Ctrl-C stops it"
            click.echo(f"{_CLEAR}{said}", nl=False, err=True)
        return False

    try:
        with stoppable(ask):
            yield
    finally:
        if shown:
            click.echo(_CLEAR, nl=False, err=True)
