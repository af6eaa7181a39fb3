"""A shop moves from a file to a server and back, and nothing of it changes on the way."""

from __future__ import annotations

import pytest

from collop.errors import StorageTrouble
from collop.measures import Weight, WeightUnit
from collop.shop import NewBooking, NewLine, StillClock, create_shop, open_shop
from collop.shop.clock import DEMO_START
from collop.shop.exchange_loading import import_zip

LEG = NewLine("C01", Weight.of("0.5", WeightUnit.LB))


def exported(url):
    """Return the export of everything, byte for byte."""
    with open_shop(url, StillClock()) as shop:
        return shop.exchange.export()


def booked(url, key):
    """Book a little, and return the booking's number."""
    with open_shop(url, StillClock()) as shop:
        new = NewBooking(name="Mover", collect_at=DEMO_START.replace(day=13, hour=10), by="dot",
                         lines=(LEG,))  # fmt: skip
        made = shop.book(new, key=key)
        assert shop.check() == []
        return made.id


def test_file_to_server_to_file_is_the_same_to_the_byte(ground, tmp_path):
    """Exported, imported on PostgreSQL, exported again, imported into a file: equal each time."""
    first = f"sqlite:///{tmp_path}/first.db"
    create_shop(first, demo=True).close()
    booked(first, "before")
    told = exported(first)
    server = ground.database("moving")
    assert import_zip(told, f"{server}?shop=weir")["audit"] == 2
    assert exported(f"{server}?shop=weir") == told
    # numbers go on where they stood, on either
    number = booked(f"{server}?shop=weir", "after")
    told = exported(f"{server}?shop=weir")
    back = f"sqlite:///{tmp_path}/back.db"
    import_zip(told, back)
    assert exported(back) == told
    assert booked(first, "after") == number
    assert int(booked(back, "later")[1:]) == int(number[1:]) + 1


def test_an_import_never_writes_into_a_shop(ground, tmp_path):
    """The name is taken: told, and the shop there is as it was."""
    first = f"sqlite:///{tmp_path}/first.db"
    create_shop(first, demo=True).close()
    url = ground.database("taken") + "?shop=one"
    create_shop(url, demo=True).close()
    before = exported(url)
    with pytest.raises(StorageTrouble, match="already"):
        import_zip(exported(first), url)
    assert exported(url) == before


def test_an_import_that_fails_leaves_no_shop(ground, tmp_path, monkeypatch):
    """Broken off in the middle, nothing can be opened, and the next try works."""
    first = f"sqlite:///{tmp_path}/first.db"
    create_shop(first, demo=True).close()
    told, url = exported(first), ground.database("broken_off") + "?shop=one"

    def broken(_conn):
        raise StorageTrouble("The server went away.")

    with monkeypatch.context() as patch:
        patch.setattr("collop.shop.exchange_loading._adds_up", broken)
        with pytest.raises(StorageTrouble, match="went away"):
            import_zip(told, url)
    with pytest.raises(StorageTrouble):
        open_shop(url)
    import_zip(told, url)
    assert exported(url) == told
