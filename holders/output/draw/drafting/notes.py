"""What the plan and the detail cannot show, in words: corners, bevel, joints, recesses, lettering."""

from __future__ import annotations

from collections.abc import Sequence

from holders.core.lengths import measure
from holders.design.model import Design, Rect, Role
from holders.design.parts import pocket_number
from holders.design.parts.roles import own_lids
from holders.geometry.outline import bounds
from holders.output.draw.drafting import shapes
from holders.output.draw.drafting.whole import whole_openings


def notes(design: Design, dropped: Sequence[str] = ()) -> list[str]:
    """Sentences, the most important first; ``dropped`` are the dimensions that had no room on the plan."""
    found = [
        "Plan from above, home end below. Each length runs from the circle on its line: the marked home corner of the "
        "plan.",
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
    hollow = shapes.hollowed(outlines, design.outer)
    words = [f"home corner hollowed R {measure(hollow)}"] if hollow else []
    step = shapes.stepped(outlines, design.outer)
    words += [f"home corner stepped back {measure(step)} x {measure(step)}"] if step else []
    for part in (one for one in frame if one.role is Role.INSERT):
        x0, y0, x1, y1 = part.box
        own = shapes.hollowed([slab.region.outer for slab in part.slabs], Rect(x0, y0, x1 - x0, y1 - y0))
        words += [f"insert's home corner hollowed R {measure(own)}"] if own else []
    if slants:
        which = "insert's" if hollow or step else "home"
        words.append(f"{which} corner cut off {measure(slants[-1][0])} x {measure(slants[-1][1])}")
    rounded = shapes.corner_radius(outlines, design.outer)
    if rounded:
        words.append(f"other corners R {measure(rounded)}")
    lines = [line for part in frame for s in part.slabs for line in (s.region.outer, *s.region.holes)]
    named = [("window", design.mine[0].opening)]
    named += [("pocket", _wall(design))] if shapes.has_pocket(design) else []
    for name, rect in named:
        radius = shapes.corner_radius(lines, rect)
        if radius:
            words.append(f"{name} corners R {measure(radius)}")
    text = ", ".join(words)
    return [f"{text[0].upper()}{text[1:]}."] if text else []


def _wall(design: Design) -> Rect:
    """The wall's opening over the first window."""
    window = design.mine[0]
    one = shapes.over_window(window, whole_openings(design))
    return window.pocket if one is None else one.rect


def _caliper(design: Design) -> list[str]:
    """What a caliper checks on the finished holder, for each kind of film."""
    if not design.kinds:
        return [_checked(design, "To check with a caliper")]
    each = (design.of(window.kind) for window in {w.kind: w for w in design.windows}.values())
    return [_checked(one, f"To check with a caliper, {one.mine[0].film_key}") for one in each]


def _checked(design: Design, start: str) -> str:
    h, w = design.heights, design.mine[0]
    wall = max(slab.z1 for slab in shapes.frame_slabs(design))
    pocketed = shapes.has_pocket(design)
    words = [
        f"ledge {measure(h.ledge_as_made)} above the underside",
        f"pocket {measure(wall - h.drawn_ledge)} deep" if pocketed else "no pocket",
        f"lip {measure(w.opening.x - w.film.x)}",
        *([f"clearance {measure(w.film.x - w.pocket.x)} a side"] if pocketed else []),
    ]
    lid = next(iter(own_lids(design)), None)
    if lid is not None:
        words.append(f"lid {measure(lid.z1 - lid.z0)} thick")
        words += [
            f"its inner edges lean back {measure(-cut.flare_mm)} over the upper {measure(cut.z1 - cut.z0)}"
            for cut in lid.cuts
            if cut.bevel
        ]
    return f"{start}: {', '.join(words)}."


def _relief(design: Design) -> list[str]:
    h = design.heights
    for part in shapes.frame_of(design):
        for cut in part.cuts:
            if cut.chamfer:
                return [
                    f"Bevel below every window edge: {measure(cut.flare_mm)} wide, "
                    f"{measure(cut.z1 - cut.z0)} high."
                ]
    steps = [
        window.opening.x - one.rect.x
        for slab in shapes.frame_slabs(design)
        if slab.z1 < h.drawn_ledge - 0.1
        for window in design.mine[:1]
        if (one := shapes.over_window(window, shapes.openings(slab))) is not None
    ]
    if steps and max(steps) > shapes.NEAR_MM:
        return [f"Step: the sheets under the lip stand back {measure(max(steps))} on every window edge."]
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
        x0, y0, x1, y1 = bounds(pits[0].outline)
        sizes = sorted((x1 - x0, y1 - y0))
        strips = design.feet[0].length_mm > 0
        wide = f"{measure(sizes[0])} x {measure(sizes[1])}, " if strips else f"Ø {measure(x1 - x0)}, "
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
    every = (g for part in design.parts for g in part.grooves if len(g.text) > 1 and not part.role.beside)
    texts = list(dict.fromkeys(groove.text for groove in every))
    return [f"Lettering: {'; '.join(pocket_number.together(texts, len(design.windows)))}."] if texts else []


def _left_out(design: Design, dropped: Sequence[str]) -> list[str]:
    if not dropped:
        return []
    w = design.mine[0]
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
