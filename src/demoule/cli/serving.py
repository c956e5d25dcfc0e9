"""`demoule serve`: the screens, for one chef on this machine or for a team with accounts."""

from __future__ import annotations

import gc
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING

from demoule.errors import BadInput

if TYPE_CHECKING:
    from fastapi import FastAPI

    from demoule.store import Store

__all__ = ["serve"]


def serve(*, host: str, port: int, database: str | None, behind: str, workers: int | None) -> int:
    """Open the memory and serve the screens until stopped.

    Parameters
    ----------
    behind
        Name under which a proxy that speaks HTTPS offers the screens; empty: they are served as they are.

    Raises
    ------
    BadInput
        When another address than this machine's own is asked for and nobody can sign in.
    """
    with _uncollected():
        app, store = _opened(host, database, behind, workers)
    import uvicorn

    shown = f"[{host}]" if ":" in host else host
    print(f"demoule stands at http://{shown}:{port}/  (stop with Ctrl-C)", file=sys.stderr)
    try:
        uvicorn.run(
            app,
            host=host,
            port=port,
            log_level="warning",
            access_log=False,
            server_header=False,
            proxy_headers=bool(behind),
            timeout_keep_alive=30,
            timeout_graceful_shutdown=5,
        )
    finally:
        store.close()
    return 0


@contextmanager
def _uncollected() -> Iterator[None]:
    """What is loaded at the start stays; looking it through for rubbish again and again only delays the first page."""
    gc.disable()
    try:
        yield
        gc.freeze()
    finally:
        gc.enable()


def _opened(host: str, database: str | None, behind: str, workers: int | None) -> tuple[FastAPI, Store]:
    """The application and its memory; raises BadInput when it may not be opened at this address."""
    from demoule.store import open_store
    from demoule.web.settings import Settings, is_loopback

    store = open_store(database)
    accounts = store.people.any()
    if not accounts and (not is_loopback(host) or behind):
        store.close()
        raise BadInput(
            f"The screens are not opened on {behind or host}: nobody has an account, so whoever reaches that address"
            " could read and change everything.",
            remedy="make an owner first with “demoule people add NAME --role owner”, or serve on 127.0.0.1.",
        )
    from demoule.web.app import create_app

    names = {"localhost", "127.0.0.1", "::1"} if is_loopback(host) else set()
    if behind:
        names |= {behind.casefold()}
    settings = Settings(accounts=accounts, hosts=frozenset(names), secure=bool(behind), workers=workers)
    return create_app(store, settings), store
