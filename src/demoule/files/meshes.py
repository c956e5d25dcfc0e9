"""Meshes that a file names: read from beside it and from nowhere else, checked, and taken as a profile where round."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING

from demoule.errors import BadInput

if TYPE_CHECKING:
    from demoule.piece import Solid
    from demoule.piece.mesh import Fitted, Mesh

__all__ = ["beside", "named_mesh", "read_mesh", "told"]

LARGEST = 120_000_000
"""Bytes: a million facets as text are smaller."""

_folder: ContextVar[Path | None] = ContextVar("folder of the file that is read", default=None)


@contextmanager
def beside(file: Path | str) -> Iterator[None]:
    """While a file on disk is read, meshes that it names lie in its folder."""
    token = _folder.set(Path(file).resolve().parent)
    try:
        yield
    finally:
        _folder.reset(token)


def read_mesh(path: Path, units: str | None) -> Mesh:
    """The mesh in a file on disk.

    Raises
    ------
    BadInput
        It is not there, too large, of no known kind, or no closed surface.
    """
    from demoule.piece.mesh import mesh_of

    try:
        if path.stat().st_size > LARGEST:
            raise BadInput(
                f"“{path.name}” holds {path.stat().st_size / 1e6:.0f} MB; up to {LARGEST / 1e6:.0f} MB are read.",
                remedy="export it more coarsely: 20 000 facets are plenty.",
            )
        data = path.read_bytes()
    except FileNotFoundError:
        raise BadInput(f"There is no mesh “{path.name}”.", remedy="put it beside the file that names it.") from None
    except OSError as error:
        raise BadInput(f"“{path.name}” cannot be read: {error.strerror}.", remedy="check the file.") from None
    return mesh_of(data, path.suffix.casefold().lstrip("."), units)


def named_mesh(name: str, units: str | None, up: str | None) -> Fitted | Solid:
    """A mesh beside the file that is being read: its profile where it is round, else the body as it stands.

    With `up` told it stands as told, and a round body about another axis is no profile.

    Raises
    ------
    BadInput
        No folder to look in, a name that leads out of it, or a mesh that is no body.
    """
    folder = _folder.get()
    if folder is None:
        raise BadInput(
            "A mesh can be used only by a file on disk, beside which it lies.",
            remedy="work with the files on disk; or, where “demoule cold mesh FILE” finds it round, write the profile "
            "that it prints.",
        )
    if Path(name).name != name or name in (".", ".."):
        raise BadInput(f"“{name}” lies elsewhere.", remedy="put the mesh beside the file, and write its name alone.")
    path = folder / name
    stamp = path.stat() if path.is_file() else None
    return _named(path, units, up, stamp.st_mtime_ns if stamp else 0, stamp.st_size if stamp else 0)


@lru_cache(maxsize=32)
def _named(path: Path, units: str | None, up: str | None, _changed: int, _size: int) -> Fitted | Solid:
    from demoule.piece.mesh import profile_of
    from demoule.piece.solid import UP

    mesh = read_mesh(path, units)
    fitted = profile_of(mesh)
    along = sum(abs(a * b) for a, b in zip(fitted.axis, UP[up or "z"], strict=True))
    if fitted.round and (up is None or (up in ("x", "y", "z") and along > 0.99)):
        return fitted
    return mesh.solid(up or "z")


def told(fitted: Fitted) -> str:
    """How near a profile comes to its mesh, in words."""
    return (
        f"{1000 * fitted.usual:.2f} mm from the mesh as a rule, {1000 * fitted.worst:.2f} mm at most; "
        f"{1e6 * fitted.volume:.1f} ml"
    )
