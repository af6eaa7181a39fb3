"""Command of many cutting rooms: ``benches``, each shop's plan and what to send to others.

What is known of processes and of the network is known here; the kernel takes any executor.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from concurrent.futures import Executor
from contextlib import contextmanager, suppress
from typing import Any

import click

from collop.cli.telling import answer_file
from collop.errors import ProblemError

__all__ = ["benches"]

Plan = dict[str, Any]
_MOST_PROCESSES = 256
_PATIENCE_S = 5.0
_PATIENCE = f"{_PATIENCE_S:g}s"


@click.command()
@click.argument("file")
@click.option("--processes", type=click.IntRange(1, _MOST_PROCESSES), metavar="N",
              help="Plan so many shops at once on this machine.")  # fmt: skip
@click.option("--cluster", metavar="ADDRESS",
              help="Plan on the workers of a running scheduler.")  # fmt: skip
@click.option("--json", "as_json", is_flag=True, help="Print the plan as JSON.")
def benches(file: str, *, processes: int | None, cluster: str | None, as_json: bool) -> None:
    """Plan many shops and what they send one another, from FILE (- for standard input).

    Example: collop benches docs/examples/benches.json
    """

    def solve() -> Callable[[object], Plan]:
        from collop.bench.many import plan_many

        def work_out(problem: object) -> Plan:
            with _executor(processes, cluster) as executor:
                return plan_many(problem, executor)

        return work_out

    answer_file(file, solve, _lines, as_json=as_json)


@contextmanager
def _executor(processes: int | None, cluster: str | None) -> Iterator[Executor | None]:
    """Yield what plans the shops; None is this process, one after the other."""
    if processes is not None and cluster is not None:
        raise ProblemError("--processes and --cluster are both given; choose one.")
    if cluster is not None:
        with _cluster(cluster) as executor:
            yield executor
    elif processes is not None and processes > 1:
        from concurrent.futures import ProcessPoolExecutor
        from multiprocessing import get_context

        # a fresh process: the solver's threads do not live through a fork
        with ProcessPoolExecutor(processes, mp_context=get_context("spawn")) as pool:
            yield pool
    else:
        yield None


@contextmanager
def _cluster(address: str) -> Iterator[Executor]:
    from importlib import import_module

    try:
        connect: Callable[..., Any] = import_module("distributed").Client
    except ImportError:
        raise ProblemError(
            "--cluster needs the package distributed; install it with pip install "
            '"collop[cluster]", or use --processes.'
        ) from None
    _answers(address)
    client = _within(2 * _PATIENCE_S, lambda: connect(address, timeout=_PATIENCE))
    if client is None:
        raise _nobody(address)
    with client, client.get_executor(pure=False) as executor:
        yield executor


def _within(seconds: float, call: Callable[[], Any]) -> Any:  # noqa: ANN401 -- a client is untyped
    """Return what a call returns; None if it fails to connect, or has not ended by then.

    A client waits without end for a greeting where something else than a scheduler listens.
    """
    from threading import Thread

    found: list[Any] = []

    def work() -> None:
        # also what the end of the program breaks off, when the sentence is long told
        with suppress(BaseException):
            found.append(call())

    thread = Thread(target=work, daemon=True)
    thread.start()
    thread.join(seconds)
    return found[0] if found else None


def _nobody(address: str) -> ProblemError:
    return ProblemError(
        f"No scheduler answers at {address[:80]!r}; check the address, or use --processes."
    )


def _answers(address: str) -> None:
    """Refuse an address where nobody listens: a client that cannot connect tries for long."""
    import socket
    from urllib.parse import urlsplit

    try:
        parts = urlsplit(address if "://" in address else f"tcp://{address}")
        if not parts.hostname or not parts.port:
            raise _nobody(address)
        socket.create_connection((parts.hostname, parts.port), timeout=_PATIENCE_S).close()
    except ProblemError:  # a ValueError too
        raise
    except (OSError, ValueError):
        raise _nobody(address) from None


def _lines(plan: Plan) -> Iterator[str]:
    unit = plan["unit"]
    for shop in plan["shops"]:
        inside = shop["plan"]
        told = "all bookings met" if inside["answer"] == "all" else "SHORT"
        yield f"{shop['name']}: brings {shop['contribution']} ({shop['alone']} alone), {told}"
        for line in inside["short"]:
            yield f"  {line['say']}"
    names = {shop["id"]: shop["name"] for shop in plan["shops"]}
    for trip in plan["transfers"]:
        yield (
            f"{names[trip['from']]} to {names[trip['to']]}: gains {trip['gain']}, the van's "
            f"{trip['cost']} taken off"
        )
        for line in trip["lines"]:
            leaves, arrives = (plan["days"][line[key]] for key in ("day", "arrives"))
            yield (
                f"  {leaves}  {line['name']:<30}{line['weight']:>10} {unit}, to sell from {arrives}"
            )
    if not plan["transfers"]:
        yield "Nothing is worth sending."
    yield (
        f"Together {plan['contribution']}; each alone {plan['alone']}, so the vans gain "
        f"{plan['gain']}."
    )
    for note in plan["assumptions"]:
        yield f"Assumed: {note}"
