"""Keeping: the copies on the screen, one made by a touch, and what to do on a bad day."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import fake_kernel
import pytest
from starlette.testclient import TestClient

from collop.errors import StorageTrouble
from collop.shop.disk_look import DiskLook
from collop.web import create_app
from collop.web.keeper import Keeper
from collop.web.keeping import age_words, size_words


@pytest.fixture
def keeper(shop, tmp_path):
    return Keeper(tmp_path / "shop.db")


@pytest.fixture
def kept_client(shop, keeper):
    with TestClient(
        create_app(shop, answer=fake_kernel.answer, keeper=keeper), follow_redirects=True
    ) as made:
        yield made


def test_a_shop_on_a_server_is_kept_elsewhere(client, words):
    """Without a file there is nothing to copy from here, and the page says so."""
    assert "its copies are made there" in words(client.get("/keeping").text)
    assert client.post("/keeping").status_code == 409


def test_a_touch_makes_a_copy_and_shows_it(kept_client, keeper, words):
    """Made, checked, first in the list, with the command that puts it back."""
    assert "There is no copy yet" in words(kept_client.get("/keeping").text)
    page = words(kept_client.post("/keeping").text)
    (made,) = [one for one in keeper.kept() if one.note]
    assert f"{made.path.name} is made and checked" in page
    assert f"collop restore {made.path} --db {keeper.path}" in page
    assert "Acts in it" in page


def test_what_stopped_a_copy_is_told_loudly(kept_client, monkeypatch, words):
    """503, the sentence, and it stays on the page until a copy is good."""

    def full(*_args, **_more):
        raise StorageTrouble("No backup was made in there: No space left on device.")

    with monkeypatch.context() as patch:
        patch.setattr("collop.web.keeper.make_backup", full)
        answer = kept_client.post("/keeping")
    assert answer.status_code == 503
    assert "No space left on device" in words(answer.text)
    assert "No space left on device" in words(kept_client.get("/keeping").text)
    assert "No copy of the shop was made" in words(kept_client.get("/lockup").text)
    kept_client.post("/keeping")
    assert "No space left on device" not in words(kept_client.get("/keeping").text)
    assert "No copy of the shop was made" not in words(kept_client.get("/lockup").text)


def test_warnings_of_the_disk_are_shown(kept_client, monkeypatch, words):
    """A cache that lies, a log that grew, no room."""
    found = DiskLook(0.00001, 5 * 2**20, 2**20, 70 * 2**20, ("This disk answers in 0.01 ms.",))
    monkeypatch.setattr("collop.web.keeping.look_at_disk", lambda _path: found)
    page = words(kept_client.get("/keeping").text)
    assert "This disk answers in 0.01 ms." in page
    assert "70.0 MB of log beside it" in page
    assert "Room left 5.0 MB" in page


def test_ages_and_sizes_are_told_in_words():
    """One of a thing is not told as many; a copy of tomorrow is told as that."""
    now = datetime(2026, 6, 9, 8, 0, tzinfo=UTC)
    ages = [
        age_words(now - timedelta(minutes=many), now) for many in (0, 1, 59, 60, 2000, 9000, -5)
    ]
    assert ages == ["0 minutes ago", "1 minute ago", "59 minutes ago", "1 hour ago", "33 hours ago",
                    "6 days ago", "ahead of this machine's clock"]  # fmt: skip
    assert [size_words(count) for count in (0, 2048, 2**20, 3 * 2**30)] == [
        "0 kB", "2 kB", "1.0 MB", "3.0 GB"]  # fmt: skip


PAGES = ["/ask", "/case", "/hook", "/rail", "/bench", "/lockup", "/board", "/sell"]


def test_a_file_that_breaks_under_a_server_is_told_by_its_pages(shop, client, tmp_path):
    """Noise over every page of the file but the first: 503 and a sentence, or a whole page."""
    path = tmp_path / "shop.db"
    assert client.get("/case").status_code == 200
    shop._room.store.close()  # what was read already must not be answered from memory
    data = path.read_bytes()
    path.write_bytes(data[:4096] + b"\xa5" * (len(data) - 4096))
    seen = set()
    for page in PAGES:
        answer = client.get(page)
        seen.add(answer.status_code)
        assert answer.status_code in {200, 303, 503}, (page, answer.text)
        if answer.status_code == 503:
            assert "is damaged" in answer.text
            assert "Nothing was written." in answer.text
    assert 503 in seen
    path.write_bytes(data)
    assert client.get("/case").status_code == 200


def test_a_file_taken_away_under_a_server_is_told_by_its_pages(client, tmp_path, read_page, words):
    """A sale that would go into a file without a name is refused; put back, it goes through."""
    form = read_page(client.get("/sell").text).form("/sell") | {"cut": "C11", "gross": "1.08"}
    at = client.post("/sell", data=form).headers["location"]
    form = read_page(client.get(at).text).form("/sell") | {"way": "cash", "by": "dot"}
    (tmp_path / "shop.db").rename(tmp_path / "elsewhere.db")
    answer = client.post("/sell", data=form)
    assert answer.status_code == 409
    assert "was moved, removed or replaced while it was in use" in words(answer.text)
    (tmp_path / "elsewhere.db").rename(tmp_path / "shop.db")
    assert client.post("/sell", data=form).status_code == 303
