"""Commands of the inspection rounds: what is open for whom, one answer, one event."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from verifier.cli.options import NO_GO, AsJson, At, Folder, answer, app, moment_of, write_out
from verifier.errors import BadInput
from verifier.wording import counted

if TYPE_CHECKING:
    from verifier.pipeline.inspection.rounds import Rounds
    from verifier.rounds.items import CheckItem
    from verifier.rounds.state import RoundState

By = Annotated[str, typer.Option("--person", help="Who says so: a name of pour.toml or rounds.toml.")]
Place = Annotated[str, typer.Option("--place", help="Place on the pour, such as a grid field.")]
Remark = Annotated[str, typer.Option("--remark", "--reason", help="What was seen, or why.")]


@app.command()
def rounds(
    folder: Folder,
    number: Annotated[int | None, typer.Option("--round", help="Only this round.")] = None,
    write_list: Annotated[
        Path | None,
        typer.Option("--write-list", help="Write the list to this spreadsheet.", metavar="FILE.xlsx"),
    ] = None,
    take_list: Annotated[
        Path | None, typer.Option("--list", help="Use the list of this spreadsheet.", metavar="FILE.xlsx")
    ] = None,
    as_json: AsJson = False,
    at: At = None,
) -> None:
    """What is open in which inspection round and for whom, hold points first; ends with 1 while anything is."""
    from verifier.pipeline.inspection import rounds as room

    if take_list is not None:
        taken = room.take_list(folder, take_list)
        answer(
            f"List in use: {taken.title}, {counted(len(taken.item), 'item')}, version {taken.version[:12]}."
        )
        return
    found = room.rounds_of(folder)
    if write_list is not None:
        from verifier.rounds.sheet import to_sheet

        write_out(write_list, to_sheet(found.checklist))
        answer(
            f"Wrote {write_list}: {counted(len(found.checklist.item), 'item')}, version {found.checklist.version[:12]}."
        )
        return
    if number is not None:
        found.setting.rule(number)
    states = [s for s in found.states(moment_of(at)) if number in (None, s.number)]
    if as_json:
        answer("\n".join(s.model_dump_json() for s in states))
    else:
        answer(f"{found.checklist.title}, version {found.checklist.version[:12]}")
        for state in states:
            _tell_round(found, state)
    raise typer.Exit(0 if all(s.complete and not s.holds_not_released for s in states) else NO_GO)


@app.command("answer")
def give_answer(  # noqa: PLR0913 - every option of a command is an argument
    folder: Folder,
    item: Annotated[str, typer.Argument(help="Item of the list, such as CV-01.", metavar="ITEM")],
    number: Annotated[int, typer.Option("--round", help="Number of the round.")],
    person: By,
    yes: Annotated[bool, typer.Option("--yes", help="It conforms.")] = False,
    no: Annotated[bool, typer.Option("--no", help="It does not; needs --remark.")] = False,
    cannot_tell: Annotated[bool, typer.Option("--cannot-tell", help="It can't be told.")] = False,
    not_applicable: Annotated[
        bool, typer.Option("--not-applicable", help="It does not apply; needs --reason.")
    ] = False,
    put_right: Annotated[
        bool, typer.Option("--put-right", help="A defect was put right by this person.")
    ] = False,
    value: Annotated[
        float | None, typer.Option("--value", help="Measured value, in the unit of the item.")
    ] = None,
    planned: Annotated[float | None, typer.Option("--planned", help="Value on the drawing.")] = None,
    low: Annotated[float | None, typer.Option("--low", help="Least value allowed.")] = None,
    high: Annotated[float | None, typer.Option("--high", help="Largest value allowed.")] = None,
    limit_source: Annotated[str, typer.Option("--limit-source", help="Where that limit comes from.")] = "",
    photo: Annotated[list[Path] | None, typer.Option("--photo", help="Photo of the place.")] = None,
    document: Annotated[list[Path] | None, typer.Option("--document", help="Document asked for.")] = None,
    place: Place = "whole pour",
    remark: Remark = "",
    at: At = None,
) -> None:
    """Record one person's answer to one item of a round; tells what the item still asks for."""
    from verifier.pipeline.inspection.round_entries import record_answers
    from verifier.pipeline.inspection.rounds import rounds_of
    from verifier.pipeline.people.acting import Act
    from verifier.rounds.answers import Answer, Word, faults_in

    line = rounds_of(folder).checklist.find(item)
    photos, documents = _kept(photo), _kept(document)
    moment = moment_of(at)
    said = {
        Word.CONFORMING: yes,
        Word.NOT_CONFORMING: no,
        Word.CANNOT_TELL: cannot_tell,
        Word.DOES_NOT_APPLY: not_applicable,
        Word.PUT_RIGHT: put_right,
    }
    words = [word for word, given in said.items() if given]
    measured = (
        None
        if value is None
        else {
            "value": value,
            "unit": line.unit,
            "planned": planned,
            "low": low,
            "high": high,
            "limit_source": limit_source,
        }
    )
    fields: dict[str, Any] = {
        "item": item,
        "round": number,
        "place": place,
        "by": person,
        "at": moment,
        "value": measured,
        "photos": tuple(photos),
        "documents": tuple(documents),
        "remark": remark,
    }
    given = checked_fields(Answer, **fields, word=_word_of(line, words, fields))
    record_answers(folder, [given], Act(person, moment), [*(photo or []), *(document or [])])
    answer(f"In the record: {item} {line.item}, round {number}, {place}: {given.word}.")
    for fault in faults_in(line, given):
        answer(f"  still open: {fault}")
    left = [o for s in rounds_of(folder).states(moment) for o in s.open if o.item == item]
    for one in left:
        answer(f"  round {one.round}, {one.place}: {'; '.join(one.why)} (for: {' or '.join(one.who)})")


