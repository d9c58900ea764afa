"""The field app, put together: pages, guard, errors, and the forecaster's start and stop."""

from __future__ import annotations

import contextlib
import importlib
import pkgutil
from typing import TYPE_CHECKING

from starlette.applications import Starlette
from starlette.middleware import Middleware
from starlette.middleware.body_limit import RequestBodyLimitMiddleware
from starlette.middleware.gzip import GZipMiddleware

from lastbee.office.joining import Joining
from lastbee.web import assets, failures, guard, pages, render

if TYPE_CHECKING:
    from collections.abc import AsyncIterator, Callable, Collection
    from datetime import datetime

    from starlette.routing import Route

    from lastbee.office.desk import Desk
    from lastbee.office.forecaster import Forecaster

_SMALLEST_GZIPPED_BYTES = 1_000


def build_app(
    desk: Desk,
    forecaster: Forecaster | None = None,
    *,
    clock: Callable[[], datetime],
    token: str | None = None,
    is_demo: bool = False,
    hosts: Collection[str] = (),
) -> Starlette:
    """Put the app together; nothing runs before a server starts it.

    Parameters
    ----------
    desk
        The use cases that the pages call.
    forecaster
        What computes forecasts in the background, started and stopped with the app; None
        where nobody does.
    clock
        Gives the moment that the pages go by; aware.
    token
        Secret of the joining link, set when the app is served beyond this machine, to
        devices that joined alone; None lets everybody in who can reach it.
    is_demo
        Whether the firm is the invented one.
    hosts
        Names under which the app may be asked for, besides those of this machine.
    """
    joining = None if token is None else Joining(desk.book, clock, token)
    app = Starlette(
        routes=page_routes(),
        exception_handlers=failures.HANDLERS,
        lifespan=_running_with(forecaster),
        middleware=[
            Middleware(guard.Guard, joining=joining, hosts=hosts),
            Middleware(GZipMiddleware, minimum_size=_SMALLEST_GZIPPED_BYTES, compresslevel=6),
            Middleware(RequestBodyLimitMiddleware, max_body_size=guard.LARGEST_BODY_BYTES),
        ],
    )
    app.state.desk = desk
    app.state.forecaster = forecaster
    app.state.clock = clock
    app.state.joining = joining
    app.state.is_demo = is_demo
    app.state.assets = assets.collect()
    app.state.templates = render.environment(app.state.assets)
    return app


def page_routes() -> list[Route]:
    """Routes of every module in `lastbee.web.pages`, plain addresses before patterns."""
    found: list[Route] = []
    for module in pkgutil.iter_modules(pages.__path__, f"{pages.__name__}."):
        found += importlib.import_module(module.name).routes()
    return sorted(found, key=_plainness)


def _plainness(route: Route) -> list[bool]:
    """Sort key by which "/job/{job}/forecast" is asked before "/job/{job}/{kind}"."""
    return [part.startswith("{") for part in route.path.split("/")]


def _running_with(
    forecaster: Forecaster | None,
) -> Callable[[Starlette], contextlib.AbstractAsyncContextManager[None]]:
    """Let the forecaster run for as long as the app does."""

    @contextlib.asynccontextmanager
    async def lifespan(_app: Starlette) -> AsyncIterator[None]:
        if forecaster is not None:
            forecaster.start()
        try:
            yield
        finally:
            if forecaster is not None:
                forecaster.stop()

    return lifespan
