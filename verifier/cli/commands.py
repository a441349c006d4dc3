"""The commands. Heavy rooms are imported inside a command, so that ``verifier --help`` answers at once."""

from __future__ import annotations

import json
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Literal

import typer

from verifier.errors import BadInput

if TYPE_CHECKING:
    from rich.console import Console

    from verifier.pipeline.acting import Act
    from verifier.pipeline.adding import Added
    from verifier.pipeline.evidence import Placement
    from verifier.pipeline.measuring import Settings

NO_GO = 1
BAD_INPUT = 2
CAUTION = (
    "It records evidence and compares numbers. It does not design, accept or release anything: the engineer of record, "
    "local codes and licensed practice govern."
)

app = typer.Typer(
    help=f"Pre-pour verification of a reinforced-concrete slab from photos and tape readings. {CAUTION}",
    no_args_is_help=True,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
    add_completion=False,
)

Folder = Annotated[Path, typer.Argument(help="The pour folder.", metavar="FOLDER")]
Photos = Annotated[list[Path], typer.Argument(help="Photos, or folders of photos.", metavar="PHOTO...")]
AsJson = Annotated[
    bool, typer.Option("--json", help="Print JSON for a machine, and nothing else, on stdout.")
]
Person = Annotated[
    str | None, typer.Option("--person", help="Who adds it: a name from [people] in pour.toml.")
]
At = Annotated[
    datetime | None,
    typer.Option("--at", help="Moment of the act, local time of this machine; now if not given."),
]
BoardScale = Annotated[
    float | None,
    typer.Option("--board-scale", min=0.9, max=1.1, help="Measured over nominal check length of the board."),
]
BoardFiles = Annotated[
    list[Path] | None, typer.Option("--board", help="Definition (TOML) of a board of your own.")
]


@app.callback()
def common(
    debug: Annotated[bool, typer.Option("--debug", help="Show a stack trace if something breaks.")] = False,
) -> None:
    """Options of every command: ``debug`` shows a stack trace if something breaks."""
    del debug  # read in ``main``, which handles what breaks


@app.command()
def new(folder: Folder) -> None:
    """Make a pour folder with a commented pour.toml to fill in."""
    from verifier.pipeline.adding import new_folder

    made = new_folder(folder)
    _out(f"Made {', '.join(str(path) for path in made)}. Fill in pour.toml, then: verifier check {folder}")


@app.command()
def add(
    folder: Folder,
    photos: Photos,
    element: Annotated[
        str | None, typer.Option(help="Mark of the element that all these photos show.")
    ] = None,
    spot: Annotated[str | None, typer.Option(help="Spot on the element.")] = None,
    mat: Annotated[
        Literal["bottom", "top"] | None, typer.Option(help="Where one mat is seen and two are drawn.")
    ] = None,
    person: Person = None,
    at: At = None,
    as_json: AsJson = False,
) -> None:
    """Put photos into the record of a pour, and measure them."""
    from verifier.pipeline.adding import add_photos

    placement = _placement(element, spot, mat)
    act = _act(folder, person, at)
    with _progress("Measuring") as progress:
        added = add_photos(folder, photos, act, placement=placement, progress=progress)
    _tell_added(added, as_json=as_json)


@app.command()
def tape(
    folder: Folder,
    files: Annotated[list[Path], typer.Argument(help="CSV files of readings.", metavar="FILE.csv...")],
    person: Person = None,
    at: At = None,
    as_json: AsJson = False,
) -> None:
    """Put tape readings into the record of a pour."""
    from verifier.pipeline.adding import add_tape

    _tell_added(add_tape(folder, files, _act(folder, person, at)), as_json=as_json)


@app.command()
def check(
    folder: Folder,
    as_json: AsJson = False,
    every: Annotated[bool, typer.Option("--all", help="List findings that conform, too.")] = False,
    record: Annotated[
        bool, typer.Option("--record", help="Put findings and answer into the record, too.")
    ] = False,
    person: Person = None,
    at: At = None,
) -> None:
    """Everything in the folder against drawing and code: findings, coverage, go or no-go with reasons."""
    from verifier.pipeline.check import check as check_pour

    with _progress("Measuring") as progress:
        checked = check_pour(folder, at=_moment(at), progress=progress)
    if record:
        from verifier.pipeline.recording import record_check

        record_check(folder, checked, _act(folder, person, at))
    if as_json:
        _out(checked.model_dump_json(indent=1))
    else:
        from verifier.cli.tables import print_check

        print_check(_console(), checked, every=every)
    raise typer.Exit(NO_GO if checked.decision.answer == "no_go" else 0)


