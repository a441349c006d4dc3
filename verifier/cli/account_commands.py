"""Commands of the accounts: who may enter the page."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from verifier.cli.options import answer, app, moment_of, note
from verifier.errors import BadInput

if TYPE_CHECKING:
    from verifier.accounts.book import Book

account = typer.Typer(help="Accounts of the page: add, link, stop, list.", no_args_is_help=True)
app.add_typer(account, name="account")

Place = Annotated[
    Path, typer.Argument(help="A pour folder, or the folder that holds several.", metavar="FOLDER")
]
Who = Annotated[str, typer.Option("--person", help="Name from [people] in pour.toml.")]


@account.command()
def add(
    folder: Place,
    person: Who,
    passphrase_file: Annotated[
        Path | None,
        typer.Option(
            "--passphrase-file",
            help="First line is the passphrase, - for standard input; asked for if not given.",
        ),
    ] = None,
) -> None:
    """Make an account, or give it a new passphrase. From the first account on the page asks everybody to log in."""
    book = _book(folder)
    begun = book.begun
    _note_unnamed(folder, person)
    book.add(person, _passphrase(person, passphrase_file), moment_of(None))
    answer(f"{person} can log in. The accounts lie in {book.path}, outside of every pour.")
    if not begun:
        note("From now on the page asks everybody to log in.")


@account.command()
def link(
    folder: Place,
    person: Who,
    identity: Annotated[
        str, typer.Option("--identity", help="As the page shows it to somebody not linked yet.")
    ],
) -> None:
    """Say which person somebody is who logs in through an identity provider."""
    _note_unnamed(folder, person)
    _book(folder).link(person, identity, moment_of(None))
    answer(f"{identity} is {person}.")


@account.command()
def disable(folder: Place, person: Who) -> None:
    """Stop an account: its visits end at once. What the person did stays in the records."""
    _book(folder).stop(person, moment_of(None))
    answer(f"{person} can't log in any more.")


@account.command(name="list")
def list_accounts(folder: Place) -> None:
    """List the accounts."""
    found = _book(folder).listed()
    for one in found:
        ways = [w for w, there in (("passphrase", one.passphrase), (one.identity, one.identity)) if there]
        state = (
            f"stopped {one.stopped}"
            if one.stopped
            else f"since {one.since}, by {' and '.join(map(str, ways))}"
        )
        answer(f"{one.name}: {state}")
    if not found:
        answer("There are no accounts: the page asks nobody to log in and is open on this machine only.")


def _book(folder: Path) -> Book:
    from verifier.pipeline.people.pours import accounts_of

    if not folder.is_dir():
        raise BadInput("There is no such folder.", where=str(folder), todo="Name the folder of the pours.")
    return accounts_of(folder)


def _note_unnamed(folder: Path, person: str) -> None:
    """An account of somebody whom no pour names can see nothing; that may be a slip of the pen."""
    from verifier.drawing.read import read_pour
    from verifier.pipeline.people.pours import pours_in

    pours = pours_in(folder)
    if pours and not any(read_pour(p).people.roles_of(person) for p in pours):
        note(f"No pour in {folder} names {person} under [people] yet.")


def _passphrase(person: str, file: Path | None) -> str:
    if file is None:
        words = f"New passphrase of {person}"
        return str(typer.prompt(words, hide_input=True, confirmation_prompt=True, err=True))
    if str(file) == "-":
        return sys.stdin.readline().rstrip("\r\n")
    try:
        return file.read_text(encoding="utf-8").split("\n", 1)[0].rstrip("\r")
    except (OSError, UnicodeDecodeError) as error:
        raise BadInput("This file can't be read.", where=str(file), todo="Correct its name.") from error
