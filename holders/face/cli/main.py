"""The commands. Each is a few lines: read, call, show."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from holders.core.threads import one_thread
from holders.core.version import VERSION
from holders.face.cli import curl_options as opt
from holders.face.cli import new_options
from holders.face.cli import options as common
from holders.face.cli import surface_options as surf
from holders.face.cli.options import (
    AllOption,
    BeforeOption,
    DpiOption,
    EmptyOption,
    InspectPreset,
    JsonOption,
    LidRoom,
    MadeOption,
    NoStepsOption,
    OutOption,
    PresetArgument,
    RampFrame,
    RampHigh,
    RampLayer,
    RampSheet,
    RampTarget,
    RecordOption,
    RegisterOption,
    ScanArgument,
    SecondOption,
    SpanOption,
    TargetOption,
    ThicknessOption,
    WindowOption,
    WriteCorrected,
)
from holders.face.cli.told import told

one_thread()  # here, as every command loads numpy after this

app = typer.Typer(
    name="holders",
    help="Film holders for flatbed scanning: designed, checked, made; and the scanner measured.",
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
)


def _version(wanted: bool) -> None:
    if wanted:
        typer.echo(f"holders {VERSION}")
        raise typer.Exit


@app.callback()
def main(
    version: Annotated[
        bool, typer.Option("--version", callback=_version, is_eager=True, help="Print the version and stop.")
    ] = False,
) -> None:
    """Film holders for flatbed scanning: designed, checked, made; and the scanner measured."""


@app.command(short_help="Design, check and write a holder's files to DIR/<name>/.")
@told
def make(
    presets: Annotated[
        list[Path],
        typer.Argument(metavar="PRESET...", help="Preset files (.toml), or names of shipped presets."),
    ],
    out: OutOption = Path("out"),
    anyway: common.AnywayOption = None,
    bed_record: RecordOption = None,
    coupon: Annotated[
        bool,
        typer.Option(
            "--coupon",
            help="Write a small test piece for this route and material instead, and how to read it.",
        ),
    ] = False,
    everything: AllOption = False,
    no_steps: NoStepsOption = False,
    register: MadeOption = None,
    as_json: JsonOption = False,
) -> None:
    """Design, check and write a holder's files to DIR/<name>/."""
    from holders.face.cli.beside import kernel_beside

    with kernel_beside(len(presets) == 1 and not coupon) as solids:  # first, as it takes longest
        from holders.face.cli.commands.making import make_all, make_coupons

        if coupon:
            raise typer.Exit(make_coupons(presets, out, as_json))
        how = (as_json, bed_record, everything, solids, not no_steps, register)
        raise typer.Exit(make_all(presets, out, anyway, *how))


@app.command(short_help="Design and check a holder, and say what would help; no files.")
@told
def check(
    preset: PresetArgument,
    bed_record: RecordOption = None,
    everything: AllOption = False,
    do: Annotated[
        int | None,
        typer.Option(
            "--do", metavar="N", help="Do the step of that number: PRESET is rewritten, and kept as it was."
        ),
    ] = None,
    undo: Annotated[
        bool, typer.Option("--undo", help="Bring PRESET back as it was before its last step.")
    ] = False,
    no_steps: NoStepsOption = False,
    register: MadeOption = None,
    as_json: JsonOption = False,
) -> None:
    """Design and check a holder without writing its files: the chance of a good scan, and what would raise it."""
    from holders.face.cli.commands.making import check_one

    raise typer.Exit(check_one(preset, as_json, bed_record, everything, do, undo, not no_steps, register))


@app.command(short_help="Search the best ways to hold this film with what you have.")
@told
def ways(preset: PresetArgument, bed_record: RecordOption = None, as_json: JsonOption = False) -> None:
    """Search the best ways to hold this film with what you have; nothing is written."""
    from holders.face.cli.commands.deciding import ways as show_ways

    raise typer.Exit(show_ways(preset, as_json, bed_record))


