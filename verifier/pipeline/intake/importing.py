"""A pour folder filled from a bar schedule or a building model; what could not be read is said, never guessed."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from verifier.drawing.ifc import read_model, slab_text
from verifier.drawing.read import DrawingFaults, pour_from_text, read_pour
from verifier.drawing.schedule import read_schedule
from verifier.drawing.schedule_write import write_schedule
from verifier.drawing.template import template_text
from verifier.drawing.toml_text import pour_text
from verifier.errors import BadInput
from verifier.pipeline.intake.adding import new_folder
from verifier.wording import counted

MODELS = {".ifc"}
SCHEDULES = {".xlsx"}


@dataclass(frozen=True, slots=True)
class Imported:
    """A pour folder made from another file.

    Attributes:
        made: What was made.
        read: What was read, in words.
        not_read: What could not be read, and why.
        still_asked: Keys that a person must still fill in before the pour can be checked.
    """

    made: tuple[Path, ...]
    read: str
    not_read: tuple[str, ...] = ()
    still_asked: tuple[str, ...] = ()


def new_from(folder: Path, source: Path, *, storey: str | None = None) -> Imported:
    """Make a pour folder from a schedule or a model.

    Args:
        folder: The folder; made if absent.
        source: A spreadsheet as `write_template_schedule` makes it, or an IFC model.
        storey: Storey of the model; all of it if not given.

    Returns:
        What was made and read, and what was not.

    Raises:
        BadInput: If the source can't be used, or there is a pour.toml already; nothing is made then.
    """
    kind = source.suffix.lower()
    if (folder / "pour.toml").exists():
        raise BadInput(
            "There is a pour.toml already; it was left as it is.",
            where=str(folder),
            todo="Choose another folder.",
        )
    if kind in SCHEDULES:
        pour = read_schedule(source)
        text = pour_text(pour)
        layers = sum(len(s.layers) for s in pour.slabs)
        read = f"{counted(len(pour.slabs), 'slab')} with {counted(layers, 'layer')}, {counted(len(pour.beams), 'beam')}, {counted(len(pour.spots), 'spot')}"
        not_read: tuple[str, ...] = ()
    elif kind in MODELS:
        reading = read_model(source, storey=storey)
        text = _with_slabs(slab_text(reading))
        layers = sum(len(s.get("layers", ())) for s in reading.slabs)
        read = f"{counted(len(reading.slabs), 'slab')} with {counted(layers, 'layer')}; heading and people are the template's"
        not_read = reading.notes
    else:
        raise BadInput(
            f"A file ending in {kind or 'nothing'} can't be read as drawing values.",
            where=str(source),
            todo="Give a schedule (.xlsx) or a building model (.ifc).",
        )
    made = new_folder(folder)
    (folder / "pour.toml").write_text(text, encoding="utf-8")
    return Imported(made, read, not_read, _still_asked(text))


def write_template_schedule(path: Path) -> None:
    """Write an empty schedule to fill in, with the template's values as examples.

    Args:
        path: The .xlsx file; it must not exist.

    Raises:
        BadInput: If there is a file already.
    """
    write_schedule(pour_from_text(template_text().encode(), where="template"), path)


def write_schedule_of(folder: Path, path: Path) -> None:
    """Write the drawing values of a pour as a schedule.

    Args:
        folder: The pour folder.
        path: The .xlsx file; it must not exist.

    Raises:
        BadInput: If the drawing values can't be used, or there is a file already.
    """
    write_schedule(read_pour(folder), path)


def _with_slabs(slabs: str) -> str:
    """The template with the slabs of a model in place of its own."""
    text = template_text()
    head, _, rest = text.partition("\n[[slab]]\n")
    _, beam, tail = rest.partition("# [[beam]]")
    return f"{head}\n{slabs}\n{beam}{tail}"


def _still_asked(text: str) -> tuple[str, ...]:
    try:
        pour_from_text(text.encode(), where="pour.toml")
    except DrawingFaults as error:
        return tuple(fault.text for fault in error.faults)
    return ()
