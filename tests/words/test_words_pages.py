"""Every page of the counter in Spanish: answered, told as Spanish, with no English left over."""

from __future__ import annotations

import re
from html.parser import HTMLParser
from io import BytesIO

import pypdfium2
import pytest
from starlette.testclient import TestClient

from collop.shop import StillClock, create_shop
from collop.web import create_app

WHEN = "day=2026-06-12&time=18:30"
#: Pages by their address, each with the words of its heading (None: the heading is a name).
PAGES = {
    "/ask": "Pedido",
    f"/ask?heads=34&big=16&money=310&contains=sesame&no_n=7&no_what=pork&{WHEN}": "Pedido",
    f"/ask?heads=26&money=55&{WHEN}": "Pedido",
    f"/ask?heads=-3&money=x&{WHEN}": "Pedido",
    "/case": "Vitrina",
    "/case/new": "Línea nueva de vitrina",
    "/case/C17/cook": "Cocción",
    "/hook": "Gancho",
    "/hook?find=zzz": "Gancho",
    "/hook/H8": None,
    "/hook/H8/hand-over": "Entregar",
    "/hook/H8/pick-up": "Recogida",
    "/hook/H8/add?cut=C11&amount=2": "Añadir",
    "/hook/to-tell": "Por avisar",
    "/hook/H2/fire": "Tu fuego",
    "/free-by?day=2026-06-11&cut=C10&amount=5": "Libre para",
    "/free-by/book?day=2026-06-13&cut=C01&amount=10": "Reservar para una fecha",
    "/standing?until=2026-06-24": "Encargos fijos",
    "/standing/S1": None,
    "/standing/S1/change": "Cambiar",
    "/sell": "Vender",
    "/sell?line=cut%3DC04%26net%3D68038855500lb%26asked%3D45359237000lb": "Vender",
    "/sell/H8": None,
    "/takings": "Caja",
    "/tickets": "Etiquetas",
    "/tickets?case=C02&gross=4.87": "Etiqueta",
    "/tickets/T3": None,
    "/tickets/line/C25": "Rótulo",
    "/tickets/tares": "Taras",
    "/tickets/booking/H2": "Etiquetas",
    "/freezer": "Encargos de congelador",
    "/fire-sums": "Cálculos del fuego",
    "/people": "Gente",
    "/board": None,
    "/nowhere": "Esta página no está aquí.",
}
#: The words of the door to other rooms that stand on each page.
NAV = ["Pedido", "Vender", "Vitrina", "Gancho", "Riel", "Cuchillo", "Mesa", "Tiza", "Cuentas",
       "Lista larga", "Rindes", "Etiquetas", "Diario", "Cierre"]  # fmt: skip
#: Thirty common words of English that are no words of Spanish and of no cut of the demo shop.
COMMON = frozenset({
    "the", "this", "that", "what", "when", "which", "there", "here", "not", "nothing",
    "nobody", "is", "are", "was", "were", "have", "been", "who", "from", "your", "their",
    "enter", "write", "choose", "show", "leave", "until", "before",
})  # fmt: skip
#: What is told in English still: names of cuts and kinds, notes that people wrote, sources as they
#: are printed, and the sentences of rooms that are not taken yet (docs/languages.md).
LEFT_OUT = re.compile(
    r"USDA|NIST|Handbook|FSIS|source|seal|common practice|taken as|[Ww]edding|memory|[Dd]eposit"
    r"|Storage times|Beef shin on the bone|whole \(half is sold|every stage there"
    # calls to make, choices at a pick-up, what is promised for a day
    r"|Your order is|still to come|It is not booked|is to be used by|Leave Beef|cut light"
    r"|none of Beef|instead of|in the hand"
    # parts of sentences of the Fire Sheet, and the sums of the fire
    r"|in the middle|over the coals|light the coals|lid on|own tool|shop cuts it"
    r"|Probe the middle|core|published"
)


class _Text(HTMLParser):
    """The words of a page that are read: text and what stands for it, headings and doors."""

    def __init__(self, html):
        super().__init__()
        self.lang, self.texts, self.heads, self.doors = "", [], [], []
        self._quiet, self._in = 0, []
        self.feed(html)

    def handle_starttag(self, tag, attrs):
        """Note the language of the page, and what a part is called."""
        if tag == "html":
            self.lang = dict(attrs).get("lang", "")
        if tag in {"script", "style"}:
            self._quiet += 1
        if tag in {"h1", "nav"}:
            self._in.append(tag)
        self.texts += [text for name, text in attrs
                       if name in {"aria-label", "title", "alt"} and text]  # fmt: skip

    def handle_endtag(self, tag):
        """Leave a part."""
        if tag in {"script", "style"}:
            self._quiet -= 1
        if tag in {"h1", "nav"} and tag in self._in:
            self._in.remove(tag)

    def handle_data(self, data):
        """Keep what is read."""
        text = " ".join(data.split())
        if text and not self._quiet:
            self.texts.append(text)
            if "h1" in self._in:
                self.heads.append(text)
            if "nav" in self._in:
                self.doors.append(text)


