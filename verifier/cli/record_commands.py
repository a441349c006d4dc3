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
from verifier.wording import counted


@app.command()
def timeline(
    place: Annotated[
        Path, typer.Argument(help="The pour folder, or a sealed bundle.", metavar="FOLDER|BUNDLE")
    ],
    diff: Annotated[
        list[str] | None,
        typer.Option(
            "--diff",
            help="What changed since a state, or between two if given twice: a number of records, a head (short form or "
            "file), or another folder or bundle of the same pour.",
            metavar="STATE",
        ),
    ] = None,
    pdf: Annotated[
        Path | None, typer.Option("--pdf", help="Write the whole story as a document for reading offline.")
    ] = None,
    as_json: AsJson = False,
) -> None:
    """What happened, who did it, how that is known, and between which times each photo was taken."""
    from verifier.pipeline.sealing.telling import timeline_of
    from verifier.record.timeline import timeline_text

    if diff and pdf is not None:
        raise BadInput(
            "A difference is not told as a document.", where="--pdf", todo="Leave out --diff or --pdf."
        )
    if diff:
        _tell_difference(place, diff, as_json=as_json)
        return
    if pdf is not None:
        from verifier.pipeline.papers.story import write_story

        answer(f"Wrote {write_story(place, pdf, moment_of(None))}.")
        return
    told = timeline_of(place)
    text = json.dumps([asdict(e) for e in told], ensure_ascii=False, indent=1)
    answer(text if as_json else timeline_text(told).rstrip("\n"))


def _tell_difference(place: Path, states: list[str], *, as_json: bool) -> None:
    from verifier.pipeline.sealing.comparing import difference_of
    from verifier.record.timeline import timeline_text

    if len(states) > 2:
        raise BadInput("More than two states were given.", where="--diff", todo="Give one or two.")
    old, new, found = difference_of(place, states)
    if as_json:
        answer(json.dumps(asdict(found), ensure_ascii=False, indent=1))
        return
    answer(f"From: {old.says}\nTo: {new.says}")
    if found.parts_at is not None:
        answer(
            f"THE TWO ARE NOT ONE HISTORY: record {found.parts_at} is another in each. One of them was rewritten; keep both, "
            "and compare each with heads held outside (verifier audit BUNDLE --head HEAD)."
        )
    for state in (old, new):
        if not state.whole:
            answer(f"{state.says} of {state.size}: a part, so what it does not show may be no difference.")
    if found.answer[0] != found.answer[1]:
        answer(f"answer of the last check: {found.answer[0]} -> {found.answer[1]}")
    for what, pairs in (("verdict", found.findings), ("version", found.versions)):
        for name, (before, after) in pairs.items():
            answer(f"{what} of {name}: {before} -> {after}")
    if found.gone:
        answer(f"Not in the later state:\n{timeline_text(found.gone).rstrip(chr(10))}")
    if found.events:
        answer(f"Added:\n{timeline_text(found.events).rstrip(chr(10))}")
    else:
        answer("Nothing was added.")