@app.command()
def answers(
    folder: Folder,
    files: Annotated[list[Path], typer.Argument(help="CSV files of answers.", metavar="FILE.csv...")],
    person: By,
    at: At = None,
) -> None:
    """Record a round walked on paper or with a spreadsheet: many answers of one person."""
    from verifier.pipeline.inspection.round_entries import record_answer_file
    from verifier.pipeline.people.acting import Act

    for file in files:
        given = record_answer_file(folder, file, Act(person, moment_of(at)))
        answer(f"In the record: {counted(len(given), 'answer')} of {person} from {file.name}.")


@app.command()
def event(  # noqa: PLR0913 - every option of a command is an argument
    folder: Folder,
    what: Annotated[
        str,
        typer.Argument(
            help="rain, wind, heat, frost, other-trade, new-revision, prop-moved, impact, other-supply, pour-stopped, "
            "neighbours-moved, late-start, very-late-start; or round-signed, hold-released, witness-told.",
            metavar="WHAT",
        ),
    ],
    person: By,
    item: Annotated[list[str] | None, typer.Option("--item", help="Item that it touches.")] = None,
    trade: Annotated[str, typer.Option("--trade", help="Trade that was on the deck.")] = "",
    number: Annotated[int | None, typer.Option("--round", help="Round that is signed.")] = None,
    key: Annotated[Path | None, typer.Option("--key", help="Own key, to release a hold point.")] = None,
    told: Annotated[str, typer.Option("--told", help="Who was told of a witness point.")] = "",
    for_time: Annotated[datetime | None, typer.Option("--for-time", help="Time that was told.")] = None,
    attended: Annotated[bool | None, typer.Option("--attended/--absent", help="Whether they came.")] = None,
    remark: Remark = "",
    at: At = None,
) -> None:
    """Record what happened to the work between the rounds, and tell what it opens again."""
    from verifier.pipeline.inspection.round_entries import record_round_event
    from verifier.pipeline.inspection.rounds import rounds_of
    from verifier.pipeline.people.acting import Act
    from verifier.record.keys import PersonSigner
    from verifier.rounds.answers import Happened, Happening, HoldReleased, RoundSigned, WitnessTold

    moment = moment_of(at)
    by: dict[str, Any] = {"by": person, "at": moment}
    one = (item or [""])[0]
    own_key = None
    happening: Any
    if what == "round-signed":
        found = rounds_of(folder)
        versions = {"list_version": found.checklist.version, "revision": found.revision}
        happening = checked_fields(RoundSigned, **by, round=number, **versions)
    elif what == "hold-released":
        happening = checked_fields(HoldReleased, **by, item=one, remark=remark)
        if key is not None:
            own_key = PersonSigner(key, typer.prompt("Passphrase", hide_input=True, err=True))
    elif what == "witness-told":
        when = None if for_time is None else moment_of(for_time)
        happening = checked_fields(WitnessTold, **by, item=one, told=told, for_time=when, attended=attended)
    else:
        kinds = {h.value.replace("_", "-"): h for h in Happening if h is not Happening.PUT_RIGHT}
        if what not in kinds:
            raise BadInput(
                f"There is no event {what}.",
                where="WHAT",
                todo=f"Use one of: {', '.join(kinds)}, round-signed, hold-released, witness-told.",
            )
        happening = checked_fields(
            Happened, **by, what=kinds[what], items=tuple(item or ()), trade=trade, remark=remark
        )
    opened = record_round_event(folder, happening, Act(person, moment), own_key=own_key)
    answer(f"In the record: {what.replace('-', ' ')}.")
    for says in opened:
        answer(f"  now open: {says}")


