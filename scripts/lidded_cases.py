"""Write tests/simulators/lidded_cases.json: reference cases of a film sheet under a lid that weighs something.

Each case is solved on a whole sheet from several starting shapes (least energy kept, tilt and twist allowed),
then, where that equilibrium is symmetric, on three finer quarter meshes. Their changes give the error.
Run from the project's root: PYTHONPATH=. python scripts/lidded_cases.py [NAME ...]; with names only those rows are
recomputed. About 15 minutes for all.
"""

from __future__ import annotations

import json
import sys
from dataclasses import asdict
from pathlib import Path

from tests.simulators.lidded_shell import Equilibrium, Film, Lid, Mesh, Model, equilibria

TARGET = Path(__file__).resolve().parent.parent / "tests" / "simulators" / "lidded_cases.json"
TRIACETATE = {"thickness_mm": 0.13, "youngs_mpa": 3400.0, "poisson": 0.38, "density_kg_m3": 1290.0}
POLYESTER = {"thickness_mm": 0.18, "youngs_mpa": 4500.0, "poisson": 0.38, "density_kg_m3": 1390.0}
SHEETS = {"6x9": (61.5, 90.0), "4x5": (99.0, 125.0), "5x7": (126.0, 176.0), "8x10": (202.0, 252.0)}
WHOLE = Mesh(1, 8)
QUARTERS = (Mesh(1, 12), Mesh(2, 16), Mesh(3, 24))
WHOLES = (Mesh(1, 8), Mesh(1, 10), Mesh(2, 12))
STARTS = ("flat", "roll_x", "roll_y", "dome")
SHOWN = (
    "lift_mm", "tilt_x_mm", "tilt_y_mm", "highest_mm", "lowest_mm", "window_highest_mm", "window_lowest_mm",
    "lid_force_n", "ledge_force_n", "rest_force_n", "energy_n_mm", "slope", "draw_in_mm",
)  # fmt: skip
LENGTHS = (
    "lift_mm",
    "tilt_x_mm",
    "tilt_y_mm",
    "highest_mm",
    "lowest_mm",
    "window_highest_mm",
    "window_lowest_mm",
)

# sheet, curl along x and y in 1/m, lid's weight in N, further fields of the lid
CASES: dict[str, tuple[str, float, float, float, dict[str, object]]] = {
    "6x9-up-light": ("6x9", 3.0, 0.0, 0.01, {}),
    "6x9-strong-light": ("6x9", 6.0, 0.0, 0.01, {}),
    "6x9-along": ("6x9", 0.0, 6.0, 0.05, {}),
    "6x9-down-light": ("6x9", -3.0, 0.0, 0.05, {}),
    "6x9-both-heavy": ("6x9", 4.0, 2.0, 0.3, {}),
    "6x9-rests": ("6x9", 3.0, 0.0, 0.3, {"play_mm": 0.1}),
    "4x5-up-light": ("4x5", 2.0, 0.0, 0.03, {}),
    "4x5-both-heavy": ("4x5", 3.0, 3.0, 0.5, {}),
    "4x5-down": ("4x5", -2.0, -1.0, 0.1, {}),
    "4x5-tilted": ("4x5", 3.0, 0.0, 0.1, {"centre_mm": (10.0, 15.0)}),
    "4x5-strong-light": ("4x5", 4.0, 0.0, 0.02, {}),
    "5x7-up-light": ("5x7", 1.5, 0.0, 0.05, {}),
    "5x7-along-heavy": ("5x7", 0.0, 3.0, 1.0, {}),
    "5x7-down": ("5x7", -3.0, 0.0, 0.3, {}),
    "5x7-narrow-lid": ("5x7", 2.0, 1.0, 0.1, {"lip_mm": 2.0, "play_mm": 0.05}),
    "8x10-up-light": ("8x10", 1.0, 0.0, 0.1, {}),
    "8x10-both": ("8x10", 2.0, 1.0, 0.3, {}),
    "8x10-strong-light": ("8x10", 2.5, 0.0, 0.06, {}),
    "8x10-down": ("8x10", -1.5, 0.0, 0.06, {}),
    "8x10-heavy": ("8x10", 3.0, 0.0, 3.0, {}),
}


def numbers(state: Equilibrium) -> dict[str, float]:
    return {name: round(float(getattr(state, name)), 7) + 0.0 for name in SHOWN}


def refine(film: Film, lid: Lid, lip: float, symmetric: bool) -> list[dict[str, object]]:
    """Results on three meshes, coarse to fine."""
    rows: list[dict[str, object]] = []
    for mesh in QUARTERS if symmetric else WHOLES:
        model = Model(film, lid, lip, mesh, quarter=symmetric)
        state, _ = model.solve("flat")
        if not state.converged:
            raise RuntimeError(f"mesh {mesh} did not converge")
        rows.append({"mesh": asdict(mesh), "quarter": symmetric, **numbers(state)})
    return rows


def mesh_error(values: list[float]) -> float:
    """Error of the finest of three meshes (mm): its last change, half the change before, and the contact tolerance."""
    coarse, middle, fine = values
    return round(max(abs(fine - middle), abs(middle - coarse) / 2) + 2e-5, 6)


def solve(name: str) -> dict[str, object]:
    sheet, curl_x, curl_y, weight, more = CASES[name]
    stuff = TRIACETATE if sheet == "6x9" else POLYESTER
    film = Film(*SHEETS[sheet], **stuff, curl_x_per_m=curl_x, curl_y_per_m=curl_y)
    lid = Lid(weight_n=weight, **{"lip_mm": 3.0, **more})  # type: ignore[arg-type]
    found = equilibria(Model(film, lid, 3.0, WHOLE), STARTS)
    best = found[0]
    symmetric = max(abs(best.tilt_x_mm), abs(best.tilt_y_mm)) < 1e-4 and lid.centre_mm == (0.0, 0.0)
    meshes = refine(film, lid, 3.0, symmetric)
    finest = meshes[-1]
    away = max(abs(float(finest[key]) - numbers(best)[key]) for key in ("lift_mm", "highest_mm"))  # type: ignore[arg-type]
    if away > 0.02:
        raise RuntimeError(f"{name}: the refined mesh went to another equilibrium")
    error = {key: mesh_error([float(row[key]) for row in meshes]) for key in LENGTHS}  # type: ignore[arg-type]
    return {
        "film": asdict(film), "lid": asdict(lid), "ledge_lip_mm": 3.0,
        "result": {key: finest[key] for key in SHOWN}, "error": error,
        "starts": [{"start": e.start, "energy_n_mm": round(e.energy_n_mm, 9)} for e in found],
        "started": len(STARTS), "meshes": meshes,
    }  # fmt: skip


def main(names: list[str]) -> None:
    rows = json.loads(TARGET.read_text()) if TARGET.exists() else {}
    for name in names or list(CASES):
        rows[name] = solve(name)
        result, error = rows[name]["result"], rows[name]["error"]
        print(f"{name:18s} lift {result['lift_mm']:.4f} +- {error['lift_mm']:.5f}", end="  ")
        print(f"highest {result['highest_mm']:.4f} lowest {result['lowest_mm']:.4f}", flush=True)
        ordered = {key: rows[key] for key in CASES if key in rows}
        TARGET.write_text(json.dumps(ordered, indent=1) + "\n")


if __name__ == "__main__":
    main(sys.argv[1:])