@app.command()
def measure(
    photos: Photos,
    as_json: AsJson = False,
    overlay: Annotated[
        Path | None, typer.Option(help="Folder for pictures with the measurement drawn in.")
    ] = None,
    board_scale: BoardScale = None,
    boards: BoardFiles = None,
    profile: Annotated[
        Path | None, typer.Option(help="Camera profile written by verifier calibrate.")
    ] = None,
    workers: Annotated[int, typer.Option(min=1, max=16, help="Photos measured at the same time.")] = 2,
) -> None:
    """Measure photos alone, without a drawing: one answer a photo, a refusal where a photo can't be measured."""
    from verifier.pipeline.measuring import Job, measure_photos

    jobs = [Job(path, path.name) for path in _flat(photos)]
    settings = _settings(board_scale, boards or [], profile)
    with _progress("Measuring") as progress:
        for job, seen in zip(
            jobs, measure_photos(jobs, settings, workers=workers, progress=progress), strict=True
        ):
            if as_json:
                _out(seen.model_dump_json())
            else:
                from verifier.cli.tables import measured_table

                _console().print(measured_table(seen))
            if overlay is not None and seen.photo.width_px > 0:
                from verifier.pipeline.pictures import write_overlay

                _note(f"Drawn: {write_overlay(job.path, seen, overlay)}")


@app.command()
def distance(
    photo: Annotated[Path, typer.Argument(help="The photo.", metavar="PHOTO")],
    points: Annotated[
        tuple[str, str] | None,
        typer.Option(help="Two points in pixels of the upright photo.", metavar="X1,Y1 X2,Y2"),
    ] = None,
    pairs: Annotated[Path | None, typer.Option(help="CSV with columns x1,y1,x2,y2.")] = None,
    plane: Annotated[
        Literal["board", "upper", "lower"], typer.Option(help="Where the points lie.")
    ] = "board",
    boards: BoardFiles = None,
    board_scale: BoardScale = None,
    as_json: AsJson = False,
) -> None:
    """Measure between points of a photo, on the board's plane or that of the bars."""
    from verifier.pipeline.distances import distances_in, pair_of, read_pairs

    asked = [
        *([pair_of(*points)] if points is not None else []),
        *(read_pairs(pairs) if pairs is not None else []),
    ]
    if not asked:
        raise BadInput(
            "No points were given.", where="distance", todo="Add --points x1,y1 x2,y2 or --pairs FILE.csv."
        )
    settings = _settings(board_scale, boards or [], None)
    for found in distances_in(photo, asked, settings, plane=plane):
        if as_json:
            _out(found.model_dump_json())
        elif found.distance_mm is None or found.expanded_uncertainty_mm is None:
            _out(f"refused: {' '.join(r.say for r in found.refusals)}")
        else:
            _out(f"{found.distance_mm:.1f} ± {found.expanded_uncertainty_mm:.1f} mm")


@app.command()
def board(
    out: Annotated[Path, typer.Option("--out", help="PDF to write.")] = Path("board.pdf"),
    paper: Annotated[Literal["A5", "A4", "A3"], typer.Option(help="Size of the sheet.")] = "A4",
    number: Annotated[int, typer.Option(min=1, help="Number of the board.")] = 1,
    pour: Annotated[Path | None, typer.Option(help="Pour folder whose name is printed on it.")] = None,
    png: Annotated[bool, typer.Option("--png", help="Write a 300-dpi raster, too.")] = False,
    measured: Annotated[
        float | None,
        typer.Option(help="Instead of printing: enter the check length as measured on the print. [mm]"),
    ] = None,
) -> None:
    """Print a scale board in true size, or enter its measured check length."""
    if measured is not None:
        from verifier.pipeline.boards import enter_check_length

        if pour is None:
            raise BadInput(
                "No pour folder was given.", where="--measured", todo="Add --pour FOLDER: it is kept there."
            )
        scale = enter_check_length(pour, paper=paper, number=number, measured_mm=measured)
        _out(f"Board {number}: kept. All lengths are multiplied by {scale.factor:.4f}.")
        return
    from verifier.pipeline.boards import print_board

    written = print_board(out, paper=paper, number=number, pour=pour, png=png)
    _out(f"Wrote {', '.join(str(path) for path in written)}. Print at 100 %, then measure the check line.")


@app.command()
def order(
    folder: Folder,
    truck: Annotated[float, typer.Option("--truck", help="What one truck brings. [m3]")] = 6.0,
    waste: Annotated[
        float | None, typer.Option("--waste", help="Waste in place of the usual share. [%]")
    ] = None,
    as_json: AsJson = False,
) -> None:
    """How much concrete the pour needs: take-off, volume to order, truck loads."""
    from verifier.pipeline.ordering import quantities_of

    found = quantities_of(folder, truck_m3=truck, waste_percent=waste)
    if as_json:
        _out(found.model_dump_json(indent=1))
        return
    from verifier.cli.tables import quantities_table

    _console().print(quantities_table(found))


@app.command()
def timeline(folder: Folder) -> None:
    """What happened, who did it and how that is known, from the record of a pour."""
    from verifier.pipeline.recording import timeline_of
    from verifier.record.timeline import timeline_text

    _out(timeline_text(timeline_of(folder)).rstrip("\n"))


