"""The preset's table ``[wet]``, and what it makes of the film: a plate of glass with the film on it."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from holders.facts.habits import habit, told
from holders.facts.models import FilmBase, FilmFormat
from holders.facts.tables import film_base
from holders.fittings.on_glass import glass_size
from holders.preset.tables.base import Length, SmallLength
from holders.preset.tables.bearer import Bearer, Layer, OnGlass
from holders.preset.words import Words

OVERLAY_BASE = "polyester"


class Wet(Bearer):
    """Film mounted in fluid on a plate of glass, under an overlay film. Leave the table out for none."""

    side: Annotated[
        Literal["over", "under"],
        Words(
            "Side of the glass the film is on",
            choices={"over": "above the glass", "under": "below the glass"},
        ),
    ] = Field(
        default="over",
        description="Above the glass, seen through it, the ledge hiding the bare rim; or below it, seen through the "
        "overlay alone, hanging free in the window.",
    )
    flammable: Annotated[
        Literal["no", "yes", "unknown"],
        Words(
            "What the fluid's maker states",
            choices={"no": "not flammable", "yes": "flammable", "unknown": "I have not read it"},
        ),
    ] = Field(
        default="unknown",
        description="Whether the fluid's maker states it to be flammable, in its safety data sheet; only a fluid "
        "stated not to be is taken.",
    )
    fluid_index: Annotated[
        float, Field(ge=1.3, le=1.7, allow_inf_nan=False), Words("Fluid, refractive index")
    ] = Field(default=1.47, description="Refractive index of the fluid, from its maker.")
    fluid_mm: Annotated[float, Field(ge=0.001, le=0.5, allow_inf_nan=False), Words("Fluid, each layer")] = (
        Field(default=0.02, description="Thickness of each layer of fluid once it is rolled out.")
    )
    thickness_mm: Annotated[float, Field(ge=1, le=10, allow_inf_nan=False), Words("Glass, thickness")] = (
        Field(default=3.0, description="Thickness of the glass.")
    )
    thickness_off_mm: Annotated[SmallLength, Words("Glass, thickness may be off by")] = Field(
        default=0.2,
        description="How far the glass may be off that, either way: 0.2 as bought, 0.02 measured with a caliper.",
    )
    width_mm: Annotated[Length | None, Words("Glass, width")] = Field(
        default=None,
        description="Size of the glass along the film's width, measured; left out: the film and the rim.",
    )
    length_mm: Annotated[Length | None, Words("Glass, length")] = Field(
        default=None, description="Size of the glass along the film's length, measured; left out: the same."
    )
    rim_mm: Annotated[SmallLength, Words("Glass around the film")] = Field(
        default=14.0,
        description="Glass left around the film on every side: for the overlay, for fluid that is pressed out, and "
        "for the ledge.",
    )
    overlay_mm: Annotated[float, Field(ge=0.02, le=0.5, allow_inf_nan=False), Words("Overlay, thickness")] = (
        Field(default=0.1, description="Thickness of the clear polyester overlay film.")
    )
    overlap_mm: Annotated[SmallLength, Words("Overlay reaches past the film by")] = Field(
        default=6.0, description="How far the overlay reaches past the film on every side."
    )
    mask: Annotated[bool, Words("Mask round the film")] = Field(
        default=True,
        description="Whether a mask of black card keeps the lamp's light from passing beside the film.",
    )

    def bear(self, film: FilmFormat, base: FilmBase, emulsion: str) -> OnGlass:
        """The film in its fluid on the glass.

        Raises ``InputError`` for plates and mounts, and for glass smaller than film and overlay.
        """
        size = glass_size("wet", film, base, self.rim_mm, (self.width_mm, self.length_mm), self.overlap_mm)
        under, overlay = self.side == "under", film_base(OVERLAY_BASE)
        stack = film.thickness_mm + 2 * self.fluid_mm + self.overlay_mm
        return OnGlass(
            film=film,
            base=base,
            size=size,
            tolerance_mm=habit("glass-cut"),
            plates_mm=(self.thickness_mm,),
            layers=self._under(film, base, emulsion) if under else self._over(base, emulsion),
            above_mm=self.thickness_mm if under else self.thickness_mm + stack,
            facing_index=overlay.refractive_index if under else film_base("glass").refractive_index,
            words=f"{film.name}, in fluid on glass",
        )

    def _fluid(self, *, hangs: bool) -> Layer:
        off = min(self.fluid_mm, habit("fluid-layer-spread"))
        words = told("fluid-layer-spread")
        return Layer("layer of fluid", self.fluid_mm, self.fluid_index, off, hangs=hangs, source=words)

    def _base(self, base: FilmBase, *, hangs: bool) -> Layer:
        off = (base.thickness_high_mm - base.thickness_low_mm) / 2
        words = f"range of {base.name}"
        return Layer(
            "base of the film", base.thickness_mm, base.refractive_index, off, hangs=hangs, source=words
        )

    def _over(self, base: FilmBase, emulsion: str) -> tuple[Layer, ...]:
        """The film above the glass: seen through glass and fluid, and through its base with the emulsion up."""
        index = film_base("glass").refractive_index
        words = "wet.thickness_off_mm, over its refractive index"
        glass = Layer("thickness of the glass", self.thickness_mm, index, self.thickness_off_mm, source=words)
        own = (self._base(base, hangs=False),) if emulsion == "up" else ()
        return glass, self._fluid(hangs=False), *own

    def _under(self, film: FilmFormat, base: FilmBase, emulsion: str) -> tuple[Layer, ...]:
        """The film below the glass: seen through overlay and fluid, lower than the glass by all that hangs."""
        row = film_base(OVERLAY_BASE)
        seen = Layer("overlay", self.overlay_mm, row.refractive_index, hangs=True)
        last = Layer("fluid above the film", self.fluid_mm, self.fluid_index, seen=False, hangs=True)
        half = (base.thickness_high_mm - base.thickness_low_mm) / 2
        if emulsion == "up":
            coat = Layer(
                "emulsion", max(0.0, film.thickness_mm - base.thickness_mm), 1.5, seen=False, hangs=True
            )
            return seen, self._fluid(hangs=True), self._base(base, hangs=True), coat, last
        words = f"range of {base.name}"
        own = Layer(
            "thickness of the film", film.thickness_mm, 1.5, half, seen=False, hangs=True, source=words
        )
        return seen, self._fluid(hangs=True), own, last
