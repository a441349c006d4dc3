"""The command itself, the options that several commands share, and how they answer."""

from __future__ import annotations

from contextlib import AbstractContextManager
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from verifier.cli.stages import ByStage
from verifier.errors import BadInput

if TYPE_CHECKING:
    from rich.console import Console

    from verifier.pipeline.measurement.measuring import Progress, Settings
    from verifier.pipeline.people.acting import Act

NO_GO = 1
BAD_INPUT = 2
CAUTION = (
    "It records evidence and compares numbers. It does not design, accept or release anything: the engineer of record, "
    "local codes and licensed practice govern."
)

app = typer.Typer(
    cls=ByStage,
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


def act_of(folder: Path, person: str | None, at: datetime | None) -> Act:
    """Who acts on a pour, and when.

    Args:
        folder: The pour folder.
        person: As given, None for the only site engineer.
        at: As given, None for now.

    Returns:
        The act.
    """
    from verifier.drawing.read import read_pour
    from verifier.pipeline.people.acting import Act, who_adds

    return Act(who_adds(read_pour(folder), person), moment_of(at))


def moment_of(at: datetime | None) -> datetime:
    """A moment with its zone.

    Args:
        at: What a person typed, local time of this machine; None for now.

    Returns:
        The moment.
    """
    return datetime.now().astimezone() if at is None else at.astimezone()


def settings_of_options(board_scale: float | None, boards: list[Path] | None) -> Settings:
    """Boards and their print scale as given on the command line, and the camera profiles of this user.

    Args:
        board_scale: Measured over nominal check length, None where not given.
        boards: Definitions of boards of one's own.

    Returns:
        The settings.
    """
    from verifier.board.definition import read_board
    from verifier.pipeline.folder.cameras import cameras_in, cameras_of_user
    from verifier.pipeline.measurement.measuring import Settings

    return Settings(
        board_scale=board_scale,
        boards=tuple(read_board(b) for b in boards or ()),
        cameras=cameras_in(cameras_of_user()),
    )


def photos_in(given: list[Path]) -> list[Path]:
    """Open up folders of photos; files in them that are no photos are told, not skipped in silence.

    Args:
        given: Photos and folders.

    Returns:
        Photos.

    Raises:
        BadInput: If there are none.
    """
    from verifier.pipeline.intake.adding import flat

    found = flat(given)
    for folder in (path for path in given if path.is_dir()):
        left = sorted(p.name for p in folder.iterdir() if p not in found and not p.name.startswith("."))
        if left:
            note(f"Not photos, not read: {', '.join(left)} in {folder}.")
    if not found:
        raise BadInput(
            "There are no photos there.",
            where=", ".join(str(p) for p in given),
            todo="Give photos (JPEG, PNG, HEIC), or a folder that holds some.",
        )
    return found


def bar(words: str) -> AbstractContextManager[Progress]:
    """A progress bar on stderr.

    Args:
        words: What is going on.

    Returns:
        A context that gives the function to call after each photo.
    """
    from verifier.cli.progress import progress

    return progress(words)


def console() -> Console:
    """Where tables are printed.

    Returns:
        A console on stdout.
    """
    from rich.console import Console

    return Console(highlight=False)


def answer(text: str) -> None:
    """Print an answer.

    Args:
        text: One line or several.
    """
    typer.echo(text)


def write_out(path: Path, data: bytes) -> None:
    """Write a file that was asked for.

    Args:
        path: Where to.
        data: Its bytes.

    Raises:
        BadInput: If it can't be written there.
    """
    try:
        path.write_bytes(data)
    except OSError as error:
        raise BadInput(
            f"It can't be written: {error.strerror}.",
            where=str(path),
            todo="Name a file in a folder that is there.",
        ) from error


def note(text: str) -> None:
    """Print something beside the answer, on stderr.

    Args:
        text: One line.
    """
    typer.echo(text, err=True)
