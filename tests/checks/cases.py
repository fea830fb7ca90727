"""For every check the ways in which it can warn, stop or not apply: what is changed, and what must be found."""

from __future__ import annotations

from dataclasses import replace

from holders.design.model import Cut, Design, Edges, Foot, Rect, Role, Slab
from holders.design.pieces.split import split
from holders.design.sag import Sag
from holders.facts.tables import film_format
from holders.geometry.grip import Grip
from holders.geometry.outline import Region, circle, rectangle
from holders.preset.resolve import Job
from tests.checks.case import Case, Made
from tests.checks.cases_bars import BARS
from tests.checks.cases_mask import MASK
from tests.checks.cases_mount import MOUNT
from tests.checks.cases_passes import PASSES
from tests.checks.cases_shop import SHOP_CASES
from tests.checks.make_channel import channelled
from tests.checks.make_cover import covered
from tests.checks.make_design import FILM, job, make, outline, shell, window, with_heights, with_lid
from tests.checks.make_insert import carried, keyless
from tests.checks.make_wet import glasses, roll, wet


def _cut(design: Design, *cuts: Cut) -> Design:
    first = design.parts[0]
    return replace(design, parts=(replace(first, cuts=(*first.cuts, *cuts)), *design.parts[1:]))


def _slot_beside_window(width: float) -> Cut:
    """A slot along the left window edge that leaves a wall of ``width`` up to the opening, over the whole height."""
    left = FILM.x + 2.5 - 1.8 - width  # the chamfer takes 1.8 mm more at the underside
    return Cut("slot", rectangle(left - 3, 100, 3, 80), 0.5, 5.1)


def _weighted(over_mm: float, route: str = "print") -> Made:
    """A lid with a weight on it, whose top lies so far over that of the frame."""
    made = with_lid(make(route))
    up = max(part.z1 for part in made.parts if part.role is not Role.LID) + over_mm
    parts = tuple(
        replace(part, slabs=tuple(replace(slab, z1=up) for slab in part.slabs))
        if part.role is Role.LID
        else part
        for part in made.parts
    )
    fitted = tuple(replace(one, extra_n=2.5) for one in made.fitted)  # type: ignore[type-var]
    return job(route, preset={"lid": {"extra_weight_n": 2.5}}), replace(made, parts=parts, fitted=fitted)


def _two(gap: float) -> tuple[Rect, Rect]:
    return Rect(20, 86, 60, 80), Rect(80 + gap, 86, 60, 80)


def _two_windows(gap: float, route: str = "print") -> Design:
    return make(route, tuple(window(at) for at in _two(gap)))


def _feet(*spots: tuple[float, float], diameter: float = 6.0) -> tuple[Foot, ...]:
    return tuple(Foot(x, y, diameter) for x, y in spots)


def _lip_window(lip: float) -> Design:
    return make(windows=(window(lips=Edges(lip, lip, lip, lip)),))


def _pale() -> Job:
    return job(preset={"material": {"name": "stuff", "finish": "light"}})


def _perforated(lit_mm: float) -> Made:
    holes = {"perforation_edge_mm": 2.0, "perforation_width_mm": 2.8}
    return job(film=holes), make(windows=(window(holes_lit=Edges(0, 0, lit_mm, 0)),))


def _gripped(
    beside: float,
    width: float,
    *,
    tab: bool = False,
    kind: str = "sheet",
    through: float = 0.0,
    deep: float = 5.0,
    foot: bool = False,
    foot_deep: float | None = None,
    thick: float | None = None,
    proud: float | None = None,
) -> Made:
    """One notch at the head, or one at the foot too, as deep or less; what lies there so thick, or proud of a wall."""
    depths = {"head": deep, "foot": deep if foot_deep is None else foot_deep}
    edges = ("head", "foot") if foot else ("head",)
    one = window(grips=tuple(Grip(edge, width, beside, depths[edge], tab, through) for edge in edges))
    made = make(windows=(one,))
    if thick is not None:
        made = replace(made, film_thickness=thick)
    if proud is not None:
        made = replace(made, pocket_depth=2.0, film_thickness=round(2.0 + proud, 6))
    return job(film={"kind": kind}, preset={"lid": {}} if tab else {}), with_lid(made) if tab else made