@app.command()
def seal(
    folder: Folder,
    out: Annotated[Path, typer.Option("--out", help="Bundle to write.")] = Path("bundle.zip"),
    at: At = None,
) -> None:
    """Write the record as a bundle that anybody can check with common tools, offline."""
    from verifier.pipeline.recording import seal_folder

    sealed = seal_folder(folder, out, _moment(at))
    _out(
        f"Wrote {sealed.path}: {sealed.shown} records, {sealed.files} files, {sealed.size_bytes / 1e6:.1f} MB."
    )
    _out("Its head, to be kept by somebody outside:")
    _out(sealed.checkpoint.rstrip("\n"))


@app.command()
def audit(
    bundle: Annotated[
        Path, typer.Argument(help="A sealed bundle, or the folder it was unpacked to.", metavar="BUNDLE")
    ],
    head: Annotated[
        list[str] | None,
        typer.Option("--head", help="A head held outside: a file, or the short form of a print."),
    ] = None,
    replay: Annotated[bool, typer.Option("--replay", help="Measure the originals again.")] = False,
) -> None:
    """Check a sealed bundle offline, each fact apart; ends with 1 if any fact does not hold."""
    from verifier.pipeline.recording import audit_bundle
    from verifier.record.audit import report

    heads = [Path(h).read_text(encoding="utf-8") if Path(h).is_file() else h for h in head or []]
    outcome = audit_bundle(bundle, heads=heads, replay=replay)
    _out(report(outcome).rstrip("\n"))
    raise typer.Exit(NO_GO if outcome.alarms else 0)


@app.command()
def page(
    folder: Annotated[Path | None, typer.Argument(help="The pour folder.", metavar="[FOLDER]")] = None,
    port: Annotated[int, typer.Option(help="Port of the page on this machine.")] = 8501,
) -> None:
    """Open the page in a browser."""
    from verifier.cli.demo import open_page

    raise typer.Exit(open_page(folder, port=port))


@app.command()
def demo(
    folder: Annotated[
        Path | None, typer.Option("--folder", help="Where to put the sample pour; a new folder if not given.")
    ] = None,
    no_page: Annotated[bool, typer.Option("--no-page", help="Stop before the page is opened.")] = False,
) -> None:
    """The sample pour from end to end in under a minute, then the page."""
    from verifier.cli.demo import open_page, tell_story

    place = tell_story(_console(), folder)
    if not no_page:
        raise typer.Exit(open_page(place, port=8501))


def _placement(element: str | None, spot: str | None, mat: str | None) -> Placement | None:
    from verifier.pipeline.evidence import Placement

    if (element is None) != (spot is None):
        raise BadInput(
            "Element and spot belong together.",
            where="--element, --spot",
            todo="Give both, or neither to take them from the file names.",
        )
    if element is None:
        return None
    return Placement.model_validate({"element": element, "spot": spot, "mat": mat, "basis": "said"})


def _act(folder: Path, person: str | None, at: datetime | None) -> Act:
    from verifier.drawing.read import read_pour
    from verifier.pipeline.acting import Act, who_adds

    return Act(who_adds(read_pour(folder), person), _moment(at))


def _moment(at: datetime | None) -> datetime:
    """A moment with its zone; what a person typed is local time of this machine."""
    return datetime.now().astimezone() if at is None else at.astimezone()


def _settings(board_scale: float | None, boards: list[Path], profile: Path | None) -> Settings:
    from verifier.board.definition import read_board
    from verifier.pipeline.measuring import Settings

    if profile is not None and not profile.is_file():
        raise BadInput(
            "There is no such camera profile.", where=str(profile), todo="Make one with: verifier calibrate"
        )
    return Settings(board_scale=board_scale, boards=tuple(read_board(b) for b in boards), profile=profile)


def _flat(photos: list[Path]) -> list[Path]:
    from verifier.pipeline.adding import flat

    found = flat(photos)
    if not found:
        raise BadInput(
            "There are no photos there.",
            where=", ".join(str(p) for p in photos),
            todo="Give photos (JPEG, PNG, HEIC), or a folder that holds some.",
        )
    return found


def _tell_added(added: tuple[Added, ...], *, as_json: bool) -> None:
    """Print what became of each file; ends with exit code 2 if none is in the record."""
    if as_json:
        _out(json.dumps([a.model_dump(mode="json") for a in added], ensure_ascii=False, indent=1))
    else:
        for a in added:
            where = f" ({a.placement.element}, spot {a.placement.spot})" if a.placement.complete else ""
            _out(f"{a.name}{where}: {a.says}")
            if a.seen is not None:
                for refusal in a.seen.refusals:
                    _out(f"  refused ({refusal.reason}): {refusal.say}")
    if not any(a.in_record for a in added):
        raise typer.Exit(BAD_INPUT)


def _progress(words: str):  # type: ignore[no-untyped-def]  # noqa: ANN202 - a context manager of a module imported late
    from verifier.cli.progress import progress

    return progress(words)


def _console() -> Console:
    from rich.console import Console

    return Console(highlight=False)


def _out(text: str) -> None:
    typer.echo(text)


def _note(text: str) -> None:
    typer.echo(text, err=True)
