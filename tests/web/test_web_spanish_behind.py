"""The cutting room, the books and the sums in Spanish: headings, words of tables, no page broken.

The Spanish headings are those of the catalogue, our own words: no published source.
"""

import ast
from html import unescape
from pathlib import Path

import pytest

import collop
from collop.web.shown_words_behind import SHOWN_BEHIND

_CODE = Path(collop.__file__).parent
#: Page, and words that stand on it in Spanish.
_PAGES = {
    "/bench": "Mesa",
    "/bench/plan": "Plan",
    "/bench/paper": "Lista de mesa en papel",
    "/rail": "Riel",
    "/rail/receive": "Recibir",
    "/knife": "¿qué va al tajo?",
    "/put-away": "Guardar",
    "/styles": "Estilos de corte",
    "/daybook": "Diario",
    "/daybook/cold": "Control de frío",
    "/daybook/mince": "Lotes de molida",
    "/lockup": "Cierre",
    "/waiting": "En espera",
    "/works": "Hecho y pesado",
    "/papers": "Papeles",
    "/papers/back/sales": "Escribir todas las filas",
    "/keeping": "Copias",
    "/recall": "Simulacros de retirada guardados",
    "/trace?lot=L-207": "y de dónde viene",
    "/chalk": "Costos de lo que hay",
    "/chalk/choices": "Opciones de precio",
    "/chalk/sums/blend": "Mezclar recortes",
    "/reckoning": "Cuentas",
    "/reckoning/slips": "Dinero en recibos",
    "/replay": "Y si",
    "/learning": "Qué aprendió la tienda",
    "/long-list": "Lista larga",
    "/buying": "Qué piden los proveedores",
    "/farm": "Llamada a la granja",
    "/flow": "Adónde fue cada libra",
    "/codes": "Códigos",
    "/rules": "Reglas",
    "/exchange": "Listas",
    "/yields": "Rendimientos",
}


@pytest.mark.parametrize(("path", "words"), _PAGES.items())
def test_a_page_behind_the_counter_is_in_spanish(client, path, words):
    """A device that chose Spanish reads the page in it, and nothing of the page breaks."""
    client.cookies.set("collop_language", "es")
    answer = client.get(path)
    assert answer.status_code == 200
    assert '<html lang="es"' in answer.text
    assert words in unescape(answer.text)


def test_words_of_tables_stand_in_the_code():
    """Each word that is marked for the catalogue is one that the code really shows."""
    texts = {
        node.value
        for path in _CODE.rglob("*.py")
        if not path.name.startswith("shown_words")
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        if isinstance(node, ast.Constant) and isinstance(node.value, str)
    }
    assert set() == SHOWN_BEHIND - texts


def test_the_choices_of_a_form_stay_what_they_are(client):
    """The animals of a delivery are named in Spanish, and sent by the word the shop keeps."""
    client.cookies.set("collop_language", "es")
    page = client.get("/rail/receive").text
    assert '<option value="lamb">cordero</option>' in page
    assert '<option value="beef">res</option>' in page
