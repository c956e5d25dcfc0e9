"""A cavity from a drawing program: a closed surface of triangles, read, mended or refused, and offered as a profile."""

from __future__ import annotations

import io
import math
from dataclasses import dataclass
from typing import Literal

import numpy as np
import numpy.typing as npt

from demoule.errors import BadInput
from demoule.piece.design import Profile
from demoule.piece.solid import Solid, centre_of, end_radius, frame_of, plane_cut, signed_area, upright
from demoule.units import CubicMetre, FloatArray, Fraction, Metre, SquareMetre

__all__ = ["KINDS", "MANY_FACETS", "MOST_FACETS", "UNITS", "Fitted", "Mesh", "mesh_of", "profile_of"]

KINDS = ("stl", "ply", "3mf")
UNITS: dict[str, float] = {"mm": 1e-3, "cm": 1e-2, "m": 1.0, "in": 0.0254}
MOST_FACETS = 2_400_000
"""More are refused: reading them takes memory by the gigabyte."""
MANY_FACETS, ENOUGH_FACETS = 60_000, 40_000
"""A surface of more facets than the one is brought down to the other: an edge of a fruit is half a millimetre then."""
ROUND: Fraction = 0.02
"""A body that lies no further from its profile, as a share of its greatest radius, passes for one of revolution."""

