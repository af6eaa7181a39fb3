"""The figures of the knife: what a cut costs, what a carcass gives, whether weights close."""

from __future__ import annotations

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse

from collop.web import yields_balance, yields_carcass, yields_combine, yields_tables, yields_test
from collop.web.rendering import page

__all__ = ["router"]

router = APIRouter()
#: What there is: address, name, and what it answers.
FIGURES = (
    ("/flow", "Where every pound went", "An animal, a day or a week, drawn from door to customer."),
    ("/trace", "Trace", "From any lot to its animal and farm, and to every other lot of it."),
    ("/yields/test", "Cutting test", "What a trimmed cut costs a pound and a portion."),
    ("/yields/combine", "Combined yields", "A published mean and your own tests, as one yield."),
    (
        "/yields/balance",
        "Weights that close",
        "Whether parts and loss make the piece.",
    ),
    ("/yields/cuts", "Cuts by any name", "Muscles, grain, how to slice, how tender, how to cook."),
    ("/yields/grade", "Yield grade", "Grade of a beef carcass, with every step of the sum."),
    ("/yields/take-home", "Take-home weight", "Live, hanging, chilled, taken home: each step."),
)


@router.get("/yields", response_class=HTMLResponse)
def show_figures(request: Request) -> HTMLResponse:
    """Show what can be worked out."""
    return page(request, "yields.html", figures=FIGURES)


for _part in (yields_test, yields_combine, yields_balance, yields_tables, yields_carcass):
    router.include_router(_part.router)
