"""Every route, sent requests half real and half rubbish, never breaks and never half writes.

What a route takes is read from the application's own OpenAPI description (OpenAPI 3.1; bad and good
requests of the second test are made from it by the reference library schemathesis). The long run is
``benchmarks/fuzz/routes.py``.
"""

from __future__ import annotations

import sys
from pathlib import Path

import pytest
from odd_requests import fault_of, request_of
from page_forms import HERE, routes_of
from starlette.testclient import TestClient

from collop.shop import StillClock, create_shop
from collop.web import create_app

sys.path.append(str(Path(__file__).parents[1] / "web"))

import fake_kernel

ROUNDS = 2
#: Every so many operations get requests of schemathesis: all of them take minutes.
_EVERY = 40


@pytest.fixture(scope="module")
def served(tmp_path_factory):
    path = tmp_path_factory.mktemp("any") / "shop.db"
    with create_shop(f"sqlite:///{path}", demo=True, clock=StillClock()) as shop:
        app = create_app(shop, answer=fake_kernel.answer)
        with TestClient(app, base_url=HERE, follow_redirects=False) as client:
            yield shop, app, client


def _sent(client, method, path, number):
    address, query, form = request_of(method, path, number)
    data = {}
    for name, value in form:
        data.setdefault(name, []).append(value)
    return client.request(method, address, params=query or None, data=data or None)


def test_every_route_answers_any_request_with_a_page_or_a_sentence(served):
    """No server error, no traceback; and the ledger and the log hold afterwards."""
    shop, app, client = served
    faults, calls = [], 0
    for number in range(ROUNDS):
        for route in routes_of(app):
            for method in sorted(route.methods - {"HEAD"}):
                answer = _sent(client, method, route.path, 1_000_000 + number)
                calls += 1
                if fault := fault_of(answer):
                    faults.append((method, route.path, 1_000_000 + number, fault))
    assert faults == []
    assert calls > 250 * ROUNDS
    assert shop.check() == []


def test_requests_made_from_the_description_are_answered_too(served):
    """Some operations, each with requests that fit the description and some that do not."""
    import schemathesis
    from hypothesis import HealthCheck, given, settings

    shop, app, client = served
    made = schemathesis.openapi.from_dict(app.openapi())
    operations = [one.ok() for one in made.get_all_operations()]
    faults, calls = [], []

    def answered(operation, case):
        body = case.body if isinstance(case.body, dict) else {}
        answer = client.request(operation.method, case.formatted_path, params=case.query,
                                data=body or None)  # fmt: skip
        calls.append(operation.label)
        if fault := fault_of(answer):
            faults.append((operation.label, fault))

    for operation in operations[::_EVERY]:

        @given(operation.as_strategy(generation_mode=schemathesis.GenerationMode.POSITIVE))
        @settings(max_examples=3, database=None, suppress_health_check=list(HealthCheck))
        def send(case):
            answered(operation, case)  # noqa: B023 -- called before the next turn

        send()
    assert faults == []
    assert len(set(calls)) >= len(operations) // _EVERY
    assert shop.check() == []