@app.command()
def head(
    folder: Folder,
    out: Annotated[Path | None, typer.Option("--out", help="Write it to this file, too.")] = None,
    at: At = None,
) -> None:
    """The signed head of the record and its short form, for a reviewer to keep outside."""
    from verifier.pipeline.sealing.recording import head_of

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
def seal(  # noqa: PLR0913 - every option of a command is an argument
    folder: Folder,
    out: Annotated[Path, typer.Option("--out", help="Bundle to write.")] = Path("bundle.zip"),
    element: Annotated[
        str | None,
        typer.Option(
            "--element", help="Show only what is about this element, under the head of the whole record."
        ),
    ] = None,
    photo: Annotated[
        str | None,
        typer.Option(
            "--photo",
            help="Show only what is about this photo: its name, or its SHA-256.",
            metavar="SHA|NAME",
        ),
    ] = None,
    person: Annotated[
        str | None,
        typer.Option("--person", help="Who seals with the own key; without, only the device does."),
    ] = None,
    key: KeyFile = None,
    passphrase_file: PassphraseFile = None,
    text_out: Annotated[
        Path | None,
        typer.Option("--text-out", help="Write the text to be signed on an own machine, and stop."),
    ] = None,
    signature_in: Annotated[
        Path | None,
        typer.Option(
            "--signature-in", help="The .sig that ssh-keygen wrote beside that text; it goes into the record."
        ),
    ] = None,
    at: At = None,
) -> None:
    """Write the record, or the part about one element or photo, as a bundle that anybody can check offline."""
    from verifier.pipeline.sealing.disclosing import Asked, seal_folder

    moment = moment_of(at)
    if text_out is not None:
        _give_out_seal(folder, person, text_out)
        return
    if signature_in is not None:
        from verifier.pipeline.papers.release_document import seal_handed_in

        record = seal_handed_in(folder, signature_in, moment)
        answer(f"In the record: {record.body['person']} sealed it on an own machine, record {record.seq}.")
    elif person is not None:
        from verifier.pipeline.papers.release_document import seal_by_person
        from verifier.pipeline.people.enrolling import key_file_of

        own = own_key_of(person, key or key_file_of(person), passphrase_file)
        record = seal_by_person(folder, own.opened(), moment)
        answer(f"In the record: {person} sealed it, record {record.seq}.")
    asked = Asked(element, photo) if element is not None or photo is not None else None
    sealed = seal_folder(folder, out, moment, asked=asked)
    shown = (
        counted(sealed.shown, "record")
        if asked is None
        else f"a part, {sealed.shown} of {sealed.records} records"
    )
    answer(
        f"Wrote {sealed.path}: {shown}, {counted(sealed.files, 'file')}, {sealed.size_bytes / 1e6:.1f} MB."
    )
    answer("Its head, to be kept by somebody outside:")
    answer(sealed.checkpoint.rstrip("\n"))


def _give_out_seal(folder: Path, person: str | None, text_out: Path) -> None:
    from verifier.pipeline.papers.release_document import seal_given_out

    if person is None:
        raise BadInput("Nobody is named to sign.", where="--person", todo="Name who seals.")
    seal_given_out(folder, person, text_out)
    answer(
        f"Wrote {text_out}. Read it, and sign it on your own machine: ssh-keygen -Y sign -f KEY -n pour-seal {text_out.name}\n"
        f"Then: verifier seal {folder} --signature-in {text_out}.sig --out BUNDLE.zip"
    )


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
    from verifier.pipeline.sealing.recording import audit_bundle
    from verifier.record.audit import report

    heads = [text for given in head or [] for text in _heads_in(given, bundle)]
    roots = [_certificates(file) for file in authority or []]
    outcome = audit_bundle(bundle, heads=heads, replay=replay, authority_roots=roots)
    answer(report(outcome).rstrip("\n"))
    raise typer.Exit(NO_GO if outcome.alarms else 0)


def _certificates(file: Path) -> bytes:
    try:
        return file.read_bytes()
    except OSError as error:
        raise BadInput("This file can't be read.", where=str(file), todo="Correct its name.") from error


def _heads_in(given: str, bundle: Path) -> list[str]:
    """Heads as given: the short form of a print, the text of a checkpoint, or a reviewer's file of kept heads.

    Such a file may hold heads of several pours; those of this bundle's record are compared.
    """
    path = Path(given)
    if not path.is_file():
        return [given]
    try:
        text = path.read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError) as error:
        raise BadInput(
            "This head can't be read.", where=given, todo="Give the file as it was written."
        ) from error
    if not text.startswith("{"):
        return [text]
    from verifier.record.bundle import bundle_origin
    from verifier.record.heads import notes_in

    origin, notes = bundle_origin(bundle), notes_in(text, where=given)
    mine = [note for note in notes if origin is None or note.split("\n", 1)[0] == origin]
    if not mine:
        raise BadInput(
            f"This file holds no head of {origin}, which the bundle says to be.",
            where=given,
            todo="Give the file in which you keep the heads of this pour.",
        )
    return mine
