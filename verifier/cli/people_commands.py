"""Commands of people and their own keys: enrol, revoke, release."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from verifier.cli.options import NO_GO, At, Folder, answer, app, bar, console, moment_of
from verifier.errors import BadInput
from verifier.wording import counted

if TYPE_CHECKING:
    from verifier.pipeline.approval.accepting import ToAccept
    from verifier.pipeline.people.enrolling import OwnKey

Who = Annotated[str, typer.Option("--person", help="Name from [people] in pour.toml.")]
KeyFile = Annotated[
    Path | None,
    typer.Option("--key", help="The person's private key; in this user's settings if not given."),
]
PassphraseFile = Annotated[
    Path | None,
    typer.Option("--passphrase-file", help="First line is the passphrase; asked for if not given."),
]


@app.command()
def enrol(  # noqa: PLR0913 - every option of a command is an argument
    folder: Folder,
    person: Who,
    role: Annotated[
        list[str] | None, typer.Option("--role", help="site_engineer, reviewer or engineer_of_record.")
    ] = None,
    key: KeyFile = None,
    passphrase_file: PassphraseFile = None,
    by: Annotated[
        str | None, typer.Option("--by", help="Enrolled person who introduces; not for the first one.")
    ] = None,
    by_key: Annotated[Path | None, typer.Option("--by-key", help="That person's private key.")] = None,
    by_passphrase_file: Annotated[
        Path | None, typer.Option("--by-passphrase-file", help="Its passphrase, in the first line.")
    ] = None,
    text_out: Annotated[
        Path | None, typer.Option("--text-out", help="Write the request for signing on an own machine.")
    ] = None,
    public: Annotated[
        Path | None, typer.Option("--public", help="Public key (.pub) made on an own machine.")
    ] = None,
    signature_in: Annotated[
        Path | None, typer.Option("--signature-in", help="The .sig that ssh-keygen wrote over that request.")
    ] = None,
    at: At = None,
) -> None:
    """Make a person's own key known to the record: made here under a passphrase, or on an own machine."""
    from verifier.pipeline.people import enrolling as room
    from verifier.pipeline.people.acting import Act

    roles = role or []
    if text_out is not None:
        _written(text_out, room.request_text(folder, person, roles))
        answer(
            f"Wrote {text_out}. On your own machine: ssh-keygen -Y sign -f KEY -n pour-enrol {text_out.name}\n"
            f"Then: verifier enrol {folder} --person {person} --public KEY.pub --signature-in {text_out}.sig --by NAME"
        )
        return
    act = Act(person, moment_of(at))
    if (public is None) != (signature_in is None):
        raise BadInput(
            "Public key and signature belong together.", where="--public, --signature-in", todo="Give both."
        )
    if public is not None and signature_in is not None:
        from verifier.record.public_keys import public_from_ssh

        made = public_from_ssh(_read(public), where=str(public))
        armored = _read(signature_in)
        introducer = (
            None if by is None else own_key_of(by, by_key or room.key_file_of(by), by_passphrase_file)
        )
        record = room.enrol_elsewhere(folder, person, roles, made, armored, act, by=introducer)
        place = "on the person's own machine"
    else:
        file = key or room.key_file_of(person)
        own = own_key_of(person, file, passphrase_file, new=not file.exists())
        introducer = (
            None if by is None else own_key_of(by, by_key or room.key_file_of(by), by_passphrase_file)
        )
        record = room.enrol_person(folder, person, roles, own, act, by=introducer)
        place = str(file)
    told = ", ".join(str(r).replace("_", " ") for r in record.body["roles"])
    answer(
        f"In the record: {person} ({told}), record {record.seq}. The key is {place}: nobody else may have it."
    )


@app.command()
def revoke(
    folder: Folder,
    person: Annotated[str, typer.Option("--person", help="Whose key no longer counts.")],
    reason: Annotated[str, typer.Option("--reason", help="Why, in words.")],
    by: Annotated[
        str | None, typer.Option("--by", help="Who revokes; the person itself if not given.")
    ] = None,
    key: KeyFile = None,
    passphrase_file: PassphraseFile = None,
    at: At = None,
) -> None:
    """Record that a person's key no longer counts; what it signed before stays valid."""
    from verifier.pipeline.people.enrolling import key_file_of, revoke_key

    signer = by or person
    own = own_key_of(signer, key or key_file_of(signer), passphrase_file)
    record = revoke_key(folder, person, reason, own, moment_of(at))
    answer(f"In the record: the key of {person} no longer counts, record {record.seq}.")


