"""The demo shop on Tuesday at eight, its Friday case, and the bounds of the conversations."""

from __future__ import annotations

import csv
import json
from datetime import datetime
from pathlib import Path

import pytest

from collop.shop import StillClock, create_shop, demo_case_friday, offers_of

TUESDAY = "2026-06-09T08:00"


@pytest.fixture(scope="session")
def bounds():
    """Return the computed bounds of each conversation by its number."""
    path = Path(__file__).with_name("scenario_talks.csv")
    with path.open(encoding="utf-8", newline="") as file:
        return {int(row["talk"]): json.loads(row["bounds_json"]) for row in csv.DictReader(file)}


@pytest.fixture
def clock():
    """Return a clock that stands on Tuesday at eight."""
    return StillClock(datetime.fromisoformat(TUESDAY))


@pytest.fixture
def shop(tmp_path, clock):
    """Return a fresh demo shop that stands still on Tuesday at eight."""
    with create_shop(f"sqlite:///{tmp_path / 'shop.db'}", demo=True, clock=clock) as shop:
        yield shop


@pytest.fixture(scope="session")
def tuesday(tmp_path_factory):
    """Return what is free on Tuesday at eight, as offers."""
    path = tmp_path_factory.mktemp("tuesday") / "shop.db"
    clock = StillClock(datetime.fromisoformat(TUESDAY))
    with create_shop(f"sqlite:///{path}", demo=True, clock=clock) as shop:
        return shop.offers()


@pytest.fixture(scope="session")
def friday():
    """Return what is free on Friday at three, as offers."""
    return offers_of(demo_case_friday())


@pytest.fixture
def ask(tuesday):
    """Return a function that writes an ask on Tuesday's case."""

    def write(*groups, **more):
        made = {
            "schema": "collop.spread/1",
            "groups": list(groups),
            "need_oz": {"plate": 7},
            "appetite_cv": 0.25,
            "now": TUESDAY,
            "use_at": "2026-06-10T18:00",
            "offers": tuesday,
        }
        return made | more

    return write
