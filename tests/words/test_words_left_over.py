"""No page in Spanish shows a text that the catalogue has in Spanish, or a sentence of English."""

from __future__ import annotations

import re
from html.parser import HTMLParser

import pytest
from starlette.testclient import TestClient

from collop.shop import StillClock, create_shop
from collop.web import create_app
from collop.words import gettext, speaking

WHEN = "day=2026-06-12&time=18:30"
#: The main pages of the rooms, those of the counter too.
PAGES = [
    f"/ask?heads=34&big=16&money=310&contains=sesame&no_n=7&no_what=pork&{WHEN}", "/case",
    "/case/C17/cook", "/hook", "/hook/to-tell", "/hook/H8", "/hook/H8/pick-up", "/hook/H2/fire",
    "/free-by?day=2026-06-11&cut=C10&amount=5", "/standing/S1", "/sell/H8", "/board",
    "/tickets?case=C02&gross=4.87", "/fire-sums", "/fire-sums/heat",
    "/chalk", "/chalk/sums", "/chalk/sums/equation?tag=B-41F", "/chalk/sums/whole?tag=P-118",
    "/chalk/sums/mark-down?line=C31", "/chalk/sums/put-out?line=C11", "/bench", "/farm", "/rail",
    "/flow?lot=B-41", "/flow?day=2026-06-08", "/flow?week=2026-06-08", "/recall?lot=B-41F.03",
    "/trace?lot=T3", "/daybook", "/daybook/cold", "/daybook/clean", "/daybook/receive",
    "/daybook/mince/begin", "/daybook/batch/begin", "/daybook/mince/26159-G1-01",
    "/rules?topic=holding", "/rules/SF006", "/rules/sums", "/reckoning", "/freezer", "/exchange",
    "/lockup", "/long-list", "/buying/new",
]  # fmt: skip
#: Words of English that are of no name of the demo shop and no words of Spanish.
COMMON = frozenset({
    "the", "this", "that", "what", "which", "there", "nothing", "nobody", "is", "are", "was",
    "were", "been", "their", "your", "enter", "write", "choose", "leave", "until", "over",
})  # fmt: skip
#: What stays English: sources as they are printed, notes and names of the shop, the words a law
#: prescribes, columns of a file.
STAYS = re.compile(
    r"USDA|US FDA|FSIS|NIST|Handbook|DBPR|Minnesota|FoodSafety|E0\d|E1\d|Farm page|half is sold"
    r"|[Ww]edding|Pays monthly|standing order; asks|is all there is|order, name|id, name"
    r"|for the case'|as cited|shin on the bone|Shin on the bone|packs for two|[Ss]afe [Hh]andling"
    r"|washed away"
)


class _Text(HTMLParser):
    """The words of a page that are read, without what a script reads."""

    def __init__(self, html):
        super().__init__()
        self.texts, self._quiet = [], 0
        self.feed(html)

    def handle_starttag(self, tag, attrs):
        """Note what a part is called."""
        self._quiet += tag in {"script", "style"}
        self.texts += [text for name, text in attrs
                       if name in {"aria-label", "title", "alt"} and text]  # fmt: skip

    def handle_endtag(self, tag):
        """Leave a part."""
        self._quiet -= tag in {"script", "style"}

    def handle_data(self, data):
        """Keep what is read."""
        text = " ".join(data.split())
        if text and not self._quiet:
            self.texts.append(text)


@pytest.fixture(scope="module")
def spanish(tmp_path_factory):
    """Return a client that reads Spanish, and the names that are the shop's own words."""
    path = tmp_path_factory.mktemp("left") / "shop.db"
    shop = create_shop(f"sqlite:///{path}", demo=True, clock=StillClock())
    with shop, TestClient(create_app(shop), follow_redirects=False) as client:
        client.cookies.set("collop_language", "es")
        names = {line.name for line in shop.case()}
        # cold places, parts of a style and files have names of their own, some of them messages too
        own = {"Case", "Freezer", "Cutting room", "Walk-in", "Brisket", "Fat", "Bone", "Trim"}
        yield client, names | own | {"case", "bookings"}


@pytest.mark.parametrize("address", PAGES)
def test_no_page_shows_english_that_the_catalogue_has_in_spanish(spanish, address):
    """A text that is a message and has another text in Spanish was not passed through it."""
    client, names = spanish
    answer = client.get(address)
    assert answer.status_code == 200
    texts = [text for text in _Text(answer.text).texts if text.strip(" :;,.") not in names]
    with speaking("es"):
        known = [text for text in texts if gettext(text) != text]
    assert known == []


@pytest.mark.parametrize("address", PAGES)
def test_no_sentence_of_english_is_left_but_sources_and_the_shops_own_words(spanish, address):
    """Common words of English stand only in what is told in English on purpose."""
    client, names = spanish
    texts = _Text(client.get(address).text).texts
    left = [text for text in texts
            if COMMON & set(re.findall("[a-z']+", text.lower()))
            and not STAYS.search(text) and text not in names]  # fmt: skip
    assert left == []
