"""`demoule cold mesh`: a cavity from a drawing program, measured, and whether a profile can stand for it."""

from __future__ import annotations

import json
from pathlib import Path

__all__ = ["look_at_mesh"]


def look_at_mesh(file: Path, *, units: str | None, as_json: bool) -> int:
    """Print what a mesh holds, how it stands, how round it is, and where it is round its profile as a file takes it."""
    from demoule.files.meshes import read_mesh, told
    from demoule.piece.mesh import profile_of

    mesh = read_mesh(file, units)
    fitted = profile_of(mesh)
    body = mesh.solid()
    foot = 2 * body.profile[1][0] if body.profile[1][1] - body.profile[0][1] < 1e-9 else 0.0
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
                    "foot_mm": 1000 * foot,
                    "inside_mm": 2000 * max(radius for radius, _ in body.inscribed),
                    "round": fitted.round,
                    "worst_mm": 1000 * fitted.worst,
                    "usual_mm": 1000 * fitted.usual,
                    "axis": list(fitted.axis),
                    "profile_mm": points,
                }
            )
        )
        return 0
    print(f"{file.name}: {' × '.join(f'{1000 * one:.1f}' for one in mesh.size)} mm, {len(mesh.facets)} facets")
    print(f"  holds {1e6 * mesh.volume:.1f} ml; surface {1e4 * mesh.area:.1f} cm²")
    for words in mesh.mended:
        print(f"  · {words}")
    standing = f"a level foot as large as a circle of {1000 * foot:.1f} mm" if foot else "no level foot"
    print(f"  stands on its z, {1000 * body.height:.1f} mm high, with {standing}")
    if not fitted.round:
        print(f"  Not round: the nearest profile lies {told(fitted)}.")
        print("  It is built and frozen in its three dimensions. Lay it beside the kitchen file, and name it there:")
        print(f"\n  mesh: {file.name}, units: {units or 'mm'}")
        print("\n  Where another direction of the drawing points up as the piece stands, add “up”: up: y.")
        return 0
    print(f"  Round: its profile lies {told(fitted)}.")
    if abs(fitted.axis[2]) < 0.99:
        print("  It is round about another axis than the z of the drawing: the profile stands along that one.")
    every = points[:: max(1, len(points) // 24)]
    every = every if every[-1] == points[-1] else [*every, points[-1]]
    print(f"\n  profile: {every}\n  holds: {1e6 * mesh.volume:.1f} ml")
    return 0
