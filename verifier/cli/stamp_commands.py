"""Commands on time: stamps of an authority, and a clock that was put right."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from verifier.cli.options import At, Folder, Person, answer, app, moment_of
from verifier.errors import BadInput


@app.command()
def stamp(
    folder: Folder,
    request_out: Annotated[
        Path | None,
        typer.Option("--request-out", help="Write the request (.tsq) for an authority, to carry by hand."),
    ] = None,
    response_in: Annotated[
        Path | None, typer.Option("--response-in", help="The authority's response (.tsr) to such a request.")
    ] = None,
    head: Annotated[
        Path | None,
        typer.Option(
            "--head", help="Head that was stamped; beside the response, ending .head, if not given."
        ),
    ] = None,
    url: Annotated[
        str | None, typer.Option("--url", help="Address of an authority; that of the pour if not given.")
    ] = None,
    certificates: Annotated[
        Path | None, typer.Option("--certificates", help="The authority's certificates (PEM), root included.")
    ] = None,
    at: At = None,
) -> None:
    """Have an authority stamp the time of the record's head: over the network, or by a request carried by hand."""
    from verifier.pipeline.sealing import stamping as room

    moment, configured = moment_of(at), room.authority_of(folder)
    if request_out is not None:
        asked = room.ask_stamp(folder, request_out, moment)
        answer(
            f"Wrote {asked.request} for the authority, and {asked.head}, the head that it is over: keep it until the response "
            f"is back.\nThen: verifier stamp {folder} --response-in RESPONSE.tsr --head {asked.head} --certificates FILE.pem"
        )
        return
    chain = certificates or (configured.certificates if configured is not None else None)
    address = url or (configured.url if configured is not None else None)
    if chain is None or (response_in is None and address is None):
        raise BadInput(
            "It is not said which authority to ask, or which certificates to trust.",
            where="stamp",
            todo=f"Give --url and --certificates, or write both into {room.AUTHORITY_FILE} in the pour folder; "
            "without a network use --request-out.",
        )
    if response_in is not None:
        record = room.take_stamp(folder, response_in, chain, moment, head=head)
    else:
        record = room.fetch_and_record(folder, room.Authority(str(address), chain), moment)
    size = str(record.body["checkpoint"]).split("\n")[1]
    answer(
        f"In the record: {record.body['authority']} says that records 1 to {size} existed on {record.body['instant']}, "
        f"record {record.seq}."
    )


@app.command()
def clock(folder: Folder, person: Person = None, at: At = None) -> None:
    """Record that this device's clock ran ahead and was put right, so that work can go on; the audit points at it."""
    from verifier.drawing.read import read_pour
    from verifier.pipeline.people.acting import Act, who_adds
    from verifier.pipeline.people.clock import clock_put_right

    who = who_adds(read_pour(folder), person)
    record = clock_put_right(folder, Act(who, moment_of(at)))
    answer(f"In the record: the clock reads {record.body['clock_reads']} now, record {record.seq}.")
