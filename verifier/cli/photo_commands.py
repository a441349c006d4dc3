"""Commands on photos and boards alone: measure, distance, calibrate, board."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Literal

import typer

from verifier.cli.options import (
    BAD_INPUT,
    AsJson,
    At,
    BoardFiles,
    BoardScale,
    Folder,
    Person,
    Photos,
    act_of,
    answer,
    app,
    bar,
    console,
    note,
    photos_in,
    settings_of_options,
)
from verifier.errors import BadInput


@app.command()
def measure(
    photos: Photos,
    as_json: AsJson = False,
    overlay: Annotated[
        Path | None, typer.Option(help="Folder for pictures with the measurement drawn in.")
    ] = None,
    board_scale: BoardScale = None,
    boards: BoardFiles = None,
    workers: Annotated[int, typer.Option(min=1, max=16, help="Photos measured at the same time.")] = 2,
) -> None:
    """Measure photos alone, without a drawing: one answer a photo, a refusal where a photo can't be measured."""
    from verifier.pipeline.measurement.measuring import Job, measure_photos

    jobs = [Job(path, path.name) for path in photos_in(photos)]
    settings = settings_of_options(board_scale, boards)
    with bar("Measuring") as progress:
        for job, seen in zip(
            jobs, measure_photos(jobs, settings, workers=workers, progress=progress), strict=True
        ):
            if as_json:
                answer(seen.model_dump_json())
            else:
                from verifier.cli.tables import measured_table

                console().print(measured_table(seen))
            if overlay is not None and seen.photo.width_px > 0:
                from verifier.pipeline.measurement.pictures import write_overlay

                note(f"Drawn: {write_overlay(job.path, seen, overlay)}")
    absent = [str(path) for path in photos if not path.exists()]
    if absent:
        raise BadInput(
            f"{'There is no such file' if len(absent) == 1 else 'These files do not exist'}.",
            where=", ".join(absent),
            todo="Correct the name. What else was given is answered above.",
        )


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
    from verifier.metrology.budget import result_text
    from verifier.pipeline.measurement.distances import distances_in, pair_of, read_pairs

    asked = [
        *([pair_of(*points)] if points is not None else []),
        *(read_pairs(pairs) if pairs is not None else []),
    ]
    if not asked:
        raise BadInput(
            "No points were given.", where="distance", todo="Add --points x1,y1 x2,y2 or --pairs FILE.csv."
        )
    settings = settings_of_options(board_scale, boards)
    answers = distances_in(photo, asked, settings, plane=plane)
    if answers[0].camera is not None and not as_json:
        note(f"Used: {answers[0].camera}.")
    if answers[0].caution is not None and not as_json:
        note(answers[0].caution)
    for found in answers:
        if as_json:
            answer(found.model_dump_json())
        elif found.distance_mm is None or found.expanded_uncertainty_mm is None:
            answer(f"refused: {' '.join(r.say for r in found.refusals)}")
        else:
            answer(result_text(found.distance_mm, found.expanded_uncertainty_mm))


@app.command()
def calibrate(
    photos: Photos,
    out: Annotated[
        Path | None, typer.Option(help="Folder to keep the profile in, instead of your own settings.")
    ] = None,
    pour: Annotated[
        Path | None, typer.Option(help="Pour folder to keep it in: used for this pour only.")
    ] = None,
    boards: BoardFiles = None,
) -> None:
    """Learn a camera and its lens from a dozen photos of one flat board, taken from all sides."""
    from verifier.board.definition import read_board
    from verifier.errors import Refusal
    from verifier.pipeline.folder.cameras import calibrate_camera, cameras_folder, keep_camera

    folder = cameras_folder(out, pour)
    made = calibrate_camera(photos_in(photos), tuple(read_board(b) for b in boards or ()))
    if isinstance(made, Refusal):
        note(f"refused ({made.reason}): {made.say}")
        raise typer.Exit(BAD_INPUT)
    path = keep_camera(made, folder)
    answer(
        f"Kept in {path}: {made.title}.\n"
        f"Focal length {made.focal_px:.0f} px ± {200 * made.focal_u:.1f} %, lens k1 {made.k[0]:+.4f} ± {2 * made.k_u[0]:.4f}, "
        f"corners left unexplained {made.rms_px:.2f} px.\n"
        "Photos whose file names the same camera, lens and size are measured with it from now on."
        if out is None
        else f"Kept in {path}: {made.title}. Copy it to the cameras folder of a pour to use it there."
    )


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
    person: Person = None,
) -> None:
    """Print a scale board in true size, or enter its measured check length."""
    if measured is not None:
        from verifier.pipeline.intake.boards import enter_check_length

        if pour is None:
            raise BadInput(
                "No pour folder was given.", where="--measured", todo="Add --pour FOLDER: it is kept there."
            )
        scale = enter_check_length(pour, paper=paper, number=number, measured_mm=measured, person=person)
        answer(f"Board {number}: kept. All lengths are multiplied by {scale.factor:.4f}.")
        return
    from verifier.pipeline.intake.boards import print_board

    written = print_board(out, paper=paper, number=number, pour=pour, png=png)
    answer(f"Wrote {', '.join(str(path) for path in written)}. Print at 100 %, then measure the check line.")


@app.command()
def issue(
    folder: Folder,
    out: Annotated[Path, typer.Option("--out", help="PDF to write.")] = Path("board.pdf"),
    paper: Annotated[Literal["A5", "A4", "A3"], typer.Option(help="Size of the sheet.")] = "A4",
    png: Annotated[bool, typer.Option("--png", help="Write a 300-dpi raster, too.")] = False,
    person: Person = None,
    at: At = None,
) -> None:
    """Issue a scale board for one pour: its markers follow from the record, so that no photo of it can be older."""
    from verifier.pipeline.intake.boards import issue_board

    number, written = issue_board(folder, out, paper=paper, act=act_of(folder, person, at), png=png)
    answer(
        f"Issued board {number} and wrote {', '.join(str(path) for path in written)}. Print at 100 %, then measure the check line: "
        f"verifier board --pour {folder} --paper {paper} --number {number} --measured MM"
    )
