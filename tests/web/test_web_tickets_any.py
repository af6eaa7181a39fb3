"""Whatever is typed into the pages of tickets, the answer is a sentence."""

from __future__ import annotations

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

NAMES = ["case", "lot", "other_lot", "tare", "gross", "booking_line", "size", "dpi", "division",
         "capacity", "codes", "codes_told", "by", "key", "part", "do"]  # fmt: skip
FACTS = ["product_class", "item", "gtin", "ingredients", "contains", "lean_pct", "fat_pct",
         "tenderised", "previously_frozen", "vacuum", "origin", "origin_words", "every_stage",
         "tax_class", "by", "key"]  # fmt: skip
TEXT = st.one_of(
    st.text(max_size=30),
    st.sampled_from(
        ["C02", "C02-0609", "4.87", "-1", "0", "NaN", "1e400", "1e-999999", "9" * 60, "no packing",
         "Vacuum bag", "H2-1", "H2", "H2-", "H2-99999999999999999999", "58x60", "203", "0.01", "30",
         "upc-a", "qr", "look", "print", "1", "yes", "no", "raw whole", "ready to eat", "none",
         "<b>", "\x00", "\u0660", "½", "%", "ines", "x" * 3000, "90614141000015", "US", "a;b;c"]
    ),
)  # fmt: skip
ANY = settings(max_examples=120, suppress_health_check=[HealthCheck.function_scoped_fixture])


@ANY
@given(form=st.dictionaries(st.sampled_from(NAMES), TEXT, max_size=9))
def test_no_form_breaks_the_ticket(client, form):
    """Looked at, printed or drawn: below 500, and 422 says what is wrong."""
    usual = {"case": "C02", "lot": "C02-0609", "tare": "Vacuum bag", "gross": "1.02", "by": "ines"}
    sent = usual | form
    for answer in (client.get("/tickets", params=sent), client.post("/tickets", data=sent),
                   client.get("/tickets/preview.png", params=sent)):  # fmt: skip
        assert answer.status_code < 500
        if answer.status_code == 422:
            assert "There is a problem" in answer.text


@ANY
@given(form=st.dictionaries(st.sampled_from(FACTS), TEXT, max_size=9))
def test_no_form_breaks_the_label(client, form):
    """The label of a line and the list of tares answer below 500 too."""
    usual = {"product_class": "raw whole", "contains": "none", "by": "ines"}
    assert client.post("/tickets/line/C02", data=usual | form).status_code in {303, 409, 422}
    tare = {"name": form.get("item", "x"), "weight": form.get("lean_pct", ""), "by": "ines",
            "retire": form.get("gtin", "")}  # fmt: skip
    assert client.post("/tickets/tares", data=tare).status_code < 500
    lines = {f"{name}-H2-1": text for name, text in form.items()}
    packs = {"gross-H2-1": form.get("fat_pct", "1"), "lot-H2-1": "C11-0609", "by": "ines",
             "tare-H2-1": "no packing"}  # fmt: skip
    assert client.post("/tickets/booking/H2", data=packs | lines).status_code < 500
