"""Server-side time of the Ask page on the demo shop, one different ask after the other."""

from __future__ import annotations

import statistics
import tempfile
import time
from pathlib import Path

from starlette.testclient import TestClient

from collop.shop import create_shop
from collop.web.app import create_app


def main() -> None:
    """Print the median and the longest of 21 pages [ms]."""
    with tempfile.TemporaryDirectory() as folder:
        shop = create_shop(f"sqlite:///{Path(folder) / 'shop.db'}", demo=True)
        with shop:
            client = TestClient(create_app(shop))
            client.get("/ask?heads=30&big=16&money=310")  # loads solver and templates
            times = []
            for heads in range(25, 46):
                start = time.perf_counter()
                client.get(f"/ask?heads={heads}&big=16&money=310&day=2026-06-12&time=18:30")
                times.append(1000 * (time.perf_counter() - start))
    print(f"{len(times)} pages: median {statistics.median(times):.0f}, most {max(times):.0f} ms")


if __name__ == "__main__":
    main()
