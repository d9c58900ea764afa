"""Lists of jobs: the calls that wait for somebody, and all jobs by stage and words."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, get_args
from urllib.parse import urlencode

from starlette.exceptions import HTTPException
from starlette.routing import Route

from lastbee.record.card import OPEN_STAGES, Stage
from lastbee.web.render import desk_of, page

if TYPE_CHECKING:
    from collections.abc import Mapping

    from starlette.requests import Request
    from starlette.responses import Response

CALL_STAGES: tuple[Stage, ...] = ("call", "to inspect")
OPEN = "open"
_STAGES: tuple[Stage, ...] = get_args(Stage)
_LONGEST_SEARCH = 100
_LAST_PAGE = 1_000_000


@dataclass(frozen=True, slots=True)
class Chip:
    """One stage to choose: its word in the address, its name, how many jobs are at it."""

    key: str
    name: str
    count: int


def routes() -> list[Route]:
    """Addresses of the lists."""
    return [Route("/calls", _calls), Route("/jobs", _jobs)]


def _calls(request: Request) -> Response:
    listing = desk_of(request).cards(CALL_STAGES, page=_page_of(request))
    return page(request, "calls.html", listing=listing, address="/calls?")


def _jobs(request: Request) -> Response:
    stage, search = request.query_params.get("stage", ""), _search_of(request)
    desk = desk_of(request)
    listing = desk.cards(stages_of(stage), search, page=_page_of(request))
    kept = {key: value for key, value in (("stage", stage), ("q", search)) if value}
    return page(
        request,
        "jobs.html",
        listing=listing,
        chips=chips_of(desk.stage_counts()),
        stage=stage,
        search=search,
        address=f"/jobs?{urlencode(kept)}{'&' if kept else ''}",
        chip_address=lambda key: _chip_address(key, search),
    )


def stages_of(key: str) -> tuple[Stage, ...]:
    """Stages that a chip stands for; none for all of them.

    Raises
    ------
    HTTPException
        If there is no such stage.
    """
    if not key:
        return ()
    if key == OPEN:
        return OPEN_STAGES
    if key not in _STAGES:
        raise HTTPException(404, "There is no such stage of a job.")
    return (key,)


def chips_of(counts: Mapping[Stage, int]) -> tuple[Chip, ...]:
    """All jobs, the open ones, and then every stage."""
    return (
        Chip("", "All", sum(counts.values())),
        Chip(OPEN, "Open", sum(counts.get(stage, 0) for stage in OPEN_STAGES)),
        *(Chip(stage, stage.capitalize(), counts.get(stage, 0)) for stage in _STAGES),
    )


def _chip_address(key: str, search: str) -> str:
    query = {name: value for name, value in (("stage", key), ("q", search)) if value}
    return f"/jobs?{urlencode(query)}" if query else "/jobs"


def _search_of(request: Request) -> str:
    return " ".join(request.query_params.get("q", "").split())[:_LONGEST_SEARCH]


def _page_of(request: Request) -> int:
    written = request.query_params.get("page", "1")
    is_number = written.isascii() and written.isdecimal()
    return min(int(written[:9]), _LAST_PAGE) if is_number else 1