@pytest.fixture(scope="module")
def spanish(tmp_path_factory):
    """Return a client of a demo shop whose device reads Spanish."""
    path = tmp_path_factory.mktemp("words") / "shop.db"
    shop = create_shop(f"sqlite:///{path}", demo=True, clock=StillClock())
    with shop, TestClient(create_app(shop), follow_redirects=False) as client:
        client.cookies.set("collop_language", "es")
        yield client


@pytest.mark.parametrize("address", PAGES)
def test_a_page_of_the_counter_is_spanish(spanish, address):
    """The page says its language; doors and heading are Spanish; no common English word is left."""
    answer = spanish.get(address)
    assert answer.status_code in {200, 404, 422}
    page = _Text(answer.text)
    assert page.lang == "es"
    if address != "/board":  # the board is read by customers and has no doors
        assert page.doors[: len(NAV)] == NAV
    if PAGES[address]:
        assert " ".join(page.heads).startswith(PAGES[address])
    left = [text for text in page.texts
            if COMMON & set(re.findall("[a-z']+", text.lower()))
            and not LEFT_OUT.search(text)]  # fmt: skip
    assert left == []


def test_a_device_that_chose_nothing_reads_english(spanish):
    """A language is a choice of the device."""
    bare = TestClient(spanish.app, follow_redirects=False)
    assert _Text(bare.get("/ask").text).lang == "en"
    answer = bare.post("/device", data={"language": "es"})
    assert answer.status_code == 303
    assert "collop_language=es" in answer.headers["set-cookie"]


def _paper(answer):
    pages = pypdfium2.PdfDocument(BytesIO(answer.content))
    return " ".join("\n".join(page.get_textpage().get_text_range() for page in pages).split())


@pytest.fixture(scope="module")
def sheet(spanish):
    """Return the address of a customer's Fire Sheet."""
    page = spanish.get("/hook/H2/fire").text
    key = re.search(r'name="key" value="([^"]+)"', page).group(1)
    spanish.post("/hook/H2/fire/address", data={"by": "dot", "key": key})
    return re.search(r'href="(/fire/[\w-]+)"', spanish.get("/hook/H2/fire").text).group(1)


def test_the_customers_paper_is_printed_in_the_language_that_is_asked(spanish, sheet):
    """The same sheet in either language, whatever the device of the shop reads."""
    english = _paper(spanish.get(f"{sheet}/sheet.pdf?language=en"))
    told = _paper(spanish.get(f"{sheet}/sheet.pdf?language=es"))
    assert "YOUR FIRE" in english
    assert "Take care." in english
    assert "TU FUEGO" in told
    assert "Cuidado." in told
    assert "Trinchar." in told
    times = r"\d\d:\d\d|\d+ °F \(\d+ °C\)"
    assert sorted(set(re.findall(times, told))) == sorted(set(re.findall(times, english)))


def test_the_customers_page_asks_for_a_language_and_keeps_it(spanish, sheet):
    """A telephone that never saw the shop chooses on the page; the page links papers in it."""
    bare = TestClient(spanish.app, follow_redirects=False)
    page = bare.get(f"{sheet}?language=es&heat=F&weight=lb")
    assert _Text(page.text).lang == "es"
    assert "language=es" in page.text
    assert "collop_language=es" in page.headers["set-cookie"]
    assert _Text(bare.get(f"{sheet}?language=xx").text).lang == "es"


def test_the_words_that_a_law_prescribes_stay_as_they_are(spanish):
    """A ticket's safe-handling block has the mandated English, whatever the device reads.

    Source: 9 CFR 317.2(l) and 381.125(b) (CFR381_125), words of ``safe_handling_text.csv``.
    """
    from collop.reference.rulebook import safe_handling_parts

    words = [part.words for part in safe_handling_parts()]
    assert words[0] == "Safe Handling Instructions"
    english, spanish_too = (
        spanish.get("/tickets/T3.pdf", headers={"cookie": f"collop_language={language}"})
        for language in ("en", "es")
    )
    assert english.status_code == 200
    assert english.content == spanish_too.content
