"""What a finding says: one sentence where all is well, one where it is not, and what its number is.

A check looks at a subject ("least gap between film and glass"); people read what is wrong with it ("The film comes so
near the glass that rings may appear"). A subject that stands here twice over, for too little and for too much, is said
by the side on which its number lies.
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import NamedTuple

from holders.core.findings import Level
from holders.facts.rise_names import MOST_DAMP_BOW, MOST_WARM_BOW


class Said(NamedTuple):
    """The sentences of one subject; ``much`` is said instead of ``bad`` where the number is above its limit."""

    good: str
    bad: str
    number: str = ""
    much: str = ""
    stop: str = ""


SAID: dict[str, Said] = {
    # film
    "film that burns": Said(
        "The film's base does not burn fiercely", "This film burns fiercely", "the film's base"
    ),
    "film as large as its format": Said(
        "The film is about as large as its format", "The film's size does not fit its format", "size given"
    ),
    "smallest film, pushed to one side, still rests on the other lip": Said(
        "Even the smallest film rests on all its lips",
        "A film cut small may slip off its lip",
        "left on the lip",
        stop="A film cut small falls through",
    ),
    "largest film enters its pocket": Said(
        "Even the largest film goes into its pocket",
        "A film cut large may stick in its pocket",
        "room for the largest film",
        stop="A film cut large does not go into its pocket",
    ),
    "nothing in the pocket in the way of the largest film": Said(
        "Nothing in the pocket is in the film's way", "Part of the frame is in the film's way", "in the way"
    ),
    "lips within the film's clear border": Said(
        "The lips stay off the picture", "A lip covers the edge of the picture", "picture covered"
    ),
    "clear film border shown for colour inversion": Said(
        "Enough clear border shows for colour inversion",
        "Less clear border shows than you asked for",
        "border shown",
        stop="No clear border shows",
    ),
    "share of the picture shown": Said(
        "The scan shows the whole picture, or nearly", "Part of the picture is hidden or shaded", "shown"
    ),
    "stray light from the edges of the window": Said(
        "The window's edges throw hardly any light at the picture",
        "The window's edges shine into the picture and lift its dark parts",
        "stray light",
    ),
    "perforations lit": Said(
        "The perforations lie on the ledge",
        "Light shines through the perforations beside the picture",
        "of a perforation lit",
    ),
    "finger room beside the lid's tab": Said(
        "Fingers reach the lid's tab on both sides",
        "A gloved finger does not fit beside the lid's tab",
        "room beside the tab",
    ),
    "depth of the notch beside the lid's tab": Said(
        "Fingers reach the lid's tab on both sides",
        "The notch beside one of the lid's tabs is too shallow for a fingertip",
        "depth of the notch",
    ),
    "hold on the lid's tab": Said(
        "A finger takes hold of the lid's tab", "A finger slips off the lid's tab", "hold"
    ),
    "hold on the bars on the lid": Said(
        "Fingers take the lid by the steel bars on it", "Fingers slip off the bars on the lid", "hold"
    ),
    "thumb opening at the film's end": Said(
        "Finger and thumb reach the film's end through an opening in the floor",
        "The opening below the film's end is narrow for a finger",
        "width of the opening",
    ),
    "finger room at the film": Said(
        "A finger reaches the film's edge", "No finger reaches the film's edge", "width of the notch"
    ),
    "openings to lift the plate": Said(
        "The plate can be lifted at two opposite edges",
        "Fingers reach the plate at fewer than two opposite edges",
        "opposite edges with an opening for a finger",
    ),
    "plate above its wall": Said(
        "The plate stands out of its pocket and can be taken by its edges",
        "The plate hardly stands out of its pocket",
        "above the wall",
    ),
    "edge of the plate for fingertips": Said(
        "Enough of the plate's edge is bare for fingertips",
        "Too little of the plate's edge is bare for fingertips",
        "bare edge",
    ),
    "mounts sunk in their pocket": Said(
        "Fingers can take the mounts by their edges", "The mounts lie too deep for fingers", "of its thickness"
    ),
    "pockets without a notch for a finger": Said(
        "Each pocket has a notch that a fingertip fits",
        "No notch lets a finger at the mount in some pockets",
        "without one",
    ),
    "film kept in its place on the board": Said(
        "Corner stops keep the film in its place",
        "Nothing keeps the film in its place on the board",
        "corner stops",
    ),
    "corner stops off the largest film": Said(
        "The corner stops leave room for the largest film", "A corner stop is in the film's way", "in the way"
    ),
    # focus
    "film plane inside the focus band": Said(
        "The film lies well within the sharp heights",
        "The film may lie outside the sharp heights",
        "from the film to the end of the sharp heights",
        stop="The film lies outside the sharp heights",
    ),
    "film surface in focus and off the glass": Said(
        "How the film lies is known", "How the film lies could not be computed"
    ),
    "share of the film surface in focus": Said(
        "The whole film is in focus, or nearly",
        "Part of the film will be soft",
        "in focus",
        stop="Most of the film will be soft",
    ),
    "what a ledge at the focus height costs": Said(
        "A ledge at the focus height costs little sharpness",
        "A ledge at the focus height leaves the sagging film soft",
        "lost",
    ),
    "share in focus of the worst sensible film": Said(
        "Even the most curled film of this kind stays sharp",
        "Film more curled than usual will be soft",
        "in focus, worst film",
    ),
    "share in focus of the film on the warm bed": Said(
        "Film that dries on the warm bed stays sharp",
        "Film with a bare back leaves the focus band as the bed warms",
        "in focus, warm and dry",
    ),
    "film that is more curled": Said(
        "Film more curled than usual stays sharp too",
        "Film more curled than usual may be soft: the chance does not count it",
        "in focus, worst film",
    ),
    "least gap between film and glass": Said(
        "The film keeps clear of the glass",
        "The film comes so near the glass that rings may appear",
        "least gap",
        stop="The film touches the glass: expect rings",
    ),
    "heights in whole printer layers": Said(
        "The heights are whole layers", "A height is no whole number of layers"
    ),
    "foot recess in whole layers": Said(
        "The foot recess is a whole number of layers",
        "The foot recess is no whole number of layers",
        "recess",
    ),
    "ledge rounded to whole layers": Said(
        "Rounding to whole layers costs little",
        "Rounding to whole layers puts the film off its best height",
        "off",
    ),
    "ledge height from the sheets at hand": Said(
        "The ledge is made of sheets you have", "There are no sheets to make the ledge of", "sheets"
    ),
    "every slab is a sheet": Said(
        "Every layer is a sheet you have", "A layer is needed that no sheet has", "needed"
    ),
    "ledge made of whole sheets": Said(
        "The stack of sheets comes near the best height",
        "The stack of sheets puts the film off its best height",
        "off",
    ),
    "how the stack of sheets ranks": Said(
        "No other stack of your sheets does better", "Your sheets cannot be stacked to the best height", "place"
    ),
    "spread of the sheets' thickness": Said(
        "The sheets are even enough", "Your sheets may be thicker or thinner than their name says", "may differ by"
    ),
    "height of soft sheets under their load": Said(
        "The soft sheets hold their height", "The soft sheets give way under the holder", "height lost"
    ),
    # the holder on the scanner
    "window inside the lamp area": Said(
        "The lamp lights every window", "Part of a window lies outside the light", "to the edge of the light"
    ),
    "calibration zone clear": Said(
        "The calibration zone is clear",
        "The holder may slide onto the calibration zone",
        "to the calibration zone",
        stop="The holder covers the calibration zone",
    ),
    "gap between the holder and the rim of the glass": Said(
        "The holder fits the glass",
        "The holder fits the glass tightly and may jam",
        "gap to the rim",
        stop="The holder is larger than the glass",
    ),
    "holder held in its place on the glass": Said(
        "The holder cannot slide on the glass", "The holder can slide on the glass", "can slide"
    ),
    "height under the lamp's lid": Said(
        "The lamp's lid closes over the holder",
        "The lamp's lid closes only just over the holder",
        "height of the holder",
        stop="The lamp's lid does not close over the holder",
    ),
    # the frame itself
    "parts clear of one another": Said("No part is in another's way", "Two parts fill the same space", "shared"),
    "pockets clear of one another": Said("No pocket runs into another", "Two film pockets overlap", "overlaps"),
    "thinnest wall": Said(
        "All walls are thick enough",
        "A wall is thin and may break",
        "thinnest wall",
        stop="A wall is too thin to be made",
    ),
    "thickness of the ledge at the window": Said(
        "The ledge is thick enough at the window",
        "The ledge is thin at the window and may come out ragged",
        "thickness",
        stop="The ledge is too thin at the window to carry film",
    ),
    "bridge between two laser cuts": Said(
        "All bridges between laser cuts hold",
        "A bridge between two laser cuts is narrow and may char",
        "bridge",
        stop="A bridge between two laser cuts burns away",
    ),
    "kerf": Said("The kerf is known", "The width of the laser's cut is not known", "kerf"),
    "openings wider than the kerf": Said(
        "The laser can cut every opening", "The laser cannot cut an opening this narrow", "openings lost"
    ),
    "material in a laser cutter": Said(
        "The material may go in a laser",
        "Not every laser workshop takes this material",
        "laser",
        stop="This material must not go in a laser",
    ),
    "part fits the printer or the sheet": Said(
        "Every part fits the machine or the sheet", "A part does not fit the machine or the sheet", "part"
    ),
    "step in the ledge at a seam against the focus band": Said(
        "The ledge is even across the seam",
        "The ledge may have a step at the seam",
        "step",
        stop="The step at the seam puts film out of focus",
    ),
    "glue of the joints when the holder is lifted by one edge": Said(
        "The glued joints hold when the holder is lifted by one edge",
        "A glued joint may crack when the holder is lifted by one edge",
        "pulled to",
    ),
    "glue of the lid's joints when it is lifted by one edge": Said(
        "The lid's glued joints hold when it is lifted by one edge",
        "A glued joint of the lid may crack when it is lifted by one edge",
        "pulled to",
    ),
    "pocket walls in line at a seam": Said(
        "The pocket's walls line up at the seam", "The film may catch on the pocket's wall at a seam", "out of line"
    ),
    "joints clear of the windows": Said(
        "No joint stands in a window", "A joint stands in a window", "joint in the window"
    ),
    "seams away from film corners": Said(
        "The seams stay off the film's corners", "A seam runs close to a film corner", "to the corner"
    ),
    "pieces marked": Said(
        "Every piece carries its letter", "Some pieces carry no letter", "seams whose two pieces share no letter"
    ),
    "feet stand out of the underside": Said(
        "The feet carry the holder", "The feet do not carry the holder", "stand out"
    ),
    "feet off windows, calibration zone and one another": Said(
        "The feet are in nobody's way",
        "Two feet overlap",
        "covered",
        stop="A foot stands in the light or on the calibration zone",
    ),
    "foot wholly behind material": Said(
        "Every foot lies wholly on the frame", "A foot hangs over an edge of the frame", "without support"
    ),
    "material above a foot": Said(
        "Enough material lies above every foot", "Little material is left above a foot", "left"
    ),
    "feet not in one line": Said(
        "The feet stand well apart", "The feet stand nearly in a line, so the holder rocks", "width of the stance"
    ),
    "centre of mass inside the feet": Said(
        "The holder stands firmly on its feet",
        "The holder tips easily on its feet",
        "centre of mass to the feet's edge",
        stop="The holder tips over",
    ),
    "warmest the holder gets": Said(
        "The holder stays cool enough",
        "The holder gets nearly as warm as its material stands",
        "at the warmest",
        stop="The holder gets warmer than its material stands",
    ),
    "margin to softening": Said(
        "The material stays far from softening",
        "The lamp's warmth comes close to softening the material",
        "margin",
        stop="The material softens at the lamp's warmth",
    ),
    "growth of the holder in the glass's rim": Said(
        "Warm or damp, the holder still fits the glass",
        "Warm or damp, the holder grows into most of its gap to the rim",
        "growth",
        stop="Warm or damp, the holder jams against the rim of the glass",
    ),
    "height of the ledge in damp air": Said(
        "In damp or dry air the ledge hardly changes its height",
        "In damp or dry air the ledge changes its height",
        "higher or lower",
    ),
    "growth of the film in its pocket": Said(
        "Warm or damp, the film still fits its pocket",
        "Warm or damp, the film grows into all of its clearance",
        "growth",
        stop="Warm or damp, the film buckles in its pocket",
    ),
    "bow of the holder with one warm face": Said(
        "The lamp's warmth bows the holder little", "The lamp's warmth bows the holder upward", MOST_WARM_BOW
    ),
    "bow of the holder with one damp face": Said(
        "Damp bows the holder little", "Damp on one side bows the holder upward", MOST_DAMP_BOW
    ),
    "sag of the frame between its feet": Said(
        "The frame hardly sags between its feet", "The frame sags between its feet", "sag"
    ),
    "sag of the frame left warm on its feet": Said(
        "Left on the warm scanner, the frame hardly sags", "Left for weeks on the warm scanner, the frame sags", "sag"
    ),
    "sag of the frame held by one edge": Said(
        "The frame can be held by one edge", "The frame flops when held by one edge", "sag in the hand"
    ),
    "sag of the lid held by one edge": Said(
        "The lid can be held by one edge", "The lid flops when held by one edge", "sag in the hand"
    ),
    "sag of the insert held by one edge": Said(
        "The insert can be held by one edge", "The insert flops when held by one edge", "sag in the hand"
    ),
    "sag of the carrier held by one edge": Said(
        "The carrier can be held by one edge without its insert",
        "The carrier flops when held by one edge without its insert",
        "sag in the hand",
    ),
}  # fmt: skip
SHARPNESS = Said(
    "Most scans will be sharp and free of rings",
    "Too many scans will be soft or show rings",
    "good scans of 100",
    stop="Hardly any scan will be sharp and free of rings",
)


def sentence(
    subject: str,
    level: Level,
    measured: object,
    limit: object,
    own: Mapping[str, Said] = MappingProxyType({}),
) -> tuple[str, str]:
    """The sentence of a subject, and what its number is; the subject itself where nothing stands here.

    ``own`` are the sentences that a rule brings with it.
    """
    said = own.get(subject) or SAID.get(
        subject, SHARPNESS if subject.startswith("chance that at least") else None
    )
    if said is None or level == "skip":
        return subject, ""
    if level == "pass":
        return said.good, said.number
    much = isinstance(measured, (int, float)) and isinstance(limit, (int, float)) and measured > limit
    words = said.much if said.much and much else said.bad
    return (said.stop if level == "stop" and said.stop else words) or subject, said.number
