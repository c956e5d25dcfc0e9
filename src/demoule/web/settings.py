"""What is settled when the screens are started, and never by a request."""

from __future__ import annotations

import ipaddress
from dataclasses import dataclass

__all__ = ["Settings", "is_loopback"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Settings:
    """How the screens are served.

    Parameters
    ----------
    accounts
        Whether people sign in; without, one chef works on this machine alone.
    hosts
        Names under which the screens may be asked for; empty: any. Others are refused, so that a foreign page cannot
        reach a kitchen on the same machine through a name of its own.
    secure
        Cookies only over HTTPS; set where a proxy in front speaks it.
    workers
        Processes for the numerics; None: as many as cores, four at most.
    upload, body
        The most bytes that an uploaded file and any other request may have.
    a_minute, sign_ins_a_minute
        Requests of one address.
    """

    accounts: bool = False
    hosts: frozenset[str] = frozenset()
    secure: bool = False
    workers: int | None = None
    upload: int = 2_000_000
    body: int = 1_000_000
    a_minute: int = 1200
    sign_ins_a_minute: int = 20
    chef: str = "chef"


def is_loopback(host: str) -> bool:
    """Whether an address can be reached from this machine only."""
    if host.casefold() == "localhost":
        return True
    try:
        return ipaddress.ip_address(host.strip("[]")).is_loopback
    except ValueError:
        return False
