"""Who decides on which pour, and what is told once something was signed."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

import streamlit as st

from ui import words
from ui.parts import plain
from ui.parts.pour import DRAFTS, Open
from verifier.errors import VerifierError
from verifier.pipeline.decision.check import Check, check
from verifier.pipeline.people.acting import Act
from verifier.record.people import principal_of

SAID = "decision-said"
Done = tuple[str, Path | None]
"""What is told after signing, and the document if one was set."""


@dataclass(frozen=True, slots=True)
class Desk:
    """The pour, and who decides on it."""

    at: Open
    person: str

    @property
    def act(self) -> Act:
        """The person, now."""
        return Act(self.person, datetime.now().astimezone())

    @property
    def draft(self) -> Path:
        """Where the text that is being read is kept until it is signed."""
        return self.at.folder / DRAFTS / principal_of(self.person) / "release.json"

    def fresh(self, now: Act) -> Check:
        """Check the pour once more, as it stands in the moment of signing.

        Args:
            now: The person, now.

        Returns:
            The check.
        """
        return check(self.at.folder, at=now.at)


def told() -> None:
    """Show once what was signed just now, with the document to take along."""
    said = st.session_state.pop(SAID, None)
    if said is None:
        return
    text, document = said
    plain.notice(None, words.SIGNED, text)
    if document is not None:
        st.download_button(
            words.RELEASE_DOCUMENT, document.read_bytes(), document.name, "application/pdf", width="stretch"
        )


def signed(sign: Callable[[], Done]) -> None:
    """Sign, tell what became of it, and show the pour anew.

    Args:
        sign: Puts it into the record.
    """
    try:
        st.session_state[SAID] = sign()
    except VerifierError as error:
        not_signed(error)
        return
    st.rerun()


def not_signed(error: VerifierError) -> None:
    """Say why nothing was signed.

    Args:
        error: What is wrong and what to do.
    """
    plain.fault(words.NOT_SIGNED, error, where=False)
