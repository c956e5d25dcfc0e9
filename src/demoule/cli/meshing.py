"""`demoule cold mesh`: a cavity from a drawing program, measured, with the profile that stands for it."""

from __future__ import annotations

import json
from pathlib import Path

__all__ = ["look_at_mesh"]


def look_at_mesh(file: Path, *, units: str | None, as_json: bool) -> int:
    """Print what a mesh holds, how round it is, and its profile as a file takes it; 1 where it is not round."""
    from demoule.files.meshes import read_mesh, told
    from demoule.piece.mesh import profile_of

    mesh = read_mesh(file, units)
    fitted = profile_of(mesh)
    points = [[round(1000 * height, 2), round(1000 * radius, 2)] for height, radius in fitted.profile.points]
    if as_json:
        print(
            json.dumps(
                {
                    "volume_ml": 1e6 * mesh.volume,
                    "area_cm2": 1e4 * mesh.area,
                    "size_mm": [1000 * one for one in mesh.size],
                    "facets": len(mesh.facets),
                    "mended": list(mesh.mended),
                    "round": fitted.round,
                    "worst_mm": 1000 * fitted.worst,
                    "usual_mm": 1000 * fitted.usual,
                    "axis": list(fitted.axis),
                    "profile_mm": points,
                }
            )
        )
        return 0 if fitted.round else 1
    print(f"{file.name}: {' × '.join(f'{1000 * one:.1f}' for one in mesh.size)} mm, {len(mesh.facets)} facets")
    print(f"  holds {1e6 * mesh.volume:.1f} ml; surface {1e4 * mesh.area:.1f} cm²")
    for words in mesh.mended:
        print(f"  · {words}")
    if not fitted.round:
        print(f"  Not round: the nearest profile lies {told(fitted)}.")
        print("  Only round pieces are built and frozen: give the nearest round shape, with “holds”.")
        return 1
    print(f"  Round: its profile lies {told(fitted)}.")
    if abs(fitted.axis[2]) < 0.99:
        print("  It is round about another axis than the z of the drawing: the profile stands along that one.")
    every = points[:: max(1, len(points) // 24)]
    every = every if every[-1] == points[-1] else [*every, points[-1]]
    print(f"\n  profile: {every}\n  holds: {1e6 * mesh.volume:.1f} ml")
    return 0