def _word_of(line: CheckItem, words: list[Any], fields: dict[str, Any]) -> Any:
    """The word that was said, or what the value alone says where its limit is known."""
    from verifier.rounds.answers import Answer, Word, faults_in
    from verifier.rounds.items import Evidence

    if len(words) == 1:
        return words[0]
    if words or fields["value"] is None:
        raise BadInput(
            "One word is needed.",
            where=line.id,
            todo="Say --yes, --no, --cannot-tell, --not-applicable or --put-right, or give a --value with its limit.",
        )
    alone = line.model_copy(update={"evidence": (Evidence.VALUE,)})
    faults = (
        faults_in(alone, checked_fields(Answer, **fields, word=Word.CONFORMING))
        if line.unit
        else ("the item asks for no value",)
    )
    if faults:
        raise BadInput(
            f"The value alone does not say that it conforms: {'; '.join(faults)}.",
            where=line.id,
            todo="Give --planned, or --low or --high with --limit-source; or say --no with a --remark, or --cannot-tell.",
        )
    return Word.CONFORMING


def _kept(files: list[Path] | None) -> list[str]:
    from verifier.store import sha256_of

    for path in files or []:
        if not path.is_file() or not path.stat().st_size:
            raise BadInput(
                "There is no such file, or it is empty.", where=str(path), todo="Correct the name."
            )
    return [sha256_of(path) for path in files or []]


def checked_fields(model: Any, **fields: Any) -> Any:
    """Make a model of what was typed, or say every fault of it.

    Args:
        model: The pydantic model.
        fields: Its fields.

    Returns:
        The model.

    Raises:
        BadInput: If a field can't be used; all are named.
    """
    from pydantic import ValidationError

    from verifier.errors import faults_of

    try:
        return model(**fields)
    except ValidationError as error:
        raise BadInput(
            f"{faults_of(error)}.", where=model.__name__.lower(), todo="Correct it; nothing was recorded."
        ) from error


def _tell_round(found: Rounds, state: RoundState) -> None:
    signed = f"signed by {state.signed_by}" if state.signed_by else state.not_signed_because
    answer(
        f"\nRound {state.number}, {state.title}: {counted(state.items, 'item')}, open: {len(state.open)}; {signed}."
    )
    for hold in state.holds_not_released:
        answer(f"  HOLD {hold.item} {found.checklist.find(hold.item).item}: {hold.why} (for: {hold.who})")
    for one in sorted(state.open, key=lambda o: o.word == "not looked at"):
        title = found.checklist.find(one.item).item
        but = f", not by {', '.join(one.not_by)}" if one.not_by else ""
        answer(f"  {one.item} {title}, {one.place}: {'; '.join(one.why)} (for: {' or '.join(one.who)}{but})")
    if state.at_start:
        answer(f"  Right before concrete: {', '.join(state.at_start)}")
