"""The demo shop as the pictures show it, served on a free port."""

from __future__ import annotations

import shutil
import socket
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import timedelta
from pathlib import Path

import uvicorn

from collop.carcass.freezer import freezer_order
from collop.measures import Money, Weight, WeightUnit
from collop.shop import (
    NewBooking,
    NewFreezerOrder,
    NewLine,
    Shop,
    StillClock,
    create_shop,
    open_shop,
)
from collop.web import create_app
from collop.web.keeper import Keeper

#: What the clock of the browser says: the demo shop's Tuesday, 08:00.
NOW = "2026-06-09T08:00:00"
POUND = Weight.of(1, WeightUnit.LB)
_DEADLINE_S = 60


@contextmanager
def served(folder: Path) -> Iterator[tuple[str, str]]:
    """Serve the shop while the block runs; give its address and the path of a Fire Sheet."""
    path = folder / "shop.db"
    create_shop(f"sqlite:///{path}", demo=True, clock=StillClock()).close()
    shop = open_shop(f"sqlite:///{path}", StillClock())
    live(shop)
    fire = f"/fire/{shop.fire.sheet('H2').token}"
    listener = socket.socket()
    listener.bind(("127.0.0.1", 0))
    config = uvicorn.Config(create_app(shop, keeper=Keeper(path)), log_level="warning", ws="none",
                            lifespan="off", timeout_graceful_shutdown=2)  # fmt: skip
    server = uvicorn.Server(config)
    thread = threading.Thread(target=server.run, kwargs={"sockets": [listener]}, daemon=True)
    thread.start()
    try:
        wait_for(server, thread)
        yield f"http://localhost:{listener.getsockname()[1]}", fire
    finally:
        server.should_exit = True
        thread.join(_DEADLINE_S)
        shop.close()
        shutil.rmtree(folder, ignore_errors=True)


def wait_for(server: uvicorn.Server, thread: threading.Thread) -> None:
    """Wait until the server answers; end if it cannot."""
    until = time.monotonic() + _DEADLINE_S
    while not server.started:
        if not thread.is_alive() or time.monotonic() > until:
            raise SystemExit("the shop could not be served")
        time.sleep(0.02)


def live(shop: Shop) -> None:
    """Do what makes the rarer pages say something: orders gone, off, for a freezer; a break."""
    new = NewBooking(name="Long table", collect_at=shop.now() + timedelta(hours=2), by="dot",
                     heads=12, lines=(NewLine("C16", POUND * 6),))  # fmt: skip
    gone = shop.book(new, key="gone")
    shop.hand_over(gone.id, {f"{gone.id}-1": POUND * 6}, by="dot", key="went")
    shop.learning.test("C01", POUND * 3, POUND * 2, by="dot", key="test")
    cut = [Weight.of(one, WeightUnit.LB) for one in ("13.0", "9.36")]
    shop.pickup.work("H1-1", *cut, by="marek", key="bone", words="boned and tied")
    shop.release("H1", why="the wedding is off", by="ines", key="off")
    half_a_lamb(shop)
    under_the_knife(shop)
    shop.bench.refresh()


def under_the_knife(shop: Shop) -> None:
    """Put a lamb on the block and weigh its first four parts."""
    found = shop.cutting.start_break("L-207", "lamb", by="marek", key="begin")
    for part, text in zip(found.style.parts, ("2.05", "11.60", "6.10", "5.55"), strict=False):
        weight = Weight.of(text, WeightUnit.LB)
        shop.cutting.weigh_part(found.number, part.id, weight, by="marek", key=f"weigh {part.id}")


def half_a_lamb(shop: Shop) -> None:
    """Book the freezer order of the demo's household, half a lamb cut to its choices."""
    choices = [{"large_cut": "leg", "bone": "in", "as": "roasts"},
               {"large_cut": "rack", "as": "steaks", "thickness": "1", "pieces_per_pack": 2},
               ]  # fmt: skip
    price = {"per_unit": "7.40", "weight": "24.5", "weight_is": "hot"}
    half = shop.freezer.part("L-209", "1/2", choices, more={"price": price})
    problem = shop.freezer.problem([half], name="household", fees=())
    total = Money.of(freezer_order(problem)["money"]["total"])
    new = NewFreezerOrder(problem=problem, total=total, booking_id="H3")
    shop.freezer.order(new, by="ines", key="half")
