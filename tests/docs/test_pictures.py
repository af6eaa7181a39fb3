"""The pictures of docs/img: one for every page, small, and shown by docs/screens.md."""

from __future__ import annotations

import re
import sys
from importlib.machinery import SourceFileLoader
from importlib.util import module_from_spec, spec_from_loader
from pathlib import Path

import pytest
from PIL import Image
from starlette.responses import HTMLResponse
from starlette.routing import Match

from collop.shop import StillClock, create_shop
from collop.web import create_app

ROOT = Path(__file__).parents[2]
IMAGES = ROOT / "docs" / "img"
#: What the whole folder may weigh, so that the project stays quick to fetch [bytes].
MOST_BYTES = 6_000_000


@pytest.fixture(scope="module")
def script():
    """Return scripts/pictures as a module, with the list it takes."""
    folder = str(ROOT / "scripts")
    sys.path.insert(0, folder)
    try:
        loader = SourceFileLoader("pictures_script", f"{folder}/pictures")
        module = module_from_spec(spec_from_loader(loader.name, loader))
        loader.exec_module(module)
    finally:
        sys.path.remove(folder)
    return module


@pytest.fixture(scope="module")
def listed(script):
    """Return every picture that is to be there."""
    return [*(one for _title, group in script.GROUPS for one in group), *script.PAPERS]


@pytest.fixture(scope="module")
def routes(tmp_path_factory):
    """Return the described routes of the pages."""
    path = tmp_path_factory.mktemp("routes") / "shop.db"
    shop = create_shop(f"sqlite:///{path}", demo=True, clock=StillClock())
    found, waiting = [], list(create_app(shop).routes)
    while waiting:
        one = waiting.pop(0)
        if hasattr(one, "original_router"):
            waiting = list(one.original_router.routes) + waiting
        elif hasattr(one, "response_class"):
            found.append(one)
    yield found
    shop.close()


def _page_at(routes, address):
    """Return the pattern of the page that answers an address."""
    scope = {"type": "http", "method": "GET", "path": address.split("?")[0], "root_path": "",
             "headers": []}  # fmt: skip
    return next((one.path for one in routes if one.matches(scope)[0] is Match.FULL), None)


def test_every_page_has_a_picture(script, routes, listed):
    """Each page that answers with HTML is in the list, or is left out with a reason."""
    from pictures_list import LEFT_OUT

    pages = {one.path for one in routes
             if "GET" in one.methods and one.response_class is HTMLResponse}  # fmt: skip
    assert len(pages) > 90
    shown = {_page_at(routes, one.address.replace("{fire}", "/fire/x")) for one in listed}
    assert pages - shown == set(LEFT_OUT)
    assert all(LEFT_OUT.values())


def test_every_picture_is_there_and_small(listed):
    """Each picture of the list is a file, no file is without a list, and all weigh little."""
    names = [one.name for one in listed]
    assert len(names) == len(set(names))
    files = {path.stem: path for path in IMAGES.glob("*.png")}
    assert set(files) == set(names)
    assert sum(path.stat().st_size for path in files.values()) < MOST_BYTES


def test_pictures_have_the_size_of_their_screen(script, listed):
    """A tablet is 1180 by 820, a phone 390 by 844, a wall 16 by 9; no picture is one colour."""
    for one in listed:
        with Image.open(IMAGES / f"{one.name}.png") as picture:
            assert len(picture.getcolors() or []) > 1, one.name
            if hasattr(one, "device"):
                width, height = script.SIZES[one.device]
                assert abs(picture.width * height - picture.height * width) <= width, one.name


def test_the_page_of_pictures_is_what_the_list_gives(script):
    """docs/screens.md was written by the script and not by hand."""
    assert (ROOT / "docs" / "screens.md").read_text(encoding="utf-8") == script.screens_page()


def test_pictures_of_the_readme_are_among_them(listed):
    """README shows pictures that the script takes anew."""
    shown = re.findall(r"\(docs/img/(\S+)\.png\)", (ROOT / "README.md").read_text("utf-8"))
    assert shown
    assert set(shown) <= {one.name for one in listed}
