"""A strip channel: its arc against the focus band, its rails against picture and arc, and the strips it can hold."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise
from typing import TYPE_CHECKING

from holders.checks.base import FittedRule, at_least, at_most
from holders.core.findings import Finding, Level
from holders.design.model import Design, Part
from holders.facts.curl_words import curl_span_words, curl_words
from holders.fittings.channel.arc import Channel
from holders.fittings.channel.words import SAID
from holders.geometry.outline import Point

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

    from holders.film.models import LidRest
    from holders.preset.resolve import Job

ROOMY = 0.5  # share of the focus band that the arc over the picture may take unremarked
SPREAD = 0.8  # share that the flattest and the most curled strip may span together
SLACK_MM = 1e-3
CLEAR_MM = 0.2
MOVED = 0.2  # of half the focus band, by a curl along the strip
TIGHT, WIDE = 0.5, 2.0  # of the curl that the arc fits


class ChannelRule(FittedRule[Channel]):
    """The channel's arc and rails."""

    code = "channel"
    title = "strip channel"
    why = (
        "the arc that holds a curled strip lifts its middle over its edges: more than the focus band is deep, and the "
        "middle or the border is soft; a rail that reaches over the picture shows, one off the arc does not hold"
    )
    source = (
        "sagitta s = c²/(8 R), any geometry handbook (exact: R - sqrt(R² - c²/4)); strip between rails: plate of "
        "large deflections (von Karman, as in Timoshenko and Woinowsky-Krieger, from memory); limits: common "
        "practice, no source"
    )

    said = SAID
    fitted = Channel
    absent = "the holder has no channel"

    def look(self, job: Job, design: Design, made: Channel) -> Iterator[Finding]:
        """Sagitta, heights of the extreme strips, clear picture, rails on the arc, walls of the rails."""
        yield self._sagitta(design, made)
        yield self._strips(job, design, made)
        yield self._picture(design, made)
        yield self._arc(design, made)
        yield self._curl(job.base.curl_per_m, job.film.cut_width_mm, made)
        yield self._along(job, design)

    def _sagitta(self, design: Design, made: Channel) -> Finding:
        band = design.heights.band_high - design.heights.band_low
        chord = max(w.picture.width for w in design.windows)
        rise = sagitta_mm(chord, made.radius)
        level = at_most(rise, ROOMY * band, band)
        return self.found(
            level,
            title="arc over the picture against the focus band",
            measured=rise,
            limit=ROOMY * band,
            where=f"picture {chord:g} mm wide on a radius of {made.radius:g} mm; the band is {band:.2f} mm deep",
            advice="" if level == "pass" else "a larger radius lifts the middle less",
            field="channel.radius_mm",
        )

    def _strips(self, job: Job, design: Design, made: Channel) -> Finding:
        """From the lowest picture point of the flattest strip to the highest of the most curled, all on one ledge."""
        from holders.core.errors import NotConverged  # noqa: PLC0415
        from holders.design.held.held_film import picture_of  # noqa: PLC0415
        from holders.design.held.model import picture_grid  # noqa: PLC0415
        from holders.fittings.channel.film import grid_of  # noqa: PLC0415 - scipy
        from holders.fittings.channel.strip import strip  # noqa: PLC0415

        band = design.heights.band_high - design.heights.band_low
        base, width, along = job.base, job.film.cut_width_mm, job.preset.film.curl_along_per_m
        picture = picture_of(job.film, design.windows[0])
        ends, heights = (base.curl_low_per_m, base.curl_high_per_m), list[float]()
        for curl in (base.curl_low_per_m, base.curl_per_m, base.curl_high_per_m):
            for thick in (base.thickness_low_mm, base.thickness_high_mm):
                try:
                    one = strip(base, made, curl, along, thick)
                except NotConverged:
                    return self.found(
                        "warn",
                        title="strips of every curl in the channel",
                        where=f"no shape was found for {curl_words(curl, width)}",
                        advice="treat the height as a guess",
                        field="channel.radius_mm",
                    )
                shown = picture_grid(grid_of(design, one, 0.0), picture)
                heights += [float(shown.min()), float(shown.max())]
        span = max(heights) - min(heights)
        level = at_most(span, SPREAD * band, 2 * band)
        return self.found(
            level,
            title="strips of every curl in the channel",
            measured=span,
            limit=SPREAD * band,
            where=(
                f"film that curls {curl_span_words(*ends, base.curl_per_m, width)}: {min(heights):+.2f} to "
                f"{max(heights):+.2f} mm over the ledge"
            ),
            advice=""
            if level == "pass"
            else "less lid.play_mm, wider rails, or measure the curl of your own strips",
            field="lid.play_mm",
        )

    def _picture(self, design: Design, made: Channel) -> Finding:
        half = max(w.picture.width for w in design.windows) / 2
        nearest = min(made.window, made.lid_edge, *made.high)
        level = at_least(nearest - half, CLEAR_MM, 0.0)
        return self.found(
            level,
            title="rails clear of the picture",
            measured=nearest - half,
            limit=CLEAR_MM,
            where=f"nearest rail {nearest:.2f} mm from the middle, picture {half:.2f} mm",
            advice="" if level == "pass" else "narrower lips on the long edges",
            field="lip.left_mm",
        )

    def _arc(self, design: Design, made: Channel) -> Finding:
        """The worst corner of the real rails off the arc; one above it dents the strip, one below lets it go."""
        from holders.design.parts.roles import frame_parts  # noqa: PLC0415
        from holders.fittings.channel.arc import drop_mm  # noqa: PLC0415

        window = design.windows[0]
        ledge = design.heights.drawn_ledge
        middle, y = window.film.x + window.film.width / 2, window.film.y + 0.5 * window.film.height
        layers = _layers(frame_parts(design), ledge)
        worst, where = 0.0, ""
        for k, corner in enumerate(made.low[:-1]):
            if corner > made.half:
                break
            x = corner - SLACK_MM
            top = _top(layers, (middle - x, y))
            off = abs(top - (ledge - drop_mm(made.radius, made.inner, corner)))
            if off >= worst:
                worst, where = off, f"terrace {k + 1}, {corner:.2f} mm from the middle"
        level = at_most(worst, made.layer / 4, made.layer)
        return self.found(
            level,
            title="corners of the rails on the arc",
            measured=worst,
            limit=made.layer / 4,
            where=where,
            advice="" if level == "pass" else "thinner layers, or another radius",
            field="printer.layer_mm",
        )

    def _curl(self, usual: float, width: float, made: Channel) -> Finding:
        """The strip's usual curl against the one that the arc fits without force."""
        fits = 1000.0 / made.radius
        share = usual / fits
        level: Level = "pass" if TIGHT - SLACK_MM <= share <= WIDE + SLACK_MM else "warn"
        return self.found(
            level,
            title="arc that the strip would take by itself",
            measured=usual,
            limit=fits,
            unit="per m",
            where=f"usual curl {curl_words(usual, width)}; the arc fits {curl_words(fits, width, 1, short=True)}",
            advice=""
            if level == "pass"
            else "a radius of 1000 / curl (in 1/m) holds the strip without force; measure the curl against arcs",
            field="channel.radius_mm",
        )

    def _along(self, job: Job, design: Design) -> Finding:
        """How far the curl along the strip moves its picture, against a strip that curls across only."""
        from holders.core.errors import NotConverged  # noqa: PLC0415
        from holders.design.held.film_ranges import along_range_per_m  # noqa: PLC0415
        from holders.design.held.held_film import picture_of  # noqa: PLC0415
        from holders.design.held.model import picture_grid  # noqa: PLC0415
        from holders.fittings.channel.film import grid_of, strip_under  # noqa: PLC0415 - scipy

        title, field = "curl along a strip in its channel", "film.curl_along_per_m"
        low, along, high = along_range_per_m(job.preset)
        if not along:
            return self.skipped("the preset says of none", title)
        picture, across = picture_of(job.film, design.windows[0]), job.base.curl_per_m
        try:
            under = {k: strip_under(job, design, across, k) for k in (0.0, low, along, high)}
        except NotConverged:
            return self.found(
                "warn",
                title=title,
                where=f"no shape was found for a strip that curls {along:g} per m along",
                advice="treat its height as a guess",
                field=field,
            )
        shown = {k: picture_grid(grid_of(design, one.strip, 0.0), picture) for k, one in under.items()}
        moved = {k: shown[k] - shown[0.0] for k in (low, along, high)}
        most = float(abs(moved[along]).max())
        half = job.bed.focus_band_mm
        level: Level = "pass" if most <= MOVED * half + SLACK_MM else "warn"
        end, middle = (float(moved[along][row].mean()) for row in (0, moved[along].shape[0] // 2))
        less, more = (float(abs(moved[k]).max()) for k in (low, high))
        where = (
            f"{along:g} per m: the strip's middle {middle:+.2f} mm, its ends {end:+.2f} mm; from {low:.3g} to "
            f"{high:.3g} per m {less:.2f} to {more:.2f} mm"
        )
        rest = under[along].lid
        if rest is not None:
            where += (
                f"; it needs {rest.needed_n:.2f} N to lie flat, for {_needed(under[0.0].lid):.2f} N without"
            )
        return self.found(
            level,
            title=title,
            measured=most,
            limit=MOVED * half,
            where=where + "; counted in the strip's height and in the chance",
            advice="" if level == "pass" else "look along the strip under its lid before you scan",
            field=field,
        )


def _needed(rest: LidRest | None) -> float:
    return 0.0 if rest is None else rest.needed_n


def sagitta_mm(chord_mm: float, radius_mm: float) -> float:
    """Height of an arc over its chord, mm: c²/(8 R), right to (c / 4 R)² of itself."""
    return chord_mm**2 / (8 * radius_mm)


def _layers(frame: Sequence[Part], ledge: float) -> list[tuple[float, float, BaseGeometry]]:
    """What the frame covers between every two of its breaks up to the ledge: bottom, top, area; from the top down."""
    from holders.design.parts.slices import breaks, covered_at  # noqa: PLC0415

    heights = [z for z in breaks(frame) if z <= ledge + SLACK_MM]
    return [
        (low, high, covered_at(frame, (low + high) / 2)) for low, high in reversed(list(pairwise(heights)))
    ]


def _top(layers: Sequence[tuple[float, float, BaseGeometry]], spot: Point) -> float:
    """Height of the solid top at a spot (the underside's where nothing is there)."""
    for _, high, area in layers:
        if area.intersects(_point(spot)):
            return high
    return layers[-1][0]


def _point(spot: Point) -> BaseGeometry:
    import shapely  # noqa: PLC0415

    return shapely.Point(spot)
