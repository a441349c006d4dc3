"""The list of commands as a person meets them on the job: from the drawing to the record that is checked years later."""

from __future__ import annotations

from typing import Any, Final

from typer.core import TyperGroup

STAGES: Final[dict[str, tuple[str, ...]]] = {
    "First look": ("demo",),
    "Before the walk": ("new", "board", "issue", "calibrate"),
    "On the deck": ("add", "tape", "rounds", "answer", "answers", "event", "falsework"),
    "Concrete": ("order", "mix", "weather", "log"),
    "Decision": ("check", "page", "enrol", "revoke", "release", "card"),
    "Afterwards": ("close",),
    "The record": ("timeline", "head", "stamp", "clock", "seal", "audit"),
    "One photo, no pour": ("measure", "distance"),
    "Who uses the page": ("account",),
}
"""Stage of the job -> its commands, in the order in which they are needed."""


class ByStage(TyperGroup):
    """Commands listed by the stage of the job, each with its whole first sentence.

    The types of a context and a formatter are no public names of typer, hence ``Any``.
    """

    def list_commands(self, ctx: Any) -> list[str]:
        """Name the commands, stage by stage.

        Args:
            ctx: Of the command line.

        Returns:
            All names; one that no stage holds comes last.
        """
        staged = [name for names in STAGES.values() for name in names if name in self.commands]
        return [*staged, *(name for name in super().list_commands(ctx) if name not in staged)]

    def format_commands(self, ctx: Any, formatter: Any) -> None:
        """Write one short list a stage.

        Args:
            ctx: Of the command line.
            formatter: Takes the text.
        """
        for stage, names in STAGES.items():
            with formatter.section(stage):
                formatter.write_dl(
                    [(name, (self.commands[name].help or "").partition("\n\n")[0]) for name in names]
                )