@app.command(name="list", short_help="Show a table: formats, materials, printers, presets and more.")
@told
def list_(
    what: Annotated[
        str,
        typer.Argument(
            metavar="WHAT",
            help="formats, bases, materials, beds, printers, papers, processes, lamps, hazards, bars, checks, presets",
        ),
    ],
    as_json: JsonOption = False,
) -> None:
    """Show a trade table, the checks or the shipped presets, each row with its source."""
    from holders.face.cli.commands.listing import show

    show(what, as_json)


@app.command(short_help="Write a preset to start from, held as well as was found.")
@told
def new(
    file: new_options.NewFile,
    title: new_options.Title = None,
    film_format: new_options.Format = None,
    count: new_options.Count = 1,
    also: new_options.Also = None,
    bed: new_options.Bed = None,
    route: new_options.Route = None,
    material: new_options.Material = None,
    printer: new_options.Printer = None,
    lid: new_options.Lid = False,
    feet: new_options.Feet = False,
    coupon: new_options.Coupon = False,
    reading: new_options.Reading = None,
    source: new_options.Source = None,
    full: new_options.Full = False,
    plain: new_options.Plain = False,
) -> None:
    """Write a commented preset to start from; what holds the film is chosen by trying."""
    from holders.face.cli.commands.starting import start, start_from

    if source is not None:
        asked = {
            "--format": film_format, "--route": route, "--material": material, "--lid": lid, "--feet": feet,
            "--coupon": coupon, "--reading": reading, "--also": also, "--count": count if count != 1 else None,
        }  # fmt: skip
        start_from(file, source, title=title, bed=bed, printer=printer, full=full, asked=asked)
        return
    start(
        file,
        title=title,
        film_format=film_format or "4x5",
        count=count,
        also=also or (),
        bed=bed or "a4-wide",
        route=route or "print",
        material=material,
        printer=printer,
        lid=lid,
        feet=feet,
        coupon=coupon,
        readings=reading or (),
        full=full,
        plain=plain,
    )


@app.command(short_help="Show how the film lies in its holder: sag, focus, rings.")
@told
def film(
    preset: PresetArgument,
    out: OutOption = Path("out"),
    as_json: JsonOption = False,
    window: WindowOption = None,
) -> None:
    """Show the surface that the film takes: sag, focus, rings; and draw it."""
    from holders.face.cli.commands.filming import film as show_film

    show_film(preset, out, as_json, window)


@app.command(short_help="Rank every stack of the sheets at hand (laser and knife).")
@told
def stock(preset: PresetArgument, bed_record: RecordOption = None, as_json: JsonOption = False) -> None:
    """Rank every stack of the sheets at hand (laser and knife), and say what one more sheet would change."""
    from holders.face.cli.commands.stocking import stock as show_stock

    show_stock(preset, bed_record, as_json)


@app.command(short_help="Measure your scanner's sharpest height from a scanned slope.")
@told
def focus(
    scans: Annotated[list[Path], typer.Argument(metavar="SCAN...", help="Scans of one target at one place.")],
    ramp: Annotated[
        Path | None,
        typer.Option("--ramp", metavar="FILE", help="The focus ramp's geometry (from `holders ramp`)."),
    ] = None,
    rise: Annotated[
        float | None, typer.Option("--rise", metavar="MM", help="By how much the far end is higher.")
    ] = None,
    run: Annotated[
        float | None, typer.Option("--run", metavar="MM", help="Over what length of the scan.")
    ] = None,
    start_height: Annotated[
        float, typer.Option("--start-height", metavar="MM", help="Height of the low end above the glass.")
    ] = 0.0,
    reverse: Annotated[
        bool, typer.Option("--reverse", help="The low end is at the right or bottom.")
    ] = False,
    dpi: DpiOption = None,
    target: TargetOption = None,
    target_thickness: ThicknessOption = None,
    span: SpanOption = None,
    record: Annotated[
        Path | None, typer.Option("--record", metavar="FILE", help="Keep the height in this bed record.")
    ] = None,
    place: Annotated[
        tuple[float, float] | None,
        typer.Option("--place", metavar="X Y", help="Where the target lay, mm from the home corner."),
    ] = None,
    note: Annotated[str, typer.Option("--note", help="A word to remember the measurement by.")] = "",
    preset: Annotated[
        Path | None,
        typer.Option(
            "--preset", metavar="PRESET", help="Say whether this holder stays in the measured band."
        ),
    ] = None,
    out: OutOption = Path("out"),
    as_json: JsonOption = False,
) -> None:
    """Measure the bed's focus height from a scan of a sloping target."""
    from holders.face.cli.commands.focusing import focus as measure

    code = measure(
        scans,
        ramp=ramp,
        rise=rise,
        run=run,
        start_height=start_height,
        reverse=reverse,
        dpi=dpi,
        target=(target, target_thickness, span),
        keep=(record, place, note),
        preset=preset,
        out=out,
        as_json=as_json,
    )
    raise typer.Exit(code)