def _mounts(sunk_mm: float, *depths: float) -> Made:
    """Mounts of 2 mm, one with a notch of each depth, or one without any."""
    each = [(Grip("head", 20.0, 20.0, deep),) for deep in depths] or [()]
    made = make(windows=tuple(window(grips=grips) for grips in each), pocket_depth=sunk_mm)
    return job(film={"kind": "mount", "thickness_mm": 2.0}), replace(made, film_thickness=2.0)


def _board(away_mm: float | None = None) -> Made:
    """One board, on it a stop that stands so far from the film's nominal edge (films differ by 0.25 mm a side)."""
    made = make("laser", pocket_depth=0.0)
    if away_mm is None:
        return job("laser"), made
    block = Slab("stop", 3.0, 5.0, Region(outline(Rect(FILM.right + away_mm, 100, 5, 10))))
    stop = replace(made.parts[0], name="corner-stop-1", slabs=(block,), role=Role.CORNER)
    return job("laser"), replace(made, parts=(*made.parts, stop))


def _rebate(**over: object) -> Made:
    return (
        job(preset={"lip": {"rebate_edge": "head", "rebate_mm": 2.0}}),
        make(windows=(window(lips=Edges(2.5, 2.5, 1.0, 2.5), **over),)),
    )


def _lidded(gap: float = 0.3, play: float = 0.2, **table: object) -> Made:
    return job(preset={"lid": dict(table)}), with_lid(make(), gap, play)


def _magnets(cut: Cut | None) -> Made:
    made = with_lid(make())
    if cut is not None:
        part = made.parts[-1]
        made = replace(made, parts=(*made.parts[:-1], replace(part, cuts=(cut,))))
    return job(preset={"lid": {"magnets": 2}}), made


def _pit(depth: float) -> Cut:
    return Cut("magnet", circle(60.5, 150, 0.5), 3.48, 3.48 + depth, magnet=(0.8, depth))


def _flat_ledge(thick: float) -> Design:
    """The printed frame with a chamfer that leaves ``thick`` under the film's edge."""
    made = make()
    part = made.parts[0]
    chamfer = Cut("window chamfer", outline(made.windows[0].opening), 0.5, 3.1 - thick, 1.8)
    return replace(made, parts=(replace(part, cuts=(chamfer,)),))


def _no_ledge() -> Design:
    made = make()
    low, high = made.parts[0].slabs
    gone = Slab("ledge", low.z0, low.z1, Region(shell(), (outline(made.windows[0].pocket),)))
    return replace(made, parts=(replace(made.parts[0], slabs=(gone, high)),))


def _sag(share: float, gap: float) -> Made:
    return job(), make(sag=Sag(max_mm=0.8, mean_mm=0.4, min_gap_mm=gap, in_band_fraction=share))


def _laser(**material: object) -> Made:
    return job("laser", material=material), make("laser")


def _split(
    fit: str = "glue", clearance: float | None = None, z_tolerance: float = 0.05, feet: bool = True
) -> tuple[Job, Design]:
    """The good holder on a plate of 220 mm: two pieces, joined across the side rails."""
    table = {"fit": fit} if clearance is None else {"fit": fit, "clearance_mm": clearance}
    small = job(
        preset={"split": table}, printer={"build_x_mm": 220, "build_y_mm": 220, "z_tolerance_mm": z_tolerance}
    )
    made = make() if feet else make(feet=(), foot_thickness=0.0, foot_recess=0.0)
    found = split(small, made.parts, made.windows)
    return small, replace(made, parts=found.parts, seams=found.seams)


def _heavy(times: float) -> tuple[Job, Design]:
    """The same pieces of something so many times as heavy."""
    small, made = _split()
    stuff = small.material.model_copy(update={"density_kg_m3": times * small.material.density_kg_m3})
    return replace(small, material=stuff), made


def _joint_in_window() -> tuple[Job, Design]:
    small, made = _split()
    x, y = made.seams[0].joints[0].root
    return small, replace(made, windows=(window(Rect(x - 20, y - 20, 40, 40)),))


def _seam_near_corner(away: float) -> tuple[Job, Design]:
    small, made = _split()
    seam = made.seams[0]
    film = made.windows[0].film
    low, high = (film.x, film.right) if seam.axis == "y" else (film.y, film.top)
    at = (film.y if seam.axis == "y" else film.x) + away
    return small, replace(
        made, seams=(replace(seam, at_mm=at, crossings=((low - 9, low), (high, high + 9))),)
    )


