"""Choices that the URL keeps, so that a link or a reload leads back to the same view."""

from __future__ import annotations

from collections.abc import Mapping

import streamlit as st


def choice(label: str, options: Mapping[str, str], *, key: str, default: str) -> str:
    """Ask for one of a few things, side by side; the URL keeps it.

    Args:
        label: One of the page's own words.
        options: What stands in the URL, and one of the page's own words for it.
        key: Name in the URL.
        default: The one that stands without a choice; it is left out of the URL.

    Returns:
        The one chosen. What the URL says is used only if it is among the options.
    """
    start(key, tuple(options), default)
    chosen = st.segmented_control(
        label,
        tuple(options),
        required=True,
        format_func=lambda name: options[name],
        key=key,
        wrap=True,
        label_visibility="collapsed",
    )
    return keep(key, chosen, default)


def start(key: str, options: tuple[str, ...], default: str) -> None:
    """Set a widget to what the URL says, when the view is first shown or its choice is gone.

    Args:
        key: Name in the URL and of the widget.
        options: What may be chosen.
        default: What stands otherwise.
    """
    if st.session_state.get(key) not in options:
        asked = st.query_params.get(key)
        st.session_state[key] = asked if asked in options else default


def keep(key: str, chosen: str | None, default: str) -> str:
    """Write a choice into the URL.

    Args:
        key: Name in the URL.
        chosen: What was chosen.
        default: What is left out of the URL.

    Returns:
        The choice.
    """
    value = default if chosen is None else chosen
    if value == default:
        st.query_params.pop(key, None)
    elif st.query_params.get(key) != value:
        st.query_params[key] = value
    return value