_SECTIONS = 72
_PROOF = 16  # sections in which crossings are looked for
_SMALLEST, _LARGEST = 0.005, 0.5  # m, a cavity for one portion up to a whole cake
_THINNED: Fraction = 0.01  # of the surface that may be lost with facets: more is grain, not shape
_SMALL_HOLES = 8  # edges of a hole that is closed without asking
Units = Literal["mm", "cm", "m", "in"]
IntArray = npt.NDArray[np.int64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Mesh:
    """A closed surface without crossings.

    Parameters
    ----------
    points, facets
        Corners [m], shape (n, 3), and the three corners of each triangle, shape (m, 3), seen counter-clockwise from
        outside.
    mended
        What was put right on reading, in words.
    """

    points: FloatArray
    facets: IntArray
    mended: tuple[str, ...] = ()

    @property
    def volume(self) -> CubicMetre:
        """By the divergence theorem, exact for the triangles."""
        return Solid(self.points, self.facets).volume

    @property
    def area(self) -> SquareMetre:
        """Of the whole surface, the flat that is its opening included."""
        return Solid(self.points, self.facets).area

    @property
    def size(self) -> tuple[Metre, Metre, Metre]:
        """Along each axis."""
        x, y, z = np.ptp(self.points, axis=0)
        return float(x), float(y), float(z)

    def centre(self) -> FloatArray:
        """Centre of the volume [m]."""
        return centre_of(self.points, self.facets)

    def solid(self, up: str = "z") -> Solid:
        """The body as it stands: upright on height 0, its axis through the middle of its volume.

        `up` is the direction of the drawing that points up, one of `demoule.piece.solid.UP`.
        """
        return upright(self.points, self.facets, up)

    def section(self, height: Metre, along: FloatArray | None = None) -> FloatArray:
        """Pieces of the line in which a plane cuts the surface, shape (n, 2, 2), the inside to their left.

        Parameters
        ----------
        height
            Of the plane along the axis [m].
        along
            Direction of the axis; None: z. The first two directions of the plane follow from it.
        """
        turned = self.points @ frame_of(np.array([0.0, 0.0, 1.0]) if along is None else along).T
        return plane_cut(turned, self.facets, height)


@dataclass(frozen=True, slots=True, kw_only=True)
class Fitted:
    """A profile that stands for a mesh.

    Parameters
    ----------
    worst, usual
        How far the surface lies from the profile, at most and as a root mean square [m].
    axis
        Direction of the axis in the mesh.
    volume
        Of the mesh; the profile is scaled to it [m3].
    round
        Whether the mesh lies within 2 % of its greatest radius of the profile.
    """

    profile: Profile
    worst: Metre
    usual: Metre
    axis: tuple[float, float, float]
    volume: CubicMetre
    round: bool


def mesh_of(data: bytes, kind: str, units: str | None = None) -> Mesh:
    """The surface in a file, with its small defects mended.

    Parameters
    ----------
    data
        Of the file.
    kind
        "stl", "ply" or "3mf".
    units
        "mm", "cm", "m" or "in"; None: what the file itself says, which an STL never does.

    Raises
    ------
    BadInput
        A file that is none, an open surface, one that crosses itself, several bodies, no volume, too many facets, a
        unit that is not told.
    """
    if kind not in KINDS:
        raise BadInput(f"A mesh of the kind “{kind}” cannot be read.", remedy=f"save it as one of {', '.join(KINDS)}.")
    if kind == "stl" and data[:5].lower() != b"solid":
        told = int.from_bytes(data[80:84], "little")
        if len(data) < 84 or (told <= MOST_FACETS and len(data) < 84 + 50 * told):
            raise BadInput("The file is no STL, or it was cut short.", remedy="export it again as a binary STL.")
        _few_enough(told)
    loaded = _loaded(data, kind)
    _few_enough(len(loaded.faces))
    loaded, said = _thinned(loaded)  # type: ignore[no-untyped-call]
    loaded, more = _mended(loaded)  # type: ignore[no-untyped-call]
    mended = said + more
    scale = _scale(loaded, units)
    mesh = Mesh(
        points=np.asarray(loaded.vertices, dtype=np.float64) * scale,
        facets=np.asarray(loaded.faces, dtype=np.int64),
        mended=tuple(mended),
    )
    biggest = max(mesh.size)
    if not _SMALLEST <= biggest <= _LARGEST:
        told = np.ptp(np.asarray(loaded.vertices), axis=0)
        raise BadInput(
            f"The mesh would be {_words(mesh.size)}, which is no cavity of a mould.",
            remedy=f"check its unit: write {_guesses(told)}.",
        )
    if mesh.volume < 1e-9 or mesh.volume < 1e-3 * float(np.prod(mesh.size)):
        raise BadInput("The mesh holds no room: its volume is nothing.", remedy="export a closed body, not a sheet.")
    _refuse_crossings(mesh)
    return mesh


def profile_of(mesh: Mesh) -> Fitted:
    """The body of revolution nearest to a mesh: about its own z, or the one of its other axes that fits better.

    Each radius is that of the circle with the area of the section there. `round` says whether the mesh lies within
    2 % of its greatest radius of it; if not, a profile is another body, and its hours would be wrong.
    """
    found = [_about(mesh, axis) for axis in _axes(mesh)]
    upright = found[0]
    best = min(found, key=lambda one: one.usual)
    return upright if upright.round or upright.usual < 1.2 * best.usual else best


def _few_enough(facets: int) -> None:
    if facets > MOST_FACETS:
        raise BadInput(
            f"The mesh has {facets / 1e6:.3g} million facets; up to {MOST_FACETS / 1e6:g} million are read.",
            remedy="export it more coarsely: 20 000 facets show a fruit to a twentieth of a millimetre.",
        )
    if facets == 0:
        raise BadInput("The mesh has no facets.", remedy="export the body as a surface of triangles.")


def _loaded(data: bytes, kind: str):  # type: ignore[no-untyped-def] # an untyped library's own type
    import trimesh  # loads slowly, and only a mesh needs it

    try:
        loaded = trimesh.load(io.BytesIO(data), file_type=kind, process=False)
        if isinstance(loaded, trimesh.Scene):
            loaded = loaded.to_mesh()
    except Exception as error:  # a reader of foreign files may fail in any way
        raise BadInput(
            f"The mesh cannot be read: {str(error)[:120] or type(error).__name__}.",
            remedy="export it again as a binary STL.",
        ) from None
    if not isinstance(loaded, trimesh.Trimesh):
        raise BadInput("The file holds points, not a surface.", remedy="export the body as a surface of triangles.")
    if not np.isfinite(loaded.vertices).all():
        raise BadInput("Some corners of the mesh are no numbers.", remedy="export it again.")
    return loaded


def _thinned(loaded):  # type: ignore[no-untyped-def]
    """The same surface with corners told once and no more facets than help; and what that changed, in words."""
    import trimesh

    extent = float(np.ptp(np.asarray(loaded.vertices), axis=0).max()) or 1.0
    loaded.merge_vertices(digits_vertex=max(0, 6 - math.floor(math.log10(extent))))
    before = len(loaded.faces)
    if before <= MANY_FACETS:
        return loaded, []
    import fast_simplification

    closed = bool(loaded.is_watertight)
    thin = loaded
    # Patiently first: with the usual haste of 7 a twentieth of a millimetre is lost. Now and then a surface comes out
    # pinched, and another haste does not.
    for haste in (3, 5, 7, 4, 6):
        points, facets = fast_simplification.simplify(
            np.asarray(loaded.vertices, dtype=np.float64) / extent,
            np.asarray(loaded.faces),
            target_count=ENOUGH_FACETS,
            agg=haste,
        )
        thin = trimesh.Trimesh(np.asarray(points, dtype=np.float64) * extent, facets, process=False)
        if thin.is_watertight or not closed:
            break
    thin.units = loaded.units
    moved = abs(float(thin.area) / max(float(loaded.area), 1e-300) - 1)
    if moved > _THINNED:
        raise BadInput(
            f"The mesh has {before} facets, and loses {100 * moved:.1f} % of its surface when they are brought down.",
            remedy="export it more coarsely: 20 000 facets show a fruit to a twentieth of a millimetre.",
        )
    return thin, [f"{before} facets were brought down to {len(facets)}, which moves the surface by {100 * moved:.1g} %"]


def _mended(loaded):  # type: ignore[no-untyped-def]
    """The surface with small defects put right, and what they were in words; what is left is refused."""
    import trimesh

    said = []
    before = len(loaded.faces)
    extent = float(np.ptp(np.asarray(loaded.vertices), axis=0).max()) or 1.0
    without = loaded.copy()
    without.update_faces(loaded.nondegenerate_faces(height=1e-9 * extent) & loaded.unique_faces())
    # A facet without area may be what closes a surface; it does no harm then.
    if without.is_watertight or not loaded.is_watertight:
        loaded = without
    loaded.remove_unreferenced_vertices()
    if len(loaded.faces) == 0:
        raise BadInput("The mesh holds no room: its volume is nothing.", remedy="export a closed body, not a sheet.")
    if len(loaded.faces) < before:
        said.append(f"{before - len(loaded.faces)} facets without area or told twice were taken out")
    if not loaded.is_watertight:
        open_edges = _open_edges(loaded)
        if open_edges <= _SMALL_HOLES:
            trimesh.repair.fill_holes(loaded)
            if loaded.is_watertight:
                said.append("a small hole was closed")
    if not loaded.is_watertight:
        raise BadInput(
            f"The mesh is open: {_open_edges(loaded)} edges have a facet on one side only.",
            remedy="close the body in the drawing program, its opening with a flat, and export it again.",
        )
    if not loaded.is_winding_consistent:
        trimesh.repair.fix_winding(loaded)  # type: ignore[no-untyped-call]
        if not loaded.is_winding_consistent:
            raise BadInput(
                "The facets of the mesh do not agree on what is inside.", remedy="repair it and export again."
            )
        said.append("facets that were turned inside out were turned back")
    if float(loaded.volume) < 0:
        loaded.invert()
        said.append("the surface was turned inside out: it was turned back")
    bodies = int(loaded.body_count)
    if bodies > 1:
        raise BadInput(
            f"The mesh holds {bodies} bodies that are not joined.",
            remedy="export one cavity by itself, without its tray.",
        )
    return loaded, said


def _open_edges(loaded) -> int:  # type: ignore[no-untyped-def]
    _, counts = np.unique(np.sort(loaded.edges, axis=1), axis=0, return_counts=True)
    return int((counts != 2).sum())


def _scale(loaded, units: str | None) -> float:  # type: ignore[no-untyped-def]
    if units is not None:
        if units not in UNITS:
            raise BadInput(f"“{units}” is no unit of a mesh.", remedy=f"write one of {', '.join(UNITS)}.")
        return UNITS[units]
    told = {"millimeter": "mm", "millimeters": "mm", "centimeter": "cm", "meter": "m", "inch": "in", "inches": "in"}
    if loaded.units in UNITS or loaded.units in told:
        return UNITS[told.get(loaded.units, loaded.units)]
    size = np.ptp(np.asarray(loaded.vertices), axis=0)
    raise BadInput(
        f"The mesh does not say its unit; it is {' × '.join(f'{one:.3g}' for one in size)} of something.",
        remedy=f"write {_guesses(size)}.",
    )


def _guesses(size: FloatArray) -> str:
    """The units in which a mesh would be a cavity, with what it would measure, as a file tells them."""
    fits = [name for name, one in UNITS.items() if _SMALLEST <= float(size.max()) * one <= _LARGEST]
    return " or ".join(f"units: {name} ({_words(size * UNITS[name])})" for name in fits) or "units: mm, cm, m or in"


def _words(size: tuple[Metre, Metre, Metre] | FloatArray) -> str:
    lengths = [1000 * float(one) for one in size]
    return " × ".join(f"{one:.3g}" if one < 1000 else f"{one:.0f}" for one in lengths) + " mm"


def _refuse_crossings(mesh: Mesh) -> None:
    """Where a surface crosses itself a section counts some of its area twice, or as a hole."""
    from shapely import MultiLineString, unary_union
    from shapely.ops import polygonize

    low, high = float(mesh.points[:, 2].min()), float(mesh.points[:, 2].max())
    for share in (np.arange(_PROOF) + 0.5 + 0.0137) / (_PROOF + 1):
        pieces = plane_cut(mesh.points, mesh.facets, low + float(share) * (high - low))
        counted = signed_area(pieces)
        lines = MultiLineString([((a[0], a[1]), (b[0], b[1])) for a, b in np.round(pieces, 9).tolist()])
        covered = unary_union(list(polygonize(unary_union(lines)))).area
        holes_or_doubles = abs(counted - covered)
        if holes_or_doubles > 0.003 * max(abs(covered), abs(counted)) and not _has_holes(pieces, counted, covered):
            raise BadInput(
                f"The mesh crosses itself {1000 * float(share) * (high - low):.0f} mm above its foot.",
                remedy="unite its parts into one body in the drawing program, and export it again.",
            )


def _has_holes(pieces: FloatArray, counted: float, covered: float) -> bool:
    """Whether a ring-shaped section explains the difference: its inner line runs the other way round."""
    from shapely import MultiLineString, unary_union
    from shapely.ops import polygonize

    lines = MultiLineString([((a[0], a[1]), (b[0], b[1])) for a, b in np.round(pieces, 9).tolist()])
    faces = list(polygonize(unary_union(lines)))
    middle = np.array([[face.representative_point().x, face.representative_point().y] for face in faces])
    turns = _winding(middle, pieces)
    return bool(np.isin(turns, (0, 1)).all()) and counted < covered


def _winding(points: FloatArray, pieces: FloatArray) -> IntArray:
    """How often the line goes round each point."""
    found = []
    for point in points:
        a, b = pieces[:, 0] - point, pieces[:, 1] - point
        angle = np.arctan2(a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0], (a * b).sum(axis=1))
        found.append(round(float(angle.sum()) / (2 * math.pi)))
    return np.array(found, dtype=np.int64)


