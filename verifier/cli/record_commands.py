"""Commands on the record: timeline, seal, audit."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from verifier.cli.options import NO_GO, At, Folder, answer, app, moment_of


@app.command()
def timeline(folder: Folder) -> None:
    """What happened, who did it and how that is known, from the record of a pour."""
    from verifier.pipeline.recording import timeline_of
    from verifier.record.timeline import timeline_text

    answer(timeline_text(timeline_of(folder)).rstrip("\n"))


@app.command()
def seal(
    folder: Folder,
    out: Annotated[Path, typer.Option("--out", help="Bundle to write.")] = Path("bundle.zip"),
    at: At = None,
) -> None:
    """Write the record as a bundle that anybody can check with common tools, offline."""
    from verifier.pipeline.recording import seal_folder

    sealed = seal_folder(folder, out, moment_of(at))
    answer(
        f"Wrote {sealed.path}: {sealed.shown} records, {sealed.files} files, {sealed.size_bytes / 1e6:.1f} MB."
    )
    answer("Its head, to be kept by somebody outside:")
    answer(sealed.checkpoint.rstrip("\n"))


@app.command()
def audit(
    bundle: Annotated[
        Path, typer.Argument(help="A sealed bundle, or the folder it was unpacked to.", metavar="BUNDLE")
    ],
    head: Annotated[
        list[str] | None,
        typer.Option("--head", help="A head held outside: a file, a file of kept heads, or the short form."),
    ] = None,
    replay: Annotated[bool, typer.Option("--replay", help="Measure the originals again.")] = False,
) -> None:
    """Check a sealed bundle offline, each fact apart; ends with 1 if any fact does not hold."""
    from verifier.pipeline.recording import audit_bundle
    from verifier.record.audit import report

    heads = [text for given in head or [] for text in _heads_in(given)]
    outcome = audit_bundle(bundle, heads=heads, replay=replay)
    answer(report(outcome).rstrip("\n"))
    raise typer.Exit(NO_GO if outcome.alarms else 0)


def _heads_in(given: str) -> list[str]:
    """Heads as given: the short form of a print, the text of a checkpoint, or a reviewer's file of kept heads."""
    path = Path(given)
    if not path.is_file():
        return [given]
    text = path.read_text(encoding="utf-8")
    if not text.startswith("{"):
        return [text]
    from verifier.record.heads import notes_in

    return notes_in(text, where=given)
