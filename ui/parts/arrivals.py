"""Photos on their way into the record: one list for all visitors of the page, and the workers that measure them."""

from __future__ import annotations

from pathlib import Path

import streamlit as st

from verifier.pipeline.intake.arriving import Arrivals
from verifier.pipeline.measurement.measuring import StandingWorkers


@st.cache_resource(show_spinner=False)
def workers() -> StandingWorkers:
    """The processes that measure; they stay as long as the page runs.

    Returns:
        The workers, started when first needed.
    """
    return StandingWorkers()


def arrivals_of(folder: Path) -> Arrivals:
    """Photos on their way into the record of a pour.

    Args:
        folder: The pour folder.

    Returns:
        The one list of this folder.
    """
    return _arrivals(str(folder))


@st.cache_resource(show_spinner=False)
def _arrivals(folder: str) -> Arrivals:
    return Arrivals(Path(folder), workers())