@app.command(short_help="Show what a bed's measurements say together.")
@told
def bed(
    record: Annotated[
        Path, typer.Argument(metavar="RECORD", help="A bed record (from `holders focus --record`).")
    ],
    out: OutOption = Path("out"),
    as_json: JsonOption = False,
) -> None:
    """Show what a bed's measurements say: its plane, tilt and drift; and draw them."""
    from holders.face.cli.commands.bedding import bed as show_bed

    show_bed(record, out, as_json)


@app.command(short_help="Write the focus ramp, the slope to scan for that.")
@told
def ramp(
    high: RampHigh = 6.0,
    target_width: RampTarget = 35.0,
    length: Annotated[
        float, typer.Option("--length", metavar="MM", help="Length of the ramp (up to 170).")
    ] = 166.0,
    layer: RampLayer = 0.1,
    frame: RampFrame = 8.0,
    sheet: RampSheet = None,
    lid_room: LidRoom = None,
    out: OutOption = Path("out"),
    as_json: JsonOption = False,
) -> None:
    """Write the focus ramp: a slope that carries a ruler or film, its height marks, and its geometry file."""
    from holders.face.cli.commands.ramping import ramp as make_ramp_files

    make_ramp_files(
        high=high,
        target_width=target_width,
        length=length,
        layer=layer,
        frame=frame,
        sheet=sheet,
        lid_room=lid_room,
        out=out,
        as_json=as_json,
    )


@app.command(short_help="Measure how curled a film is: ruler, paper gauge or scan.")
@told
def curl(
    scans: opt.CurlScans = None,
    chord: opt.Chord = None,
    rise: opt.Rise = None,
    reading: opt.ReadingOff = 0.5,
    gauge: opt.Gauge = False,
    paper: opt.GaugePaper = "a4",
    hollow: opt.HollowSide = None,
    order: opt.Order = None,
    dpi: opt.Dpi = None,
    axis: opt.Axis = None,
    record: opt.FilmRecordFile = None,
    film_format: opt.FilmFormatName = "",
    base: opt.FilmBaseName = "",
    humidity: opt.Humidity = None,
    temperature: opt.Temperature = None,
    note: opt.FilmNote = "",
    out: OutOption = Path("out"),
    as_json: JsonOption = False,
) -> None:
    """Measure how curled a film is: with a ruler, a paper gauge, or a scan of the film stood on its edge."""
    from holders.core.errors import InputError
    from holders.face.cli.commands import curling

    given = [bool(scans), chord is not None or rise is not None, gauge]
    if sum(given) != 1:
        raise InputError(
            "curl", "several ways at once" if any(given) else "nothing",
            "give one of: SCAN..., --chord MM --rise MM, --gauge",
        )  # fmt: skip
    keep = curling.Keep(record, film_format, base, humidity, temperature, note)
    if gauge:
        curling.gauge(paper, out, as_json)
    elif scans:
        curling.scanned(
            scans, hollow=hollow, order=order, dpi=dpi, axis=axis, keep=keep, out=out, as_json=as_json
        )
    else:
        curling.ruler(chord, rise, reading, hollow, order, keep, as_json)


