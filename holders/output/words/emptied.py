"""What a scan of the empty holder said, in words."""

from __future__ import annotations

from collections.abc import Sequence

from holders.measure.finished.empty import CLIPPED, SEEN_STOPS, EmptyScan, EmptyWindow
from holders.measure.finished.expected import EDGES
from holders.measure.finished.placement import SHOWN

IN = 25.4
OFF_MM = 1.0  # a window that differs by more from the designed one is said to
GAMMA = "stops are by the values in the file: if a gamma of 2.2 was applied, the light differs by 2.2 times as much"


def crop(window: EmptyWindow, dpi: float) -> str:
    """The box to crop by, from the scan's top left corner, in three units."""
    b = window.box
    px = dpi / IN
    return (
        f"{b.x:.1f}, {b.y:.1f}, {b.width:.1f} x {b.height:.1f} mm; {b.x / IN:.2f}, {b.y / IN:.2f}, "
        f"{b.width / IN:.2f} x {b.height / IN:.2f} in; {b.x * px:.0f}, {b.y * px:.0f}, {b.width * px:.0f} x "
        f"{b.height * px:.0f} pixels"
    )


def rows(found: EmptyScan, dpi: float) -> tuple[tuple[str, str], ...]:
    """Names and values: a line of crop, one of light and one of dust for each window."""
    told: list[tuple[str, str]] = []
    for window in found.windows:
        name = f"window {window.number}" if len(found.windows) + len(found.missing) > 1 else "window"
        told.append((f"{name}: crop", crop(window, dpi)))
        light = ", ".join(f"{SHOWN[edge]} {window.edges[edge].from_middle:+.2f}" for edge in EDGES)
        told.append((f"{name}: light", f"{light} stops at the edges, against the middle"))
        told.append((f"{name}: dust", f"{window.specks} specks of {found.speck_mm:.2f} mm or more"))
    return tuple(told)


def doubts(found: EmptyScan) -> tuple[str, ...]:
    """What is not as it should be."""
    told = []
    if found.missing:
        numbers = ", ".join(map(str, found.missing))
        told.append(f"no lit place was found for window {numbers}: is it covered, or outside the scan?")
    for box in found.elsewhere:
        told.append(
            f"light passes at {box.x:.0f}, {box.y:.0f} mm ({box.width:.0f} x {box.height:.0f} mm), where the holder "
            "has no window: cover it if it lies beside a picture"
        )
    for window in found.windows:
        told += _of_window(window)
    if any(_uneven(window) for window in found.windows):
        told.append(GAMMA)
    return tuple(told)


def _of_window(window: EmptyWindow) -> list[str]:
    name, told = f"window {window.number}", []
    across, along = window.error_mm
    if max(abs(across), abs(along)) > OFF_MM:
        told.append(f"{name} is {across:+.1f} mm wider and {along:+.1f} mm longer than it was designed")
    if window.clipped > CLIPPED:
        told.append(
            f"{name}: {100 * window.clipped:.0f} % of it is clipped, so its light cannot be judged: "
            "scan it with a shorter exposure"
        )
        return told
    for edge in EDGES:
        light = window.edges[edge]
        if light.from_beside > SEEN_STOPS:
            told.append(
                f"{name} glares at the {SHOWN[edge]} edge: {light.from_beside:+.2f} stops against what lies beside it; "
                "blacken the edge of the opening there"
            )
        elif light.from_beside < -SEEN_STOPS:
            told.append(
                f"{name} is shaded at the {SHOWN[edge]} edge: {light.from_beside:+.2f} stops against what lies "
                "beside it"
            )
    return told


def _uneven(window: EmptyWindow) -> bool:
    return window.clipped <= CLIPPED and any(
        abs(light.from_beside) > SEEN_STOPS for light in window.edges.values()
    )


def own_light(edges_stops: Sequence[float], scan: str) -> tuple[str, ...]:
    """What of a finished scan's edges is the holder's light and not the picture's, by the scan without film."""
    return tuple(
        f"the {SHOWN[edge]} edge is {abs(stops):.2f} stops {'lighter' if stops > 0 else 'darker'} without film as well "
        f"({scan}): that is the holder's light, not the picture"
        for edge, stops in zip(EDGES, edges_stops, strict=True)
        if abs(stops) > SEEN_STOPS
    )
