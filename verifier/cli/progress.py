"""A progress bar on stderr, so that stdout stays for the answer."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

from rich.console import Console
from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn, TimeRemainingColumn

from verifier.pipeline.measurement.measuring import Progress as Told


@contextmanager
def progress(words: str) -> Iterator[Told]:
    """Show a bar while something goes on.

    Args:
        words: What is going on.

    Yields:
        A function to call with photos done, photos in all and the name of the last one.
    """
    columns = (
        TextColumn("{task.description}"),
        BarColumn(),
        MofNCompleteColumn(),
        TimeRemainingColumn(),
        TextColumn("{task.fields[last]}"),
    )
    with Progress(*columns, console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task(words, total=None, last="")

        def tell(done: int, total: int, name: str) -> None:
            bar.update(task, completed=done, total=total, last=name)

        yield tell
