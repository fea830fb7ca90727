"""Write tests/simulators/channel_cases.json: reference cases of a strip in a channel, by an independent shell code.

Each is solved on two meshes; what changes between them is the error. Run from the project's root:
PYTHONPATH=. python scripts/channel_cases.py [NAME ...]; with names only those rows are computed anew.
"""

from __future__ import annotations

import json
import sys
from dataclasses import asdict
from pathlib import Path

import numpy as np

from tests.simulators.channel_shell import InChannel, Walls
from tests.simulators.lidded_shell import Film, Mesh

TARGET = Path(__file__).resolve().parent.parent / "tests" / "simulators" / "channel_cases.json"
TRIACETATE = {"thickness_mm": 0.13, "youngs_mpa": 3400.0, "poisson": 0.38, "density_kg_m3": 1290.0}
# a 35 mm strip on an arc of 200 mm, in layers of 0.1 mm; corners from x²/2R about the rail's, to four digits
RAILS = Walls(
    window=12.5, lid_edge=13.0, layer=0.1, low=(13.5, 14.905, 16.188, 17.376, 18.487), high=(14.22, 15.56),
    roof=0.3, lip=2.0, lid_lip=1.7, rail_end=0.85,
)  # fmt: skip
MESHES = (Mesh(2, 8), Mesh(2, 12))
FROM_END_MM = (0.0, 5.0, 10.0, 20.0, 40.0)

# curl across and along in 1/m, length, how much higher the lid stands
CASES: dict[str, tuple[float, float, float, float]] = {
    "flat-along": (5.0, 0.0, 228.0, 0.0),
    "core-set": (5.0, 6.0, 228.0, 0.0),
    "core-set-outward": (5.0, -6.0, 228.0, 0.0),
    "both-strong": (9.0, 12.0, 228.0, 0.0),
    "straight-across": (0.0, 8.0, 228.0, 0.0),
    "short": (4.0, 10.0, 76.0, 0.0),
    "lifted": (13.0, 6.0, 114.0, 0.3),
}


def numbers(model: InChannel) -> dict[str, object]:
    """Heights along the middle line and the edge, and what pushes."""
    found = model.settled()
    if not found.converged:
        raise RuntimeError("the shell did not come to rest")
    half = model.film.y_mm / 2
    at = [np.interp(half - d, found.y_mm, found.z_mm[0]) for d in (*FROM_END_MM, half)]
    edge = [np.interp(half - d, found.y_mm, found.z_mm[-1]) for d in (*FROM_END_MM, half)]
    return {
        "middle_mm": [round(float(v), 5) for v in at],
        "edge_mm": [round(float(v), 5) for v in edge],
        "push_n": round(found.lid_force_n, 5),
        "carried_n": round(found.ledge_force_n, 5),
        "energy_nmm": round(found.energy_n_mm, 6),
    }


def main(names: list[str]) -> None:
    rows = json.loads(TARGET.read_text()) if TARGET.exists() else {}
    for name in names or list(CASES):
        across, along, length, lift = CASES[name]
        film = Film(35.0, length, **TRIACETATE, curl_x_per_m=-across, curl_y_per_m=-along)
        walls = Walls(**{**asdict(RAILS), "roof": RAILS.roof + lift})
        coarse, fine = (numbers(InChannel(film, walls, mesh)) for mesh in MESHES)
        apart = max(
            abs(a - b)
            for key in ("middle_mm", "edge_mm")
            for a, b in zip(coarse[key], fine[key], strict=True)  # type: ignore[call-overload]
        )
        rows[name] = {
            "across_per_m": across, "along_per_m": along, "film": asdict(film), "walls": asdict(walls),
            "from_end_mm": [*FROM_END_MM, length / 2], **fine, "coarse_push_n": coarse["push_n"],
            "meshes_apart_mm": round(apart, 5),
        }  # fmt: skip
        print(name, fine, f"meshes apart {apart:.4f}", flush=True)
        TARGET.write_text(json.dumps({key: rows[key] for key in CASES if key in rows}, indent=1) + "\n")


if __name__ == "__main__":
    main(sys.argv[1:])
