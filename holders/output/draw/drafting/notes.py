"""What the plan and the detail cannot show, in words: corners, relief, joints, recesses, lettering."""

from __future__ import annotations

from collections.abc import Sequence

from holders.core.lengths import measure
from holders.design.model import Design, Rect, Role
from holders.geometry.outline import bounds
from holders.output.draw.drafting import shapes
from holders.output.draw.drafting.whole import whole_openings


def notes(design: Design, dropped: Sequence[str] = ()) -> list[str]:
    """Sentences, the most important first; ``dropped`` are the dimensions that had no room on the plan."""
    found = [
        "Plan from above, home end below; distances from the marked home corner, where left and home side meet.",
        *_caliper(design),
        *_corners(design),
        *_relief(design),
        *_fitted(design),
        *_joints(design),
        *_feet(design),
        *_lid(design),
        *_lettering(design),
        *_left_out(design, dropped),
    ]
    return [words for words in found if words]


def _corners(design: Design) -> list[str]:
    frame = shapes.frame_of(design)
    outlines = [slab.region.outer for part in frame for slab in part.slabs]
    slants = shapes.slants(outlines)
    words = []
    if slants:
        words.append(f"home corner cut off {measure(slants[-1][0])} x {measure(slants[-1][1])}")
    rounded = shapes.corner_radius(outlines, design.outer)
    if rounded:
        words.append(f"other corners R {measure(rounded)}")
    lines = [line for part in frame for s in part.slabs for line in (s.region.outer, *s.region.holes)]
    named = [("window", design.windows[0].opening)]
    named += [("pocket", _wall(design))] if shapes.has_pocket(design) else []
    for name, rect in named:
        radius = shapes.corner_radius(lines, rect)
        if radius:
            words.append(f"{name} corners R {measure(radius)}")
    text = ", ".join(words)
    return [f"{text[0].upper()}{text[1:]}."] if text else []


def _wall(design: Design) -> Rect:
    """The wall's opening over the first window."""
    window = design.windows[0]
    one = shapes.over_window(window, whole_openings(design))
    return window.pocket if one is None else one.rect


def _caliper(design: Design) -> list[str]:
    """What a caliper checks on the finished holder."""
    h, w = design.heights, design.windows[0]
    wall = max(slab.z1 for slab in shapes.frame_slabs(design))
    pocketed = shapes.has_pocket(design)
    words = [
        f"ledge {measure(h.ledge_height)} above the underside",
        f"pocket {measure(wall - h.drawn_ledge)} deep" if pocketed else "no pocket",
        f"lip {measure(w.opening.x - w.film.x)}",
        *([f"clearance {measure(w.film.x - w.pocket.x)} a side"] if pocketed else []),
    ]
    lid = next((part for part in design.parts if part.role is Role.LID), None)
    if lid is not None:
        words.append(f"lid {measure(lid.z1 - lid.z0)} thick")
    return [f"To check with a caliper: {', '.join(words)}."]


def _relief(design: Design) -> list[str]:
    h = design.heights
    for part in shapes.frame_of(design):
        for cut in part.cuts:
            if cut.chamfer:
                return [
                    f"Relief below every window edge: chamfer {measure(cut.flare_mm)} wide, {measure(cut.z1 - cut.z0)} "
                    "high."
                ]
    steps = [
        window.opening.x - one.rect.x
        for slab in shapes.frame_slabs(design)
        if slab.z1 < h.drawn_ledge - 0.1
        for window in design.windows[:1]
        if (one := shapes.over_window(window, shapes.openings(slab))) is not None
    ]
    if steps and max(steps) > shapes.NEAR_MM:
        return [f"Relief: the sheets under the lip stand back {measure(max(steps))} on every window edge."]
    return []


def _fitted(design: Design) -> list[str]:
    return [words for made in design.fitted for words in made.drawn()]


def _joints(design: Design) -> list[str]:
    words = []
    for seam in design.seams:
        for joint in seam.joints[:1]:
            x0, y0, x1, y1 = bounds(joint.tongue)
            size = f"{measure(x1 - x0, 1)} x {measure(y1 - y0, 1)}"
            letters = ", ".join(j.letter for j in seam.joints)
            what = "frame" if seam.role.in_frame else "lid"
            words.append(f"{letters} ({what}): {joint.kind} {size}, play {measure(seam.clearance_mm)} a side")
    return [f"Joints: {'; '.join(words)}."] if words else []


def _feet(design: Design) -> list[str]:
    if not design.feet:
        return []
    deep = sorted({round(depth, 2) for depth in design.foot_depths})
    if max(deep) <= 0:
        return [f"Feet: {len(design.feet)} on the underside, in no recess."]
    pits = [c for part in shapes.frame_of(design) for c in part.cuts if c.foot]
    wide = ""
    if pits:
        x0, _, x1, _ = bounds(pits[0].outline)
        wide = f"Ø {measure(x1 - x0)}, "
    each = " or ".join(measure(d) for d in deep)
    return [f"Feet: recess {wide}{each} deep in the underside."]


def _lid(design: Design) -> list[str]:
    lids = [part for part in design.parts if part.role is Role.LID]
    holes = [h for part in lids for slab in part.slabs for h in slab.region.holes]
    if not holes:
        return []
    rects = {(round(r.width, 1), round(r.height, 1)) for r in (shapes.main_rect(hole) for hole in holes)}
    sizes = " or ".join(f"{measure(w, 1)} x {measure(h, 1)}" for w, h in sorted(rects)[:2])
    return [f"Opening of the lid frame: {sizes}."]


def _lettering(design: Design) -> list[str]:
    texts = [
        groove.text
        for part in design.parts
        for groove in part.grooves
        if len(groove.text) > 1 and part.role is not Role.STOP
    ]
    return [f"Lettering: {'; '.join(dict.fromkeys(texts))}."] if texts else []


def _left_out(design: Design, dropped: Sequence[str]) -> list[str]:
    if not dropped:
        return []
    w = design.windows[0]
    words = []
    if "pocket" in dropped or "wall" in dropped:
        words.append(
            f"every pocket reaches beyond its window by {measure(w.opening.x - w.pocket.x)} left, "
            f"{measure(w.pocket.right - w.opening.right)} right, {measure(w.opening.y - w.pocket.y)} at the home end, "
            f"{measure(w.pocket.top - w.opening.top)} at the head"
        )
    wall = next((o for o in whole_openings(design) if shapes.over_window(w, [o])), None)
    if "wall" in dropped and wall is not None:
        words.append(f"its wall stands {measure(w.pocket.x - wall.rect.x)} outside the pocket")
    rest = [name for name in dropped if name not in ("pocket", "wall")]
    if rest:
        words.append(f"places of {' and '.join(rest)}: in the STEP file")
    return [f"Not on the plan for want of room: {'; '.join(words)}."]