def _axes(mesh: Mesh) -> list[FloatArray]:
    """Axes to try: z first, the other two of the drawing, and those about which the body is balanced."""
    a, b, c = (mesh.points[mesh.facets[:, k]] - mesh.centre() for k in range(3))
    weight = np.einsum("ij,ij->i", a, np.cross(b, c))
    total = a + b + c
    spread = np.einsum("i,ij,ik->jk", weight, total, total)
    for one in (a, b, c):
        spread += np.einsum("i,ij,ik->jk", weight, one, one)
    _, vectors = np.linalg.eigh(spread)
    return [np.array([0.0, 0.0, 1.0]), np.array([1.0, 0, 0]), np.array([0, 1.0, 0]), *vectors.T]


def _about(mesh: Mesh, along: FloatArray) -> Fitted:
    """The profile about an axis through the middle of the volume."""
    turned = mesh.points @ frame_of(along).T
    middle = mesh.centre() @ frame_of(along).T
    turned = turned - np.array([middle[0], middle[1], 0.0])
    low, high = float(turned[:, 2].min()), float(turned[:, 2].max())
    tall = high - low
    # Denser towards both ends, where a rounded body closes.
    inside = 0.5 - 0.5 * np.cos(np.pi * (np.arange(_SECTIONS) + 0.5) / _SECTIONS)
    radii, off = [], []
    for share in inside:
        pieces = plane_cut(turned, mesh.facets, low + float(share) * tall)
        radius = math.sqrt(max(signed_area(pieces), 0.0) / math.pi)
        radii.append(radius)
        off.append(np.hypot(pieces[:, 0, 0], pieces[:, 0, 1]) - radius)
    heights = inside * tall
    foot, top = (
        end_radius(heights[place] - edge, np.array(radii)[place])
        for place, edge in ((slice(0, 4), 0.0), (slice(-1, -5, -1), tall))
    )
    points = [(0.0, foot), *zip(heights.tolist(), radii, strict=True), (tall, top)]
    if along[2] < 0.99 and top > foot:
        points = [(tall - height, radius) for height, radius in reversed(points)]
    all_off = np.concatenate(off)
    worst, usual = float(np.abs(all_off).max()), float(np.sqrt(np.mean(all_off**2)))
    return Fitted(
        profile=Profile(points=tuple((float(h), float(r)) for h, r in points)),
        worst=worst,
        usual=usual,
        axis=(float(along[0]), float(along[1]), float(along[2])),
        volume=mesh.volume,
        round=worst <= ROUND * max(radii),
    )
