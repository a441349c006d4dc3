"""After the pour: curing, levels, results, striking, defects, signatures; close the record or say what lacks."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from verifier.cli.options import NO_GO, AsJson, At, Folder, Person, act_of, answer, app, moment_of
from verifier.errors import BadInput, Refusal

if TYPE_CHECKING:
    from verifier.pipeline.concreting.closing_state import ClosingState

KINDS = (
    "terms",
    "curing",
    "level",
    "result",
    "strength",
    "struck",
    "back-props",
    "propping",
    "defect",
    "query",
    "explanation",
)
_WRONG = {"do not hold", "taken too early", "not written"}
POSTS = ("contractor's engineer", "independent inspector", "engineer of record")


@app.command()
def close(  # noqa: PLR0913 - every option of a command is an argument
    folder: Folder,
    kind: Annotated[
        str | None, typer.Argument(help=f"{', '.join(KINDS)}; nothing to see what lacks.", metavar="[KIND]")
    ] = None,
    found: Annotated[str | None, typer.Option(help="Curing: wet, dry or covering torn.")] = None,
    put_right: Annotated[bool, typer.Option("--put-right", help="Curing: put right at once.")] = False,
    temperature: Annotated[float | None, typer.Option(help="Curing: at the surface. [C]")] = None,
    place: Annotated[str | None, typer.Option(help="Where.")] = None,
    off: Annotated[float | None, typer.Option(help="Level: difference from the plan. [mm]")] = None,
    uncertainty: Annotated[float, typer.Option(help="Level: expanded uncertainty (95 %). [mm]")] = 3.0,
    sample: Annotated[str | None, typer.Option(help="Result: sample.")] = None,
    age: Annotated[int | None, typer.Option(help="Result: age at test. [d]")] = None,
    mpa: Annotated[
        list[float] | None, typer.Option(help="Result or strength: one specimen each. [MPa]")
    ] = None,
    part: Annotated[str | None, typer.Option(help="Strength: side, soffit; struck: which part.")] = None,
    evidence: Annotated[str | None, typer.Option(help="Struck: on what evidence.")] = None,
    state: Annotated[str | None, typer.Option(help="Back-props: how they stand.")] = None,
    says: Annotated[str | None, typer.Option(help="Words of a query, explanation or defect.")] = None,
    number: Annotated[int | None, typer.Option(help="Number of the query or defect.")] = None,
    answered: Annotated[bool, typer.Option("--answered", help="The query is answered.")] = False,
    photo: Annotated[list[Path] | None, typer.Option("--photo", help="Photo with a scale.")] = None,
    further: Annotated[
        list[str] | None, typer.Option("--set", help="Any other field.", metavar="NAME=VALUE")
    ] = None,
    sign: Annotated[
        str | None, typer.Option("--sign", help=f"Sign as {', '.join(POSTS)}.", metavar="POST")
    ] = None,
    decides: Annotated[
        str, typer.Option(help='Engineer of record: "results", "levels", "striking" or "defect 1".')
    ] = "",
    decision: Annotated[str, typer.Option(help="The decision in words.")] = "",
    finish: Annotated[bool, typer.Option("--finish", help="Close the record.")] = False,
    key: Annotated[Path | None, typer.Option("--key", help="Own key, to sign or close.")] = None,
    passphrase_file: Annotated[
        Path | None, typer.Option("--passphrase-file", help="First line is the passphrase.")
    ] = None,
    person: Person = None,
    at: At = None,
    as_json: AsJson = False,
) -> None:
    """Write what happens after the pour, sign it, close the record; ends with 1 while something lacks."""
    from verifier.pipeline.concreting.closing import close_record, record_after, sign_closing
    from verifier.pipeline.concreting.closing_state import closing_of
    from verifier.store import sha256_of

    if sign is not None or finish:
        from verifier.cli.people_commands import own_key_of
        from verifier.pipeline.people.enrolling import key_file_of

        act = act_of(folder, person, at)
        own = own_key_of(act.person, key or key_file_of(act.person), passphrase_file).opened()
        if finish:
            close_record(folder, closing_of(folder, act.at).missing, act, own)
            answer(f"In the record: closed by {act.person}.")
            return
        if sign not in POSTS:
            raise BadInput(
                f"{sign} is no post here.", where="--sign", todo=f"Use one of: {', '.join(POSTS)}."
            )
        sign_closing(folder, sign, act, own, decides=decides, decision=decision)  # type: ignore[arg-type] # checked above
        answer(
            f"In the record: {act.person} signed as {sign}{f', {decides}: {decision}' if decides else ''}."
        )
        return
    if kind is not None:
        _known(kind)
        fields: dict[str, Any] = {
            "found": found,
            "put_right": put_right or None,
            "temperature_c": temperature,
            "place": place,
            "off_mm": off,
            "uncertainty_mm": uncertainty if kind == "level" else None,
            "sample": sample,
            "age_days": age,
            "mpa": mpa or None,
            "part": part,
            "evidence": evidence,
            "state": state,
            "says": says,
            "number": number,
            "answered": answered or None,
        }
        given = {name: value for name, value in fields.items() if value is not None}
        for pair in further or []:
            name, equals, value = pair.partition("=")
            if not equals:
                raise BadInput(
                    f"{pair} is no NAME=VALUE.", where="--set", todo="Write it so: --set cement=blended"
                )
            given[name] = value
        act = act_of(folder, person, at)
        photos = photo or []
        lost = [p for p in photos if not p.is_file()]
        if lost:
            raise BadInput(
                "There is no such photo.", where=str(lost[0]), todo="Correct the name; nothing was recorded."
            )
        hashes = [sha256_of(p) for p in photos]
        if kind == "defect":
            given = {"defect": _defect(given, hashes) | {"by": act.person, "seen_at": act.at}}
        elif hashes:
            given["photos"] = hashes
        entry = record_after(folder, {"kind": kind} | given, act, photos)
        answer(f"In the record: {entry.kind}.")
        return
    seen = closing_of(folder, moment_of(at))
    answer(seen.model_dump_json(indent=1)) if as_json else _tell(seen)
    raise typer.Exit(NO_GO if seen.missing else 0)


def _defect(given: dict[str, Any], hashes: list[str]) -> dict[str, Any]:
    """A defect as its model takes it: measures of a crack or of honeycomb in a table of their own."""
    import json

    told = {"describes" if n == "says" else "kind" if n == "what" else n: v for n, v in given.items()}
    for name in ("crack", "hollow"):
        if isinstance(told.get(name), str):
            try:
                told[name] = json.loads(told[name])
            except ValueError as error:
                raise BadInput(
                    f"{name} is no table.", where="--set", todo='Write JSON: {"length_mm": 200, ...}'
                ) from error
    return told | {"photos": hashes}


def _known(kind: str) -> None:
    if kind not in KINDS:
        raise BadInput(
            f'"{kind}" is no entry of the closing.', where="close", todo=f"Write one of: {', '.join(KINDS)}."
        )


def _tell(seen: ClosingState) -> None:
    from verifier.cli.falsework_command import tell_removal
    from verifier.pipeline.concreting.falsework import bounds_text

    ended = f"{seen.ended_at.astimezone():%Y-%m-%d %H:%M}" if seen.ended_at else "not in the log"
    answer(f"End of the pour: {ended}.")
    if isinstance(seen.curing_need, Refusal):
        answer(f"Curing: {seen.curing_need.say}")
    else:
        answer(
            f"Curing, days asked for: {seen.curing_need.days:g} ({seen.curing_need.source}). {seen.curing_need.note}".rstrip()
        )
    if seen.curing is not None:
        word = "done" if seen.curing.done else f"until {seen.curing.ends_at.astimezone():%Y-%m-%d %H:%M}"
        answer(
            f"  {word}; bad days: {len(seen.curing.bad_days)}, days without a look: {len(seen.curing.days_without_entry)}."
        )
    for result in seen.results:
        value = f"{result.mpa:.1f} MPa" if result.mpa is not None else f"no result: {result.invalid_because}"
        answer(f"Sample {result.sample}, {result.age_days} d: {value}.")
    if seen.acceptance is not None:
        a = seen.acceptance
        answer(
            f"Results: {a.verdict}; mean at least {a.mean_limit_mpa:g}, each at least {a.each_limit_mpa:g} MPa ({a.source})."
        )
        for why in a.why:
            answer(f"  {why}")
    if isinstance(seen.dates, Refusal):
        answer(f"Striking: {seen.dates.say}")
    else:
        for dated in seen.dates:
            done = f"struck {dated.struck.at.astimezone():%Y-%m-%d %H:%M}" if dated.struck else "stands"
            if dated.too_early:
                done += ", TOO EARLY by these days and without enough strength shown"
            answer(
                f"{dated.date.part}: not before {dated.date.earliest.astimezone():%Y-%m-%d %H:%M} ({dated.date.source}); {done}."
            )
    for proof in seen.proofs:
        reached = "reached" if proof.reached else "not reached"
        answer(
            f"Strength shown {proof.shown_mpa:g} MPa, needed {proof.needed_mpa:g} MPa: {reached} ({proof.source})."
        )
    if isinstance(seen.plans, Refusal):
        answer(f"Order of taking away, by loads: {seen.plans.say}")
    else:
        for plan in seen.plans:
            tell_removal(plan)
    for floor in seen.floors:
        answer(f"{floor.says} {floor.state.upper() if floor.state in _WRONG else floor.state}.")
    answer("Order of taking away, in general: " + " ".join(seen.removal))
    for level in seen.levels:
        e = level.entry
        answer(
            f"{e.what} {e.place}: {e.off_mm:+g} ± {e.uncertainty_mm:g} mm, {level.verdict}, allowed {bounds_text(level.bounds)}."
        )
    for lack in seen.missing:
        answer(f"LACKS {lack.says} (for: {lack.who})")
    if seen.after.closed_by and seen.after.closed_at is not None:
        answer(
            f"The record was closed by {seen.after.closed_by} on {seen.after.closed_at.astimezone():%Y-%m-%d %H:%M}."
        )
    elif not seen.missing:
        answer("Nothing lacks: a reviewer or the engineer of record may close it with --finish.")