def _unmarked() -> tuple[Job, Design]:
    small, made = _split()
    seam = made.seams[0]
    bare = tuple(replace(joint, marked=False) for joint in seam.joints)
    return small, replace(made, seams=(replace(seam, joints=bare),))


def _sized(**sizes: float) -> Made:
    """A 4x5 whose preset gives other sizes (mm)."""
    preset = {"film": {"format": "4x5", **sizes}}
    row = film_format("4x5").model_copy(update=sizes)
    return replace(job(preset=preset), film=row), make()


CASES = (
    Case("film-size", "pass", lambda: _sized(cut_width_mm=101.0)),
    Case("film-size", "skip", lambda: _sized(cut_width_mm=105.0, cut_height_mm=140.0)),
    Case("film-size", "warn", lambda: _sized(cut_width_mm=4.0), field="film.cut_width_mm"),
    Case("film-size", "warn", lambda: _sized(cut_width_mm=125.0, cut_height_mm=100.0), field="film.cut_width_mm"),
    Case("film-size", "warn", lambda: _sized(cut_height_mm=100.0), field="film.cut_height_mm"),
    Case("film-size", "warn", lambda: _sized(cut_width_mm=127.0, cut_height_mm=178.0), field="film.cut_height_mm"),
    Case("film-size", "skip", lambda: (job(), make())),
    Case("lip", "warn", lambda: (job(), _lip_window(1.6)), "smallest film", "lip.all_mm"),
    Case("lip", "stop", lambda: (job(), _lip_window(1.0)), "smallest film"),
    Case(
        "lip", "warn",
        lambda: (job(preset={"lip": {"left_mm": 1.5}}), make(windows=(window(lips=Edges(1.5, 2.5, 2.5, 2.5)),))),
        "smallest film", "lip.left_mm",
    ),
    Case("lip", "warn", lambda: (job(film={"tolerance_mm": 0.95}), make()), "largest film", "layout.clearance_mm"),
    Case("lip", "stop", lambda: (job(film={"tolerance_mm": 1.2}), make()), "largest film"),
    Case("lip", "stop", lambda: (job(), _with_knob()), "in the way"),
    Case("lip", "warn", lambda: (job(), _lip_window(4.0)), "clear border"),
    Case("lip", "skip", lambda: (job(), make(windows=()))),
    Case("flare", "pass", lambda: (job(), make()), words="window"),
    Case("flare", "warn", lambda: (_pale(), make()), words="window", field="material.finish"),
    Case("flare", "skip", lambda: (job(), make(windows=()))),
    Case("flare", "skip", lambda: (job(), make()), words="perforations"),
    Case("flare", "warn", lambda: _perforated(0.4), words="perforations", field="lip.head_mm"),
    Case("flare", "pass", lambda: _perforated(0.0), words="perforations"),
    Case("grip", "skip", lambda: (job(), make())),
    Case("grip", "pass", lambda: _gripped(16.0, 24.0), words="room at the film"),
    Case("grip", "warn", lambda: _gripped(16.0, 15.9), words="room at the film", field="layout.finger_notches"),
    Case("grip", "pass", lambda: _gripped(16.0, 46.0, tab=True), words="tab"),
    Case("grip", "warn", lambda: _gripped(15.9, 46.0, tab=True), words="tab", field="lid.tabs"),
    Case("grip", "pass", lambda: _gripped(16.0, 46.0, tab=True, through=16.0), words="thumb opening"),
    Case("grip", "warn", lambda: _gripped(16.0, 46.0, tab=True, through=15.9), words="thumb opening"),
    Case("grip", "skip", lambda: _gripped(16.0, 46.0, tab=True), words="thumb opening"),
    Case("grip", "warn", lambda: _gripped(16.0, 24.0, kind="plate"), words="plate"),
    Case("grip", "pass", lambda: _gripped(16.0, 24.0, kind="plate", foot=True), words="plate"),
    Case("grip", "warn", lambda: _gripped(16.0, 24.0, kind="plate", foot=True, deep=4.9), words="plate"),
    Case("grip", "pass", lambda: _gripped(16.0, 24.0, kind="plate", foot=True, thick=1.2), words="edge of the plate"),
    Case("grip", "warn", lambda: _gripped(16.0, 24.0, kind="plate", foot=True, thick=1.19), words="edge of the plate"),
    Case("grip", "skip", lambda: _gripped(16.0, 24.0, kind="plate", thick=1.2), words="edge of the plate"),
    Case("grip", "pass", lambda: _gripped(16.0, 24.0, kind="plate", proud=1.2), words="plate above its wall"),
    Case("grip", "warn", lambda: _gripped(16.0, 24.0, kind="plate", proud=1.19), words="openings to lift"),
    Case("grip", "warn", lambda: _gripped(16.0, 24.0, deep=4.9), words="room at the film"),
    Case("grip", "warn", lambda: _gripped(16.0, 46.0, tab=True, deep=4.9), words="beside the lid's tab"),
    Case("grip", "skip", lambda: _gripped(16.0, 24.0), words="thumb opening"),
    Case("grip", "skip", lambda: _gripped(16.0, 46.0, tab=True, foot=True, foot_deep=4.9), words="depth of the notch"),
    Case("grip", "pass", lambda: _gripped(16.0, 46.0, tab=True, foot=True), words="finger room beside the lid's tab"),
    Case("grip", "pass", lambda: _mounts(1.2), words="mounts"),
    Case("grip", "pass", lambda: _mounts(1.0, 5.0, 5.0), words="pockets without"),
    Case("grip", "warn", lambda: _mounts(1.0, 5.0, 4.9), words="pockets without", field="layout.finger_notches"),
    Case("grip", "warn", lambda: _mounts(1.21), words="mounts", field="layout.pocket_depth_mm"),
    Case("one-board", "skip", lambda: (job(), make())),
    Case("one-board", "warn", _board, words="kept in its place", field="layout.corner_stops"),
    Case("one-board", "skip", _board, words="off the largest"),
    Case("one-board", "pass", lambda: _board(0.25), words="off the largest"),
    Case("one-board", "stop", lambda: _board(0.24), words="off the largest", field="layout.clearance_mm"),
    Case("rebate", "pass", _rebate, field="lip.rebate_mm"),
    Case("rebate", "warn", lambda: _rebate(shaded=Edges(0, 0, 1.0, 0)), field="lip.rebate_mm"),
    Case("rebate", "stop", lambda: _rebate(shaded=Edges(0, 0, 2.5, 0))),
    Case("rebate", "skip", lambda: (job(), make())),
    Case("seen", "warn", lambda: (job(), make(windows=(window(seen=0.9),))), field="lip.all_mm"),
    Case("seen", "stop", lambda: (job(), make(windows=(window(seen=0.3),)))),
    Case("seen", "skip", lambda: (job(), make(windows=()))),
    Case("focus-error", "warn", lambda: (job(), with_heights(make(), sharp_plane=3.6)), field="bed.focus_height_mm"),
    Case("focus-error", "stop", lambda: (job(), with_heights(make(), sharp_plane=3.8))),
    Case("focus-error", "stop", lambda: (job(), with_heights(make(), sharp_plane=2.4))),
    Case("focus-error", "stop", lambda: (job(), make(sag=Sag(1.4, 0.7, 1.7, 0.5)))),
    Case("sag", "pass", lambda: _sag(0.95, 1.0), "share"),
    Case("sag", "warn", lambda: _sag(0.7, 1.0), "share", "lid"),
    Case("sag", "stop", lambda: _sag(0.2, 1.0), "share"),
    Case("sag", "warn", lambda: _sag(0.95, 0.05), "gap"),
    Case("sag", "stop", lambda: _sag(0.95, 0.0), "gap"),
    Case("sag", "skip", lambda: (job(), make())),
    Case("layers", "pass", lambda: (job(), make()), "foot recess"),
    Case("layers", "warn", lambda: (job(), make(foot_recess=0.7)), "foot recess", "feet.recess_mm"),
    Case("layers", "warn", lambda: (job(), with_heights(make(), ledge_wanted=3.0)), "rounded"),
    Case("layers", "stop", lambda: (job(), with_heights(make(), ledge_wanted=3.3)), "rounded"),
    Case("layers", "skip", lambda: (job("knife"), make("knife"))),
    Case("lamp", "stop", lambda: (job(), make(lamp=Rect(70, 25, 130, 250))), field="layout.turn"),
    Case("lamp", "skip", lambda: (job(), make(windows=()))),
    Case("calibration", "stop", lambda: (job(), make(calibration=Rect(40, 0, 130, 15)))),
    Case("calibration", "stop", lambda: (job(), make(feet=_feet((100, 5), (10, 280), (200, 280))))),
    Case("calibration", "warn", lambda: (job(), make(calibration=Rect(38.2, 0, 130, 8)))),
    Case("calibration", "skip", lambda: (job(), make(calibration=None))),
    Case("glass-fit", "stop", lambda: (job(), make(glass=Rect(0, 0, 215.2, 297))), field="layout.slide_gap_mm"),
    Case("glass-fit", "warn", lambda: (job(), make(glass=Rect(0, 0, 215.7, 297)))),
    Case("lid-room", "warn", lambda: (job(bed={"lid_room_mm": 5.3}), make()), field="layout.pocket_depth_mm"),
    Case("lid-room", "stop", lambda: (job(bed={"lid_room_mm": 5.0}, preset={"lid": {}}), with_lid(make())), field=(
        "lid.thickness_mm"
    )),
    Case("lid-fit", "warn", lambda: _lidded(gap=0.05), "side clearance", "lid.clearance_mm"),
    Case("lid-fit", "warn", lambda: _lidded(gap=1.5), "side clearance"),
    Case("lid-fit", "stop", lambda: _lidded(gap=-0.1), "side clearance"),
    Case("lid-fit", "warn", lambda: _lidded(play=0.01), "play", "lid.play_mm"),
    Case("lid-fit", "warn", lambda: _lidded(play=0.8), "play"),
    Case("lid-fit", "pass", lambda: _lidded(play=0.0), "play"),
    Case("lid-fit", "pass", lambda: _magnets(_pit(0.9)), "magnets"),
    Case("lid-fit", "warn", lambda: _magnets(_pit(1.3)), "magnets", "lid.magnet_thickness_mm"),
    Case("lid-fit", "stop", lambda: _magnets(_pit(1.62)), "magnets"),
    Case("lid-fit", "warn", lambda: _magnets(None), "magnets", "lid.magnets"),
    Case("lid-fit", "skip", lambda: (job(), make())),
    Case("lid-fit", "pass", lambda: _weighted(0.1), "for a weight"),
    Case("lid-fit", "pass", lambda: _weighted(0.0), "for a weight"),
    Case("lid-fit", "warn", lambda: _weighted(-0.1), "for a weight", "layout.pocket_depth_mm"),
    Case("lid-fit", "warn", lambda: _weighted(0.0, "laser"), "for a weight", "layout.pocket_depth_mm"),
    Case("overlap", "stop", lambda: _lidded(gap=-0.1), "parts"),
    Case("overlap", "stop", lambda: (job(), _two_windows(0.5)), "pockets", "layout.count"),
    Case("overlap", "stop", lambda: (job(), _twice_in_one_place()), "parts"),
    Case("wall", "warn", lambda: (job(), _cut(make(), _slot_beside_window(0.6))), field="layout.wall_mm"),
    Case("wall", "stop", lambda: (job(), _cut(make(), _slot_beside_window(0.3)))),
    Case("wall", "warn", lambda: (job("laser"), _two_windows(2.6, "laser"))),
    Case("wall", "stop", lambda: (job("laser"), _two_windows(1.9, "laser"))),
    Case("wall", "warn", lambda: (job("knife"), _two_windows(1.9, "knife"))),
    Case("wall", "stop", lambda: (job("knife"), _two_windows(1.5, "knife"))),
    Case("ledge", "warn", lambda: (job(), _flat_ledge(0.5)), field="layout.relief"),
    Case("ledge", "stop", lambda: (job(), _flat_ledge(0.2))),
    Case("ledge", "stop", lambda: (job(), _no_ledge())),
    Case("ledge", "skip", lambda: (job(), _lip_window(0.0))),
    Case("bridges", "warn", lambda: (job("laser"), _two_windows(2.6, "laser")), field="layout.wall_mm"),
    Case("bridges", "stop", lambda: (job("laser"), _two_windows(1.5, "laser"))),
    Case("bridges", "warn", lambda: _laser(kerf_mm=0.0), "kerf", "material.kerf_mm"),
    Case("bridges", "stop", lambda: (job("laser"), _slit()), "kerf"),
    Case("bridges", "skip", lambda: (job(), make())),
    Case("nitrate", "pass", lambda: (job(), make())),
    Case("nitrate", "stop", lambda: (job(base={"nitrate": True}), make()), field="base.name"),
    Case("laser-material", "pass", _laser),
    Case("laser-material", "warn", lambda: _laser(laser="ask the operator"), field="material.name"),
    Case("laser-material", "stop", lambda: _laser(laser="forbidden", laser_reason="gives off chlorine")),
    Case("laser-material", "stop", lambda: _laser(laser="not cut by laser")),
    Case("laser-material", "skip", lambda: (job(), make())),
    Case("machine-fit", "stop", lambda: (job(printer={"build_x_mm": 180, "build_y_mm": 180}), make()), field=(
        "printer.name"
    )),
    Case("machine-fit", "stop", lambda: (job(printer={"build_z_mm": 4.0}), make())),
    Case("machine-fit", "stop", lambda: _laser(sheet_width_mm=200.0, sheet_height_mm=300.0)),
    Case("machine-fit", "skip", lambda: _laser(sheet_width_mm=None, sheet_height_mm=None)),
    Case("seam", "pass", _split, "step"),
    Case("seam", "pass", lambda: _split(fit="press", feet=False), "step"),
    Case("seam", "warn", lambda: _split(z_tolerance=0.25), "step", "printer.z_tolerance_mm"),
    Case("seam", "stop", lambda: _split(z_tolerance=0.45), "step"),
    Case("seam", "warn", lambda: _split(fit="press"), "step", "split.fit"),
    Case("seam", "pass", _split, "glue of the joints"),
    Case("seam", "warn", lambda: _heavy(4.0), "glue of the joints", "split.fit"),
    Case("seam", "stop", lambda: _heavy(20.0), "glue of the joints", "split.fit"),
    Case("seam", "skip", lambda: _split(fit="press"), "glue of the joints"),
    Case("seam", "warn", lambda: _split(clearance=0.4), "pocket walls", "split.clearance_mm"),
    Case("seam", "stop", _joint_in_window, "windows", "split.mode"),
    Case("seam", "warn", lambda: _seam_near_corner(4.0), "corners"),
    Case("seam", "stop", lambda: _seam_near_corner(2.0), "corners"),
    Case("seam", "warn", _unmarked, "marked"),
    Case("seam", "skip", lambda: (job(), make())),
    Case("feet", "warn", lambda: (job(), make(foot_thickness=1.0)), "stand out", "feet.recess_mm"),
    Case("feet", "stop", lambda: (job(), make(foot_thickness=0.8)), "stand out"),
    Case("feet", "pass", lambda: (job(), make(feet=_feet((20, 40), (205, 10), (8, 287), (205, 287)))), "off windows"),
    Case("feet", "stop", lambda: (job(), make(feet=_feet((108, 150), (205, 10), (8, 287)))), "off windows"),
    Case("feet", "warn", lambda: (job(), make(feet=_feet((6.5, 10), (209, 10), (209, 12), (108, 287)))), "off windows"),
    Case("feet", "warn", lambda: (job(), make(feet=_feet((3.2, 10), (209, 10), (108, 287)))), "behind material"),
    Case("feet", "stop", lambda: (job(), make(feet=_feet((0.5, 10), (209, 10), (108, 287)))), "behind material"),
    Case("feet", "warn", lambda: (job(), _deep_recess(4.2)), "above a foot"),
    Case("feet", "stop", lambda: (job(), _deep_recess(4.5)), "above a foot"),
    Case("feet", "warn", lambda: (job(), make(feet=_feet((6, 10), (6, 287), (20, 150)))), "one line", "feet.count"),
    Case("feet", "stop", lambda: (job(), make(feet=_feet((6, 10), (6, 150), (6, 287)))), "one line"),
    Case("feet", "stop", lambda: (job(), make(feet=_feet((6, 10), (6, 287), (60, 287)))), "centre of mass"),
    Case("feet", "warn", lambda: (job(), make(feet=_feet((6, 10), (6, 287), (110, 10), (110, 287)))), "centre of mass"),
    Case("feet", "skip", lambda: (job("laser"), make("laser"))),
    Case("cover", "pass", covered, "gap each side"),
    Case("cover", "warn", lambda: covered(face="plain"), "rings", "cover.face"),
    Case("cover", "stop", lambda: covered(thick=2.0), "room", "cover.gap_mm"),
    Case("cover", "skip", lambda: (job(), make())),
    Case("open-ends", "pass", roll, "room light"),
    Case("open-ends", "warn", lambda: roll(gap_mm=4.0), "room light", "roll.gap_mm"),
    Case("open-ends", "pass", roll, "calibration"),
    Case("open-ends", "stop", lambda: roll(turn="never"), "calibration", "roll.ends"),
    Case("open-ends", "pass", lambda: roll(turn="never", ends="far"), "calibration"),
    Case("open-ends", "pass", roll, "floor"),
    Case("open-ends", "pass", lambda: roll(core_mm=75.0, along=2.0), "curl along"),
    Case("open-ends", "warn", lambda: roll(core_mm=75.0), "curl along", "film.curl_along_per_m"),
    Case("open-ends", "warn", lambda: roll(core_mm=75.0, along=30.0), "curl along", "film.curl_along_per_m"),
    Case("open-ends", "skip", lambda: (job(), make())),
    Case("two-glasses", "pass", glasses, "rings between film and upper glass"),
    Case("two-glasses", "pass", lambda: glasses(above_mm=3.0), "heavy"),
    Case("two-glasses", "warn", lambda: glasses(face_above="plain"), "upper glass", "glasses.face_above"),
    Case("two-glasses", "warn", lambda: glasses(face_below="coated"), "lower glass", "glasses.face_below"),
    Case("two-glasses", "warn", glasses, "texture", "glasses.face_below"),
    Case("two-glasses", "warn", lambda: glasses(above_mm=0.7), "heavy", "glasses.above_mm"),
    Case("two-glasses", "skip", lambda: (job(), make())),
    Case("wet-mount", "pass", wet, "fluid that does not burn"),
    Case("wet-mount", "warn", lambda: wet(fluid_index=1.3), "rings", "wet.fluid_index"),
    Case("wet-mount", "stop", lambda: wet(flammable="unknown"), "burn", "wet.flammable"),
    Case("wet-mount", "pass", wet, "dry glass"),
    Case("wet-mount", "warn", lambda: wet(rim_mm=7.0), "dry glass", "wet.rim_mm"),
    Case("wet-mount", "stop", lambda: wet(rim_mm=6.0), "dry glass", "wet.rim_mm"),
    Case("wet-mount", "skip", lambda: (job(), make())),
    Case("insert", "pass", carried, "gap round"),
    Case("insert", "warn", lambda: carried(clearance_mm=0.9), "gap round", "carrier.clearance_mm"),
    Case("insert", "stop", keyless, "one way", "carrier.key_mm"),
    *MASK,
    *MOUNT,
    *PASSES,
    *BARS,
    Case("insert", "skip", lambda: (job(), make())),
    Case("channel", "pass", channelled, "against the focus band"),
    Case("channel", "warn", lambda: channelled(base={"curl_per_m": 2.0}), "by itself", "channel.radius_mm"),
    Case("channel", "stop", lambda: channelled(lip={"all_mm": 6.0}), "clear of the picture", "lip.left_mm"),
    Case("channel", "skip", lambda: (job(), make())),
    *SHOP_CASES,
)  # fmt: skip


