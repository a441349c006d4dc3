"""Commands on a pour: make its folder, add evidence, check it, open its page."""

from __future__ import annotations

import json
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Literal

import typer

from verifier.cli.options import (
    BAD_INPUT,
    NO_GO,
    AsJson,
    At,
    Folder,
    Person,
    Photos,
    act_of,
    answer,
    app,
    bar,
    console,
    moment_of,
    photos_in,
)
from verifier.errors import BadInput

if TYPE_CHECKING:
    from verifier.pipeline.folder.evidence import Placement
    from verifier.pipeline.intake.adding import Added


@app.command()
def new(
    folder: Folder,
    source: Annotated[
        Path | None,
        typer.Option(
            "--from", help="Schedule (.xlsx) or building model (.ifc) to fill it from.", metavar="FILE"
        ),
    ] = None,
    storey: Annotated[str | None, typer.Option("--storey", help="Only this storey of the model.")] = None,
    schedule: Annotated[
        Path | None,
        typer.Option(
            "--schedule", help="Write the drawing values as a schedule to fill in.", metavar="FILE.xlsx"
        ),
    ] = None,
) -> None:
    """Make a pour folder with a commented pour.toml to fill in, or filled from a schedule or a model."""
    from verifier.pipeline.intake.adding import new_folder

    if source is not None:
        _new_from(folder, source, storey)
        return
    if schedule is not None:
        from verifier.pipeline.intake import importing

        there = (folder / "pour.toml").is_file()
        importing.write_schedule_of(folder, schedule) if there else importing.write_template_schedule(
            schedule
        )
        answer(f"Wrote {schedule}. Fill it in, then: verifier new FOLDER --from {schedule}")
        return
    made = new_folder(folder)
    answer(f"Made {', '.join(str(path) for path in made)}. Fill in pour.toml, then: verifier check {folder}")


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
    from verifier.pipeline.intake.adding import add_photos, flat
    from verifier.pipeline.measurement.pictures import keep_pictures

    placement = _placement_of(element, spot, mat)
    act = act_of(folder, person, at)
    with bar("Measuring") as progress:
        added = add_photos(folder, photos_in(photos), act, placement=placement, progress=progress)
    keep_pictures(
        [(path, a.seen) for path, a in zip(flat(photos_in(photos)), added, strict=True) if a.seen], workers=2
    )
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
    from verifier.pipeline.intake.adding import add_tape

    _tell_added(add_tape(folder, files, act_of(folder, person, at)), as_json=as_json)


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
    from verifier.pipeline.decision.check import check as check_pour

    with bar("Measuring") as progress:
        checked = check_pour(folder, at=moment_of(at), progress=progress)
    if record:
        from verifier.pipeline.sealing.recording import record_check

        record_check(folder, checked, act_of(folder, person, at))
    if as_json:
        answer(checked.model_dump_json(indent=1))
    else:
        from verifier.cli.tables import print_check

        print_check(console(), checked, every=every)
    raise typer.Exit(NO_GO if checked.decision.answer == "no_go" else 0)


@app.command()
def page(
    folder: Annotated[
        Path | None,
        typer.Argument(help="A pour folder, or a folder that holds several.", metavar="[FOLDER]"),
    ] = None,
    port: Annotated[int, typer.Option(help="Port of the page on this machine.")] = 8501,
    idle: Annotated[
        float,
        typer.Option(
            min=1, max=60, help="After so long without use the passphrase is asked for again. [min]"
        ),
    ] = 30,
) -> None:
    """Open the page in a browser, on this machine only; with accounts everybody logs in."""
    from verifier.cli.demo import open_page

    raise typer.Exit(open_page(folder, port=port, idle_min=idle))


@app.command()
def demo(
    folder: Annotated[
        Path | None, typer.Option("--folder", help="Where to put the sample pour; a new folder if not given.")
    ] = None,
    no_page: Annotated[bool, typer.Option("--no-page", help="Stop before the page is opened.")] = False,
    steps: Annotated[
        int,
        typer.Option(
            min=1,
            max=4,
            help="Tell so many: as found 1, corrected 2, rounds walked 3, released 4; the page then shows that.",
        ),
    ] = 4,
) -> None:
    """The sample pour from end to end in under a minute, its dates moved to now, then the page."""
    from verifier.cli.demo import open_page, tell_story

    place = tell_story(console(), folder, now=datetime.now().astimezone(), until=steps)
    if not no_page:
        raise typer.Exit(open_page(place, port=8501))


def _new_from(folder: Path, source: Path, storey: str | None) -> None:
    """Tell what was read, what was not, and what a person must still fill in."""
    from verifier.pipeline.intake.importing import new_from

    done = new_from(folder, source, storey=storey)
    answer(f"Made {done.made[0]} from {source}: {done.read}.")
    for note_ in done.not_read:
        answer(f"  not read: {note_}")
    for asked in done.still_asked:
        answer(f"  still to fill in: {asked}")
    answer(f"Compare it with the drawing, which governs. Then: verifier check {folder}")


def _placement_of(element: str | None, spot: str | None, mat: str | None) -> Placement | None:
    from verifier.pipeline.folder.evidence import Placement

    if (element is None) != (spot is None):
        raise BadInput(
            "Element and spot belong together.",
            where="--element, --spot",
            todo="Give both, or neither to take them from the file names.",
        )
    if spot is not None and not spot.strip():
        raise BadInput(
            "The spot has no name.", where="--spot", todo="Give its number or name, such as --spot 2."
        )
    if element is None and mat is not None:
        raise BadInput(
            "A mat is said of an element and a spot.", where="--mat", todo="Give --element and --spot, too."
        )
    if element is None:
        return None
    return Placement.model_validate({"element": element, "spot": spot, "mat": mat, "basis": "said"})


def _tell_added(added: tuple[Added, ...], *, as_json: bool) -> None:
    """Print what became of each file; ends with exit code 2 if none is in the record."""
    if as_json:
        answer(json.dumps([a.model_dump(mode="json") for a in added], ensure_ascii=False, indent=1))
    else:
        for a in added:
            where = f" ({a.placement.element}, spot {a.placement.spot})" if a.placement.complete else ""
            answer(f"{a.name}{where}: {a.says}")
            if a.in_record and a.seen is not None and not a.placement.complete:
                answer("  It counts for no spot yet: add it again with --element and --spot.")
            for asked in a.asks:
                answer(f"  {asked}")
            if a.seen is not None:
                for refusal in a.seen.refusals:
                    answer(f"  refused ({refusal.reason}): {refusal.say}")
    if not any(a.in_record for a in added):
        raise typer.Exit(BAD_INPUT)