@app.command()
def release(  # noqa: PLR0913 - every option of a command is an argument
    folder: Folder,
    person: Who,
    refuse: Annotated[bool, typer.Option("--refuse", help="Refuse to release; needs --reason.")] = False,
    accept: Annotated[
        list[str] | None,
        typer.Option(
            "--accept", help="Finding that the engineer of record accepts, with a --reason for each."
        ),
    ] = None,
    reason: Annotated[list[str] | None, typer.Option("--reason", help="Why, in words.")] = None,
    head_out: Annotated[
        Path | None, typer.Option("--head-out", help="Your file of kept heads, outside the pour folder.")
    ] = None,
    key: KeyFile = None,
    passphrase_file: PassphraseFile = None,
    text_out: Annotated[
        Path | None, typer.Option("--text-out", help="Write the text for signing on an own machine.")
    ] = None,
    signature_in: Annotated[
        Path | None, typer.Option("--signature-in", help="The .sig that ssh-keygen wrote beside that text.")
    ] = None,
    at: At = None,
) -> None:
    """Check, show what stands, and release with the person's own key, or refuse; ends with 1 on a no-go."""
    from verifier.cli.tables import print_check
    from verifier.pipeline.approval import releasing as room
    from verifier.pipeline.approval import signed_elsewhere as elsewhere
    from verifier.pipeline.approval.accepting import stands, stands_now
    from verifier.pipeline.decision.check import check
    from verifier.pipeline.papers.release_document import release_document
    from verifier.pipeline.people.acting import Act
    from verifier.pipeline.people.enrolling import key_file_of

    accepted = _acceptances(accept or [], reason or [], refuse=refuse)
    act = Act(person, moment_of(at))
    room.may_release(folder, person)
    size = room.record_size(folder)
    with bar("Measuring") as progress:
        checked = check(folder, at=act.at, progress=progress)
    place = key or key_file_of(person)
    if signature_in is not None:
        approval, armored = elsewhere.given_out(signature_in)
        standing = stands_now(folder, checked, person)
        record = elsewhere.hand_in(folder, standing, approval, armored, act)
        _tell_released(release_document(folder, standing, record, act), record.seq, person)
        return
    print_check(console(), checked, every=False)
    own = own_key_of(person, place, passphrase_file) if accepted else None
    standing = stands(folder, checked, act, accept=accepted, key=own)
    if refuse:
        own = own_key_of(person, place, passphrase_file)
        record = room.refuse(folder, standing, (reason or [""])[0], act, own.opened())
        answer(f"In the record: {person} refused to release, record {record.seq}.")
        return
    for given in standing.accepted.values():
        answer(f"Accepted in writing by {given.person}: {given.says} Reason: {given.reason}")
    if standing.decision.reasons:
        answer(
            f"Not released: {counted(len(standing.decision.reasons), 'reason stops', 'reasons stop')} this pour."
        )
        for stop in standing.decision.reasons:
            answer(f"  {stop.key}: {stop.says}")
        raise typer.Exit(NO_GO)
    approval, text = room.bind(folder, standing, act, heads=head_out, looked_from=size)
    answer(f"\n{text}")
    if text_out is not None:
        elsewhere.give_out(approval, text_out)
        answer(
            f"Wrote {text_out}. Sign it on your own machine: ssh-keygen -Y sign -f KEY -n pour-release {text_out.name}\n"
            f"Then: verifier release {folder} --person {person} --signature-in {text_out}.sig"
        )
        return
    own = own or own_key_of(person, place, passphrase_file)
    record = room.sign_here(folder, approval, own.opened(), act.at)
    _tell_released(release_document(folder, standing, record, act), record.seq, person)


def _tell_released(pdf: Path, seq: int, person: str) -> None:
    answer(f"In the record: {person} released this pour, record {seq}. Wrote {pdf}.")


def _acceptances(accept: list[str], reason: list[str], *, refuse: bool) -> list[ToAccept]:
    from verifier.pipeline.approval.accepting import ToAccept

    wanted = 1 if refuse else len(accept)
    if (refuse and accept) or len(reason) != wanted or not all(text.strip() for text in reason):
        raise BadInput(
            f"Written reasons needed: {wanted}; given: {len(reason)}."
            if not (refuse and accept)
            else "A refusal accepts nothing.",
            where="--reason",
            todo="Give one --reason with --refuse, or one behind each --accept.",
        )
    return [] if refuse else [ToAccept(f, r) for f, r in zip(accept, reason, strict=True)]


def own_key_of(person: str, place: Path, passphrase_file: Path | None, *, new: bool = False) -> OwnKey:
    """A key with its passphrase, from a file or asked for without echo.

    Args:
        person: Whose key, for the question.
        place: File of the private key.
        passphrase_file: First line is the passphrase; None to ask.
        new: Whether the key is still to be made, so that the passphrase is asked for twice.

    Returns:
        The key.

    Raises:
        BadInput: If the file can't be read.
    """
    from verifier.pipeline.people.enrolling import OwnKey

    if passphrase_file is None:
        words = f"{'New passphrase' if new else 'Passphrase'} of {person}"
        return OwnKey(place, typer.prompt(words, hide_input=True, confirmation_prompt=new, err=True))
    lines = _read(passphrase_file).splitlines()
    return OwnKey(place, lines[0] if lines else "")


def _read(file: Path) -> str:
    try:
        return file.read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError) as error:
        raise BadInput("This file can't be read.", where=str(file), todo="Correct its name.") from error


def _written(file: Path, content: bytes) -> None:
    try:
        file.write_bytes(content)
    except OSError as error:
        raise BadInput(
            f"The text can't be written ({error.strerror}).", where=str(file), todo="Choose another place."
        ) from error
