"""The words of the form: how a photographer groups a preset's keys, and names for keys that read badly as they are."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType


@dataclass(frozen=True, slots=True)
class Section:
    """A folded list of fields: single paths, or a whole table by its name with a dot at the end."""

    key: str
    title: str
    paths: tuple[str, ...]
    intro: str = ""


@dataclass(frozen=True, slots=True)
class Group:
    """One question of the form: the fields that everyone answers, and folded ones for those who measured."""

    key: str
    title: str
    intro: str
    paths: tuple[str, ...]
    more: tuple[Section, ...]


GROUPS = (
    Group(
        "scanner",
        "My scanner",
        "Take the flatbed nearest to yours. What you have measured on your own counts for more: write it in.",
        ("bed.name", "bed.focus_height_mm", "bed.focus_sigma_mm", "bed.focus_band_mm"),
        (
            Section("glass", "The glass and the lamp, measured", ("bed.",)),
            Section("room", "The room", ("room.",)),
        ),
    ),
    Group(
        "film",
        "My film",
        "Which film, how many at a time, and which way it lies.",
        ("film.format", "film.emulsion", "layout.count", "layout.turn"),
        (
            Section(
                "film-measured", "My film, measured", ("film.",), "Only where yours differs from the table."
            ),
            Section(
                "base", "What the film is made of", ("base.",), "It decides how far the film sags and curls."
            ),
        ),
    ),
    Group(
        "making",
        "How I will make it",
        "Printed in layers, cut by laser, or cut by hand with a knife.",
        ("route", "material.name", "material.sheets_mm", "printer.name"),
        (
            Section("printer", "My printer, measured", ("printer.",)),
            Section("material", "My material, measured", ("material.",)),
            Section("split", "Parts too large for the printer", ("split.",)),
            Section(
                "coupon",
                "What my test piece told",
                ("coupon.",),
                "The job sheet's test piece shows how wide the cut is and how tight a fit may be. Read it off once "
                "for each machine and material.",
            ),
            Section("paper", "Paper for templates", ("paper",)),
        ),
    ),
    Group(
        "extras",
        "Extras",
        "How the film is held, what goes under and over it, and a name.",
        ("title", "lip.all_mm", "lip.rebate_edge", "lip.rebate_mm"),
        (
            Section(
                "lip",
                "The lip, edge by edge",
                ("lip.",),
                "The lip is how far the ledge reaches under the film.",
            ),
            Section(
                "feet", "Feet", ("feet.",), "Soft feet keep the holder from sliding, and add to its height."
            ),
            Section("lid", "Lid frame", ("lid.",), "A frame that drops in on the film and holds it flatter."),
            Section(
                "cover",
                "Glass cover",
                ("cover.",),
                "A plate of glass on the film holds it flat from above; turn buttons keep it in its pocket.",
            ),
            Section(
                "carrier",
                "Carrier and inserts",
                ("carrier.",),
                "One frame as large as the bed takes a small insert for each format. Holders with the same numbers "
                "here share one carrier.",
            ),
            Section(
                "channel",
                "Channel for curled strips",
                ("channel.",),
                "Rails hold a strip on a gentle arc across its width; printed, and with a lid frame.",
            ),
            Section("layout", "Fit, pockets and lettering", ("ledge", "layout.")),
            Section("note", "A note for others", ("note",)),
        ),
    ),
)

# keys that the form leaves out: the file's version, and sheets that `material.sheets_mm` asks for more plainly
LEFT_OUT = frozenset({"holders_preset", "material.stock_mm"})

LABELS: Mapping[str, str] = MappingProxyType(
    {
        "bed.name": "Flatbed",
        "bed.focus_height_mm": "Sharpest height above the glass",
        "bed.focus_sigma_mm": "How uncertain that height is",
        "bed.focus_band_mm": "Still sharp above and below it by",
        "film.format": "Film format",
        "film.emulsion": "Emulsion side faces",
        "film.record": "Film record",
        "film.tolerance_mm": "Cut size may differ by",
        "film.frames": "Frames on the strip",
        "film.plane_offset_mm": "Height of the film inside its mount",
        "base.name": "Film base",
        "base.modulus_mpa": "Stiffness (Young's modulus)",
        "base.modulus_low_mpa": "Stiffness, least",
        "base.modulus_high_mpa": "Stiffness, most",
        "base.poisson": "Poisson's ratio",
        "base.humidity_strain_per_rh": "Growth per percent humidity",
        "base.expansion_per_k": "Thermal expansion",
        "route": "Route",
        "material.name": "Material",
        "material.sheets_mm": "Sheets I have, measured",
        "material.sheet_prices": "What each of them costs",
        "material.price_per_kg": "What a kilogram of filament costs",
        "material.modulus_mpa": "Stiffness (Young's modulus)",
        "material.poisson": "Poisson's ratio",
        "material.expansion_per_k": "Thermal expansion",
        "material.moisture_strain_per_rh": "Growth per percent humidity",
        "material.softening_c": "Softens at",
        "material.limit_c": "Must stay below",
        "material.kerf_mm": "Width of the laser's cut (kerf)",
        "material.min_web_mm": "Narrowest bridge",
        "printer.name": "Printer",
        "printer.z_tolerance_mm": "Printed heights are true to",
        "paper": "Paper",
        "title": "Name of this holder",
        "note": "Note",
        "ledge": "Height of the ledge",
        "lip.all_mm": "Lip on every edge",
        "lip.left_mm": "Lip, left",
        "lip.right_mm": "Lip, right",
        "lip.head_mm": "Lip, head",
        "lip.foot_mm": "Lip, foot",
        "lip.rebate_edge": "Edge that shows clear film border",
        "lip.rebate_mm": "Clear border shown",
        "feet.count": "How many feet",
        "feet.recess_mm": "Set into the underside by",
        "lid.lip_mm": "Lid reaches in over the film by",
        "lid.play_mm": "Room between film and lid",
        "lid.clearance_mm": "Gap round the lid",
        "lid.tabs": "Lift tabs",
        "lid.magnets": "Magnets",
        "lid.extra_weight_n": "Presses on the lid besides, N",
        "cover.width_mm": "Plate, width",
        "cover.length_mm": "Plate, length",
        "cover.thickness_mm": "Plate, thickness",
        "cover.clearance_mm": "Gap round the plate",
        "cover.face": "Face that lies on the film",
        "cover.gap_mm": "Room between plate and buttons",
        "cover.buttons": "Turn buttons for each plate",
        "cover.button_thickness_mm": "Button, thickness",
        "carrier.insert_width_mm": "Insert, width",
        "carrier.insert_length_mm": "Insert, length",
        "carrier.clearance_mm": "Gap round the insert",
        "carrier.ledge_mm": "Carrier reaches under the insert by",
        "carrier.floor_mm": "Carrier below the insert",
        "carrier.key_mm": "Slanted corner",
        "channel.radius_mm": "Radius of the arc",
        "channel.rail_mm": "Width of the rail",
        "split.mode": "Cut into pieces",
        "split.fit": "Pieces hold together",
        "split.clearance_mm": "Gap in the joints",
        "coupon.holes_mm": "Square hole, its sides",
        "coupon.plugs_mm": "Loose plug, its sides",
        "coupon.pocket": "Tightest pocket the plug goes into",
        "coupon.slot": "Tightest slot the tongue goes into",
        "coupon.tongue_mm": "Thickness of the tongue",
        "coupon.thickness_mm": "Thickness engraved on the piece",
        "coupon.heights_mm": "Steps of the stair, lowest first",
        "coupon.glued_mm": "Height of the glued stack",
        "coupon.glued_sheets_mm": "Its sheets before gluing",
        "layout.count": "How many films",
        "layout.turn": "Lay film across the bed",
        "layout.slide_gap_mm": "Gap to the rim of the glass",
        "layout.wall_mm": "Least wall",
        "layout.clearance_mm": "Gap round the film",
        "layout.relief": "Slope under the window edge",
        "layout.label": "Lettering",
        "room.ambient_c": "Temperature of the room",
        "bed.lamp_x_mm": "Lamp area starts, from the left",
        "bed.lamp_y_mm": "Lamp area starts, from the home end",
        "bed.lamp_width_mm": "Lamp area, width",
        "bed.lamp_length_mm": "Lamp area, length",
        "bed.calibration_x_mm": "Calibration zone starts, from the left",
        "bed.calibration_y_mm": "Calibration zone starts, from the home end",
        "bed.calibration_width_mm": "Calibration zone, width",
        "bed.calibration_length_mm": "Calibration zone, length",
        "bed.lid_room_mm": "Room under the lamp lid",
        "bed.lens_distance_mm": "Way of the light from glass to lens",
        "bed.lamp_rise_k": "A holder gets warmer than the room by",
        "bed.face_difference_k": "Its lit face is warmer by",
        "film.cut_height_mm": "Cut length",
        "film.image_width_mm": "Picture width",
        "film.image_height_mm": "Picture length",
        "base.thickness_mm": "Thickness, usual",
        "base.thickness_low_mm": "Thickness, least",
        "base.thickness_high_mm": "Thickness, most",
        "base.curl_per_m": "Curl, usual",
        "base.curl_low_per_m": "Curl, least",
        "base.curl_high_per_m": "Curl, most",
        "printer.build_x_mm": "Plate, width",
        "printer.build_y_mm": "Plate, depth",
        "printer.build_z_mm": "Build height",
        "printer.margin_mm": "Margin on the plate",
        "printer.nozzle_mm": "Nozzle",
        "printer.layer_mm": "Layer height",
        "printer.first_layer_mm": "Height of the first layer",
    }
)

CHOICES: Mapping[str, Mapping[str, str]] = MappingProxyType(
    {
        "route": {"print": "printed", "laser": "cut by laser", "knife": "cut by hand"},
        "film.emulsion": {"down": "down, to the glass", "up": "up, to the lamp"},
        "ledge": {"best": "best for the film as it sags", "focus": "at the sharpest height"},
        "split.mode": {"auto": "where a part is too large", "never": "never"},
        "split.fit": {"glue": "glued on a flat plate", "press": "pressed together without glue"},
        "cover.face": {
            "etched": "finely etched: no Newton's rings",
            "coated": "coated against reflection",
            "plain": "plain",
        },
        "layout.turn": {"auto": "where that takes more films", "never": "never", "always": "always"},
        "layout.relief": {"auto": "as large as there is room", "none": "none"},
    }
)

HELP: Mapping[str, str] = MappingProxyType(
    {
        "bed.name": "The generic flatbed nearest to yours.",
        "bed.focus_sigma_mm": "One standard deviation; measuring from a scan gives it.",
        "film.format": "Cut sizes come from the table; correct them below if you have measured yours.",
        "material.name": "Only what suits the route is offered.",
        "printer.name": "The one whose plate is nearest to yours in size.",
        "base.name": "Left open: the usual one of the format.",
        "route": "Decides which files you get: solids to print, outlines to cut, or templates on paper.",
        "ledge": "A ledge at the sharpest height leaves sagging film below it.",
        "layout.count": "A number, or the word fill for as many as the lamp area takes.",
        "lip.all_mm": "How far the ledge reaches under the film. Left open: 2 mm, or less where the clear border "
        "is narrower, but never less than the film's cutting tolerance asks.",
        "paper": "For drawings at full size that are printed and cut out.",
    }
)

# ends of keys -> unit as it is written; the longest end that fits counts
UNITS: Mapping[str, str] = MappingProxyType(
    {
        "_kg_m3": "kg/m³",
        "_per_rh": "per %",
        "_per_m": "per m",
        "_per_k": "per K",
        "_mpa": "MPa",
        "_mm": "mm",
        "_c": "°C",
        "_k": "K",
    }
)


def unit_of(key: str) -> str:
    """The unit at the end of a key, as it is written; empty where there is none."""
    return next((unit for end, unit in UNITS.items() if key.endswith(end)), "")


def label_of(path: str) -> str:
    """What the form calls a key: its own name, or the key in plain words without its unit."""
    if path in LABELS:
        return LABELS[path]
    key = path.rpartition(".")[2]
    end = next((end for end in UNITS if key.endswith(end)), "")
    words = key.removesuffix(end).replace("_", " ")
    return words[:1].upper() + words[1:]
