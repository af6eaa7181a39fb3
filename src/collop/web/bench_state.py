"""Which cutting plan stands, whether a new one is in work, and what the newest changed."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import TYPE_CHECKING, Any

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, JSONResponse

from collop.web.rendering import page
from collop.web.replanning import Replanner, Replanning
from collop.web.room import Queried

if TYPE_CHECKING:
    from collop.shop import Shop
    from collop.shop.bench_model import PlanNote

__all__ = ["PlanStanding", "Standing", "router"]

router = APIRouter()
#: Changes told at once; the plan's own page has them all.
_MOST_TOLD = 3
#: A plan is news for so long.
_NEWS = timedelta(minutes=10)
_NUMBER_LONGEST = 9


@dataclass(frozen=True, slots=True)
class Standing:
    """What the strip above a page says.

    Parameters
    ----------
    kept : PlanNote or None
        The newest plan.
    doing : Replanning
        What the background does; idle for ever where nothing plans by itself.
    now : datetime
        Shop-local.
    shown : int
        Number of the plan that the page itself shows, whose changes stand there; 0 for none.
    """

    kept: PlanNote | None
    doing: Replanning
    now: datetime
    shown: int = 0

    @property
    def is_there(self) -> bool:
        """Tell whether there is anything to say."""
        return self.kept is not None or self.doing.what in {"working", "failed"}

    @property
    def words(self) -> str:
        """Return plan and hour, and whether a new one is in work."""
        parts = [f"Plan {self.kept.number}, {self._hour(self.kept.at)}" if self.kept else "No plan"]
        doing = self.doing
        if doing.what == "working" and doing.since is not None:
            step = f" ({doing.step})" if doing.step else ""
            parts.append(f"planning again since {self._hour(doing.since)}{step}")
        elif doing.what == "failed":
            parts.append(f"no newer one: {doing.trouble}")
        elif self.kept is not None and not self.kept.is_current:
            parts.append("the shop has moved since")
        return "; ".join(parts)

    @property
    def news(self) -> tuple[str, ...]:
        """Return what the newest plan changed, as long as it is new and not on the page itself."""
        if self.kept is None or self.kept.number <= self.shown or self.now - self.kept.at > _NEWS:
            return ()
        return self.kept.changes

    @property
    def told(self) -> tuple[str, ...]:
        """Return the first changes of the news."""
        return self.news[:_MOST_TOLD]

    @property
    def more(self) -> int:
        """Return how many further changes there are."""
        return len(self.news) - len(self.told)

    def _hour(self, at: datetime) -> str:
        return f"{at:%H:%M}" if at.date() == self.now.date() else f"{at:%a %H:%M}"

    def as_json(self) -> dict[str, Any]:
        """Return the same for programs; times are shop-local."""
        kept, doing = self.kept, self.doing
        return {
            "what": doing.what,
            "since": None if doing.since is None else doing.since.isoformat(),
            "step": doing.step,
            "trouble": doing.trouble,
            "plan": None if kept is None else {
                "number": kept.number, "at": kept.at.isoformat(), "is_current": kept.is_current,
                "changes": list(kept.changes),
            },
        }  # fmt: skip


class PlanStanding:
    """Looks up, for any page, how the plan stands. Kept on the application.

    Parameters
    ----------
    shop : Shop
        The open shop.
    replanner : Replanner or None
        What plans in the background; None if nothing does.
    """

    def __init__(self, shop: Shop, replanner: Replanner | None) -> None:
        self._shop = shop
        self._replanner = replanner

    def __call__(self, shown: int = 0) -> Standing:
        """Return how it stands now; see `Standing` for `shown`."""
        # the background first: a plan it has kept meanwhile is then found as well
        doing = Replanning() if self._replanner is None else self._replanner.state
        return Standing(self._shop.bench.newest(), doing, self._shop.now(), shown)


@router.get("/bench/state", response_class=HTMLResponse)
def show_state(request: Request, fields: Queried) -> HTMLResponse:
    """Show the strip alone, for a page that stays open."""
    text = fields.one("shown")
    shown = int(text) if text.isascii() and text.isdigit() and len(text) <= _NUMBER_LONGEST else 0
    return page(request, "_bench_state.html", plan_shown=shown)


@router.get("/bench/state.json")
def tell_state(request: Request) -> JSONResponse:
    """Tell the same as JSON."""
    standing: PlanStanding = request.app.state.standing
    return JSONResponse(standing().as_json())