@app.command(short_help="Look at a finished scan: rings, sharpness, how it lies.")
@told
def inspect(
    scan: ScanArgument,
    preset: InspectPreset = None,
    before: BeforeOption = None,
    write_preset: WriteCorrected = None,
    second: SecondOption = None,
    bed_record: RecordOption = None,
    window: WindowOption = None,
    empty: EmptyOption = False,
    register: RegisterOption = None,
    dpi: DpiOption = None,
    out: OutOption = Path("out"),
    as_json: JsonOption = False,
) -> None:
    """Look at a finished scan: rings, sharpness across the frame, skew and edges; and draw them.

    Give it a linear scan, not stretched or inverted: how strong rings are is judged by it.
    """
    if empty:
        from holders.face.cli.commands.emptied import empty as look_at

        others = {
            "--before": before, "--write-preset": write_preset, "--second": second, "--bed-record": bed_record,
            "--window": window,
        }  # fmt: skip
        look_at(scan, preset, dpi, register, as_json, [name for name, value in others.items() if value])
        return
    from holders.face.cli.commands.inspecting import inspect as look

    look(scan, preset, dpi, as_json, before, write_preset, out, second, window, register, bed_record)


@app.command(short_help="Look at a folder of scans, and say which to scan again.")
@told
def session(
    folder: common.SessionFolder,
    preset: common.SessionPreset,
    dpi: DpiOption = None,
    pocket: common.PocketOption = None,
    register: common.LightOption = None,
    watch: common.WatchOption = False,
    as_json: JsonOption = False,
) -> None:
    """Look at a folder of scans: a line for each sheet, which to scan again, and a list to print."""
    from holders.face.cli.commands.sheets import session as look

    look(folder, preset, dpi, pocket, watch, as_json, register)


@app.command(short_help="Judge a finished holder by its ledge, measured.")
@told
def measured(
    preset: Annotated[Path | None, typer.Argument(metavar="PRESET", help="The holder that was made.")] = None,
    heights: Annotated[list[float] | None, typer.Argument(metavar="LEFT RIGHT HEAD FOOT")] = None,
    register: Annotated[Path | None, typer.Option("--register", help="Keep or show them there.")] = None,
    made: common.MadeDay = None,
    record: RecordOption = None,
    as_json: JsonOption = False,
) -> None:
    """Judge a holder by its ledge's height on a flat glass, mm: shims that put it right, and the next one."""
    from holders.face.cli.commands.made import measured as look

    look(preset, heights or (), register, record, as_json, made)


@app.command(short_help="Measure how the film really lies, from two scans.")
@told
def surface(
    scan_a: surf.ScanA = None,
    scan_b: surf.ScanB = None,
    scan_c: surf.ScanC = None,
    sheet: surf.Sheet = False,
    paper: opt.GaugePaper = "a4",
    shift: surf.Shift = None,
    ledge: surf.Ledge = None,
    lens_distance: surf.LensDistance = None,
    raised: surf.Raised = None,
    flat: surf.Flat = False,
    record: surf.LensRecord = None,
    bed_record: RecordOption = None,
    preset: surf.Holder = None,
    write_preset: surf.WritePreset = None,
    film_record: surf.FilmRecord = None,
    dpi: DpiOption = None,
    out: OutOption = Path("out"),
    as_json: JsonOption = False,
) -> None:
    """Measure how the film really lies, from two scans with the holder moved sideways in between."""
    from holders.face.cli.commands import surfacing

    if sheet:
        raise typer.Exit(surfacing.how_to(preset, paper, out, as_json=as_json))
    scans = surfacing.both(scan_a, scan_b, scan_c)
    known = {"shift": shift, "ledge": ledge, "lens_distance": lens_distance}
    if flat:
        raise typer.Exit(surfacing.self_test(scans, record=record, dpi=dpi, as_json=as_json))
    if raised is not None:
        raise typer.Exit(
            surfacing.measure_lens(scans, raised, ledge=ledge, record=record, dpi=dpi, as_json=as_json)
        )
    raise typer.Exit(
        surfacing.surface(
            scans,
            **known,
            preset=preset,
            bed_record=bed_record,
            dpi=dpi,
            out=out,
            as_json=as_json,
            write_preset=write_preset,
            film_record=film_record,
        )
    )
