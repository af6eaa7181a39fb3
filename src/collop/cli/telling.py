"""How the command speaks: plans and errors as JSON or as plain text."""

from __future__ import annotations

import json
import os
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import click

from collop.cli.progress import told_while_it_works
from collop.errors import CollopError, ProblemError

__all__ = ["answer_file", "one_sentence", "read_text", "tell_json", "tell_spread"]

_DOMAIN_ERROR = 1


@contextmanager
def one_sentence(*, as_json: bool) -> Iterator[None]:
    """Turn a domain error into one sentence on standard error, or its JSON, and exit 1."""
    try:
        yield
    except CollopError as error:
        if as_json:
            tell_json(error.as_json())
        else:
            click.echo(error.message, err=True)
        sys.exit(_DOMAIN_ERROR)
    except (LookupError, ValueError, TypeError, AttributeError, ArithmeticError) as error:
        if os.environ.get("COLLOP_TRACE"):
            raise
        said = f"Something broke here ({type(error).__name__}: {str(error)[:100]!r}); nothing was"
        said += " written. Run collop check; COLLOP_TRACE=1 tells where it broke."
        if as_json:
            tell_json(CollopError(said).as_json())
        else:
            click.echo(said, err=True)
        sys.exit(_DOMAIN_ERROR)


def tell_json(value: object) -> None:
    """Print one JSON object."""
    click.echo(json.dumps(value, ensure_ascii=False, indent=1))


def read_text(path: str) -> str:
    """Read a file, or standard input for ``-``.

    Raises
    ------
    ProblemError
        If it cannot be read as UTF-8 text.
    """
    try:
        raw = sys.stdin.buffer.read() if path == "-" else Path(path).read_bytes()
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise ProblemError(f"{path} is not UTF-8 text; save it as UTF-8.") from None
    except OSError as error:
        raise ProblemError(f"{path} cannot be read: {error.strerror}; check the name.") from None


def answer_file(
    file: str,
    solve: Callable[[], Callable[[object], dict[str, Any]]],
    lines: Callable[[dict[str, Any]], Iterator[str]],
    *,
    as_json: bool,
) -> None:
    """Read a problem, solve it and print the plan as JSON or as lines.

    Parameters
    ----------
    file : str
        Name of the file, ``-`` for standard input.
    solve : callable
        Returns the kernel; what it imports is heavy, so it is called late.
    lines : callable
        Yields the plan in words.
    as_json : bool
        Print the plan as it is.
    """
    with one_sentence(as_json=as_json):
        from collop.wire import load_json

        problem = load_json(read_text(file))
        with told_while_it_works():
            plan = solve()(problem)
    if as_json:
        tell_json(plan)
        return
    for line in lines(plan):
        click.echo(line)


def tell_spread(plan: dict[str, Any]) -> None:
    """Print a spread plan for people."""
    for line in _plan_lines(plan):
        click.echo(line)


def _plan_lines(plan: dict[str, Any]) -> Iterator[str]:
    need = plan["need"]
    yield (
        f"{plan['heads']} eaters, {need['meals']:g} meals on average, "
        f"{need['planned_meals']:.1f} planned so that it is enough."
    )
    for note in plan["assumptions"]:
        yield f"Assumed: {note}"
    if plan["answer"] == "no":
        yield from _no_lines(plan)
    for spread in plan["spreads"]:
        yield from _spread_lines(spread)
    if plan["curve"]:
        points = "   ".join(f"{p['total']} -> {100 * p['eating']:.0f}" for p in plan["curve"])
        yield f"\nMoney and eating (of 100): {points}"
    if plan["more_money"]:
        yield f"{plan['more_money']['by']} more: {plan['more_money']['buys']}"


def _no_lines(plan: dict[str, Any]) -> Iterator[str]:
    yield f"\nNO. What stands in the way: {', '.join(plan['blocked_by']) or 'several things'}."
    for yes in plan["nearest_yes"] or []:
        yield f"  Yes, with {yes['change']} {yes['to']}: {yes['why']}"


def _spread_lines(spread: dict[str, Any]) -> Iterator[str]:
    proof = spread["proof"]
    proven = "proven" if proof["status"] == "optimal" else f"gap {proof['gap']:.2%}"
    feeds = spread["feeds"]
    yield f"\n{spread['title'].upper()}  ({proven})"
    yield f'  "{spread["say"]}"'
    for line in spread["lines"]:
        weight = f"{line['weight_lb']} lb"
        if line["pieces"]:
            weight = f"{len(line['pieces'])} pc, {weight}"
        role = line["slot"] or ""
        yield (
            f"  {role:<12} {line['name']:<30} {line['style']:<7} {weight:>16} "
            f"{line['line_total']:>9}"
        )
        cook = line["cook_to"]
        if cook:
            rest = f", rest {cook['rest_min']} min" if cook["rest_min"] else ""
            yield f"{'':15}{line['reason']} Cook to {cook['f']} F ({cook['c']} C){rest}."
        else:
            yield f"{'':15}{line['reason']}"
    left = "" if spread["left"] is None else f", {spread['left']} left"
    over = "" if spread["over_by"] is None else f", over by {spread['over_by']}"
    yield f"  {'':12} {'total':<30} {'':7} {'':>16} {spread['total']:>9}"
    yield (
        f"  {spread['per_head']} a head{left}{over}. Feeds {feeds['light']} light, "
        f"{feeds['usual']} usual, {feeds['hungry']} hungry plates; "
        f"enough with a chance of {spread['chance_enough']:.0%}."
    )
    yield f"  {spread['gave_up']}"
