"""Requests on every route of the application, from its own description, for some minutes.

``python benchmarks/fuzz/routes.py --minutes 12`` makes a demo shop and goes round all routes with
three makers of requests, the first most often: the shop's own forms with a field or two bent
(``tests/properties/bent_forms.py``: these reach the acts), names and values half real and half
rubbish (``odd_requests.py``), and what schemathesis makes of ``/openapi.json``, good and bad. It
prints calls and statuses by route, what may not be, and at the end whether the ledger still holds.
May not be: a server error, a traceback, a refusal without a sentence, and a refusal or a page shown
after which anything was committed (a refused sign-in is counted, and may).

Options: ``--kernel`` answers asks with the real kernel instead of the tests' quick one.
"""

from __future__ import annotations

import argparse
import logging
import sys
import tempfile
import time
import warnings
from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

ROOT = Path(__file__).resolve().parents[2]
sys.path[:0] = [str(ROOT / "tests/web"), str(ROOT / "tests/properties")]

import fake_kernel  # noqa: E402
import schemathesis  # noqa: E402
from bent_forms import SHUTTING, Bender, Written, may_write  # noqa: E402
from httpx2 import InvalidURL  # noqa: E402
from hypothesis import HealthCheck, given, seed, settings  # noqa: E402
from odd_requests import fault_of, names_real, request_of  # noqa: E402
from page_forms import HERE, routes_of  # noqa: E402
from starlette.testclient import TestClient  # noqa: E402

from collop.shop import StillClock, create_shop  # noqa: E402
from collop.web import create_app  # noqa: E402

if TYPE_CHECKING:
    from fastapi import FastAPI

    from collop.shop import Shop

_EXAMPLES = 3


class Run:
    """The counts of one run."""

    def __init__(self, client: TestClient, written: Written) -> None:
        self.client, self.written = client, written
        self.statuses, self.faults, self.made = {}, {}, Counter()

    def send(self, maker: str, method: str, path: str, **sent: Any) -> Any:  # noqa: ANN401
        """Send one request of a route, keep how it was answered, and return the answer."""
        address = sent.pop("address")
        self.made[maker] += 1
        try:
            answer = self.client.request(method, address, **sent)
        except InvalidURL:  # longer than the client itself sends
            self.made["not made: InvalidURL"] += 1
            return None
        except Exception as error:  # noqa: BLE001 -- whatever it is, it is a finding
            answer, status, fault = None, "crash", repr(error)[:200]
        else:
            status, fault = answer.status_code, fault_of(answer)
            if self.written.since() and not may_write(method, path, status):
                fault = fault or f"status {status}, and something was written"
        self.statuses.setdefault(f"{method} {path}", Counter())[status] += 1
        if fault and (method, path, fault[:40]) not in self.faults:
            self.faults[method, path, fault[:40]] = (fault, address, str(sent)[:600])
            print(f"  {method} {path}: {fault}\n    {address} {str(sent)[:600]}", flush=True)
        return answer


def main() -> None:
    """Go round until the time is over, and tell."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--minutes", type=float, default=12)
    parser.add_argument("--kernel", action="store_true")
    told = parser.parse_args()
    logging.disable(logging.CRITICAL)
    with tempfile.TemporaryDirectory() as folder:
        shop = create_shop(f"sqlite:///{folder}/shop.db", demo=True, clock=StillClock())
        app = create_app(shop, answer=None if told.kernel else fake_kernel.answer)
        with shop, TestClient(app, base_url=HERE, follow_redirects=False,
                              raise_server_exceptions=False) as client:  # fmt: skip
            run = Run(client, Written(f"{folder}/shop.db"))
            go_round(run, app, time.monotonic() + 60 * told.minutes)
            tell(run, shop)


def go_round(run: Run, app: FastAPI, until: float) -> None:
    """Let the makers send in turn, each where it was, until the time is over."""
    bent, odd = _bent(run, app), _odd(run, app)
    makers = [*[bent] * 8, *[odd] * 4, _described(run, app)]
    while time.monotonic() < until:
        for one in makers:
            next(one)


def _bent(run: Run, app: FastAPI) -> Iterator[None]:
    """Send the shop's own forms; a walk that a crash stopped begins anew."""
    turn = 0
    while True:
        turn += 1
        requests, answer = Bender(run.client, app, turn).requests(), None
        for _ in range(2_000):
            method, path, address, form = requests.send(answer)
            answer = run.send("own forms", method, path, address=address, data=form or None)
            yield
            if answer is None:
                break


def _odd(run: Run, app: FastAPI) -> Iterator[None]:
    """Send names and values half real, half rubbish, on one route after the other."""
    routes = [(method, one.path) for one in routes_of(app)
              for method in sorted(one.methods - {"HEAD"}) if one.path not in SHUTTING]  # fmt: skip
    number = 0
    while True:
        for method, path in routes:
            address, query, form = request_of(method, path, number)
            body = {"data": _grouped(form)} if form else {}
            run.send("odd values", method, path, address=address, params=query or None, **body)
            yield
        number += 1


def _described(run: Run, app: FastAPI) -> Iterator[None]:
    """Send what schemathesis makes of each operation of the description."""
    made = schemathesis.openapi.from_dict(app.openapi())
    operations = [one.ok() for one in made.get_all_operations()]
    turn = 0
    while True:
        turn += 1
        for one in operations:
            if one.path not in SHUTTING:
                _of_description(run, one, turn)
                yield


def _grouped(form: list[tuple[str, str]]) -> dict[str, list[str]]:
    """Return a form as name to values, the way the client sends it."""
    found = {}
    for name, value in form:
        found.setdefault(name, []).append(value)
    return found


def _of_description(run: Run, operation: Any, number: int) -> None:  # noqa: ANN401
    """Send what schemathesis makes of one operation, good and bad; names are mostly real."""
    for mode in schemathesis.GenerationMode:

        @given(operation.as_strategy(generation_mode=mode))
        @seed(number)
        @settings(max_examples=_EXAMPLES, database=None, deadline=None,
                  suppress_health_check=list(HealthCheck))  # fmt: skip
        def send(case: schemathesis.Case) -> None:
            names_real(case)
            body = case.body if isinstance(case.body, dict) else None
            data = {str(k): str(v) for k, v in body.items()} if body else None
            params = {str(k): str(v) for k, v in (case.query or {}).items()}
            maker = f"schemathesis {mode.value}"  # noqa: B023 -- called before the next turn
            run.send(maker, operation.method.upper(), operation.path,
                     address=case.formatted_path, params=params or None, data=data)  # fmt: skip

        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            try:
                send()
            except Exception as error:  # noqa: BLE001 -- no negative value can be made of it
                run.made[f"not made: {type(error).__name__}"] += 1


def tell(run: Run, shop: Shop) -> None:
    """Print counts by route, in all, what may not be, and the ledger."""
    for key, found in sorted(run.statuses.items()):
        shown = "  ".join(f"{status}: {count}" for status, count in sorted(found.items(), key=str))
        print(f"{key:<48}{sum(found.values()):>7}  {shown}")
    sums = sum(run.statuses.values(), Counter())
    posts = [found for key, found in run.statuses.items() if key.startswith("POST")]
    done = sum(1 for found in posts if found[303] or found[200])
    print(f"{len(run.statuses)} routes, {sum(sums.values())} calls; {dict(run.made)}")
    print(f"of {len(posts)} routes that take a form {done} came to the end of their act")
    print("statuses", dict(sorted(sums.items(), key=str)))
    print(f"{len(run.faults)} findings; shop.check() == {shop.check()}")


if __name__ == "__main__":
    main()