def _with_knob() -> Design:
    """Something of the frame stands in the pocket, over the ledge."""
    made = make()
    knob = Slab("knob", 3.1, 4.0, Region(rectangle(57.6, 140, 1.0, 10)))
    return replace(made, parts=(replace(made.parts[0], slabs=(*made.parts[0].slabs, knob)),))


def _twice_in_one_place() -> Design:
    made = with_lid(make())
    twice = replace(made.parts[-1], quantity=2, places=((0.0, 0.0), (5.0, 0.0)))
    return replace(made, parts=(*made.parts[:-1], twice))


def _slit() -> Design:
    """A laser part with a slot narrower than the beam."""
    made = make("laser")
    sheet = made.parts[0]
    slab = sheet.slabs[0]
    slit = rectangle(20, 100, 0.15, 60)
    holed = Slab(slab.name, slab.z0, slab.z1, Region(slab.region.outer, (*slab.region.holes, slit)))
    return replace(made, parts=(replace(sheet, slabs=(holed,)), *made.parts[1:]))


def _deep_recess(depth: float) -> Design:
    """Recesses that leave 4.6 mm less ``depth`` of the frame above the feet."""
    made = make(foot_recess=depth, foot_thickness=depth + 0.5)
    part = made.parts[0]
    cuts = tuple(replace(cut, z1=cut.z0 + depth) if cut.name == "foot recess" else cut for cut in part.cuts)
    return replace(made, parts=(replace(part, cuts=cuts),))
