"""Commands on the record: timeline, head, seal, audit."""

from __future__ import annotations

import json
from dataclasses import asdict
from pathlib import Path
from typing import Annotated

import typer

from verifier.cli.options import NO_GO, AsJson, At, Folder, answer, app, moment_of
from verifier.cli.people_commands import KeyFile, PassphraseFile, own_key_of
from verifier.errors import BadInput


@app.command()
def timeline(
    place: Annotated[
        Path, typer.Argument(help="The pour folder, or a sealed bundle.", metavar="FOLDER|BUNDLE")
    ],
    diff: Annotated[
        tuple[int, int] | None,
        typer.Option("--diff", help="What changed between two numbers of records.", metavar="OLD NEW"),
    ] = None,
    as_json: AsJson = False,
) -> None:
    """What happened, who did it, how that is known, and between which times each photo was taken."""
    from verifier.pipeline.recording import difference_of, timeline_of
    from verifier.record.timeline import timeline_text

    if diff is None:
        told = timeline_of(place)
        text = json.dumps([asdict(e) for e in told], ensure_ascii=False, indent=1)
        answer(text if as_json else timeline_text(told).rstrip("\n"))
        return
    found = difference_of(place, *diff)
    if as_json:
        answer(json.dumps(asdict(found), ensure_ascii=False, indent=1))
        return
    answer(timeline_text(found.events).rstrip("\n"))
    for what, pairs in (("verdict", found.findings), ("version", found.versions)):
        for name, (old, new) in pairs.items():
            answer(f"{what} of {name}: {old} -> {new}")


@app.command()
def head(
    folder: Folder,
    out: Annotated[Path | None, typer.Option("--out", help="Write it to this file, too.")] = None,
    at: At = None,
) -> None:
    """The signed head of the record and its short form, for a reviewer to keep outside."""
    from verifier.pipeline.recording import head_of

    found, note = head_of(folder, moment_of(at))
    answer(f"{note}\nShort form: {found.short}")
    if out is not None:
        try:
            with out.open("x", encoding="utf-8") as stream:  # a head kept before is never written over
                stream.write(note)
        except OSError as error:
            raise BadInput(
                f"The head can't be written ({error.strerror}).", where=str(out), todo="Choose another place."
            ) from error
        answer(
            f"Wrote {out}. Keep it outside the pour folder; check with: verifier audit BUNDLE --head {out}"
        )


@app.command()
def seal(
    folder: Folder,
    out: Annotated[Path, typer.Option("--out", help="Bundle to write.")] = Path("bundle.zip"),
    person: Annotated[
        str | None,
        typer.Option("--person", help="Who seals with the own key; without, only the device does."),
    ] = None,
    key: KeyFile = None,
    passphrase_file: PassphraseFile = None,
    at: At = None,
) -> None:
    """Write the record as a bundle that anybody can check with common tools, offline."""
    from verifier.pipeline.recording import seal_folder

    moment = moment_of(at)
    if person is not None:
        from verifier.pipeline.enrolling import key_file_of
        from verifier.pipeline.release_document import seal_by_person

        own = own_key_of(person, key or key_file_of(person), passphrase_file)
        record = seal_by_person(folder, own.opened(), moment)
        answer(f"In the record: {person} sealed it, record {record.seq}.")
    sealed = seal_folder(folder, out, moment)
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
    authority: Annotated[
        list[Path] | None,
        typer.Option(
            "--authority",
            help="Certificates (PEM) of a time stamp authority that you trust.",
            metavar="FILE.pem",
        ),
    ] = None,
) -> None:
    """Check a sealed bundle offline, each fact apart; ends with 1 if any fact does not hold."""
    from verifier.pipeline.recording import audit_bundle
    from verifier.record.audit import report

    heads = [text for given in head or [] for text in _heads_in(given)]
    roots = [_certificates(file) for file in authority or []]
    outcome = audit_bundle(bundle, heads=heads, replay=replay, authority_roots=roots)
    answer(report(outcome).rstrip("\n"))
    raise typer.Exit(NO_GO if outcome.alarms else 0)


def _certificates(file: Path) -> bytes:
    try:
        return file.read_bytes()
    except OSError as error:
        raise BadInput("This file can't be read.", where=str(file), todo="Correct its name.") from error


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
