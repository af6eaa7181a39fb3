"""Measure tickets: how long one takes to lay out and draw, and how many codes are read back.

Run ``python benchmarks/ticket/run.py [--tickets N] [--seed S]``. Times are processor time of this
process in milliseconds, libraries loaded before. The tickets are invented by chance: form, product
class, name, weight, price, lot and set of codes; those that do not fit are refused and counted.
"""

from __future__ import annotations

import argparse
import io
import statistics
import sys
import time
from collections.abc import Callable
from pathlib import Path
from random import Random
from typing import Any, TypeVar

import pypdfium2
from PIL import Image

sys.path.insert(0, str(Path(__file__).parents[2] / "tests"))

from collop.errors import BadValue
from collop.ticket import pdf, pngs
from collop.ticket.layout import layout
from ticket.test_ticket_decoded import drawn_at, expected, read
from ticket.ticket_plans import code, random_plan

T = TypeVar("T")
CONTROL = 200


def timed(work: Callable[[], T]) -> tuple[float, T]:
    """Return processor time [ms] and result."""
    start = time.process_time()
    result = work()
    return 1000 * (time.process_time() - start), result


def shown(times: list[float]) -> str:
    """Return median and 95 in 100 of times [ms]."""
    ranked = sorted(times)
    return (
        f"{statistics.median(ranked):.1f} ms, 95 of 100 under {ranked[len(ranked) * 95 // 100]:.1f}"
    )


def run(dpi: int, tickets: int, seed: int) -> None:
    """Draw tickets at a resolution and read them back, from the picture and from the page."""
    draws = Random(seed)
    times: dict[str, list[float]] = {"laid out": [], "picture": [], "page": [], "read back": []}
    refused = parts = unread = unread_pages = codes = 0
    while len(times["picture"]) < tickets:
        ticket: dict[str, Any] = random_plan(draws, dpi)
        try:
            took, found = timed(lambda ticket=ticket: layout(ticket))
        except BadValue:
            refused += 1
            continue
        times["laid out"].append(took)
        parts += len(found.parts)
        codes += len(ticket["codes"])
        took, pictures = timed(lambda ticket=ticket: pngs(ticket))
        times["picture"].append(took)
        took, file = timed(lambda ticket=ticket: pdf([ticket]))
        times["page"].append(took)
        image = Image.open(io.BytesIO(pictures[0])).convert("L")
        took, said = timed(lambda image=image: read(image))
        times["read back"].append(took)
        unread += said != expected(ticket)
        page = pypdfium2.PdfDocument(file)[0].render(scale=dpi / 72).to_pil().convert("L")
        unread_pages += read(page) != expected(ticket)
    print(f"{dpi} dpi: {tickets} tickets, {parts} parts, {codes} codes, {refused} more refused")
    print(f"  not read back: {unread} of the pictures, {unread_pages} of the pages")
    for what, all_of_it in times.items():
        print(f"  {what}: {shown(all_of_it)}")


def control() -> None:
    """Draw price codes with modules that are not whole dots, and count what is not read."""
    for dots in (1.2, 1.5, 1.6, 2.0, 3.0):
        draws = Random(3)
        unread = 0
        for _ in range(CONTROL):
            item = f"{draws.randint(0, 99999):05d}"
            made = code("upc-a", cents=draws.randint(1, 9999), item=item)
            unread += read(drawn_at("upc-a", made["data"], dots)) != ["0" + made["data"]]
        print(f"modules of {dots} dots: {unread} of {CONTROL} price codes not read")


def main() -> None:
    """Read the arguments and run."""
    reader = argparse.ArgumentParser(description=__doc__)
    reader.add_argument("--tickets", type=int, default=500)
    reader.add_argument("--seed", type=int, default=1)
    given = reader.parse_args()
    for dpi in (203, 300):
        run(dpi, given.tickets, given.seed)
    control()


if __name__ == "__main__":
    main()
