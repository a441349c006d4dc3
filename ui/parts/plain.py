"""Text from elsewhere, shown as text: nothing in it can run, link or fetch."""

from __future__ import annotations

import base64
import string
from collections.abc import Iterable, Sequence
from html import escape

import streamlit as st

from ui import words
from verifier.errors import VerifierError
from verifier.report.figures import COLOUR, INK, QUIET, Verdict, verdict_mark
from verifier.rules.requirement import Source

_ANYWHERE = "overflow-wrap:anywhere;unicode-bidi:isolate"


def paragraph(text: str, *, quiet: bool = False, strong: bool = False) -> None:
    """Show a line of text as it is.

    Args:
        text: Any text.
        quiet: Smaller and greyer, for what stands behind.
        strong: Heavier, for what matters.
    """
    style = f"margin:0 0 .35rem 0;{_ANYWHERE};"
    style += f"color:{QUIET};font-size:.9rem;" if quiet else ""
    style += "font-weight:650;" if strong else ""
    st.html(f'<p style="{style}">{escape(shown(text))}</p>')


def title(text: str) -> None:
    """Show the heading of a view.

    Args:
        text: Any text.
    """
    st.html(f'<h1 style="{_ANYWHERE}">{escape(shown(text))}</h1>')


def lines(text: str) -> None:
    """Show a text line by line in letters of one width, as it is signed or typed.

    Args:
        text: Any text.
    """
    st.html(
        f'<pre style="white-space:pre-wrap;{_ANYWHERE};font-size:.9rem;background:#f3f5f7;border:1px solid #c9ced6;'
        f'border-radius:.3rem;padding:.7rem .9rem;margin:0 0 .35rem 0">{escape(shown(text))}</pre>'
    )


def labelled(label: str, text: str) -> None:
    """Show a short label and a text beside it.

    Args:
        label: One of the page's own words.
        text: Any text.
    """
    st.html(
        f'<p style="margin:0 0 .35rem 0;{_ANYWHERE}">'
        f'<span style="color:{QUIET}">{escape(label)}: </span>{escape(shown(text))}</p>'
    )


def points(texts: Iterable[str]) -> None:
    """Show texts as a list.

    Args:
        texts: Any texts.
    """
    items = "".join(
        f'<li style="{_ANYWHERE};margin:0 0 .25rem 0">{escape(shown(text))}</li>' for text in texts
    )
    st.html(f'<ul style="margin:0;padding-left:1.2rem">{items}</ul>')


def pairs(rows: Sequence[tuple[str, str]]) -> None:
    """Show names and values in two columns.

    Args:
        rows: One of the page's own words, and any text.
    """
    body = "".join(
        f'<tr><th scope="row" style="text-align:left;font-weight:400;color:{QUIET};padding:.15rem .8rem .15rem 0;min-width:7.4rem;'
        f'vertical-align:top;border:0">{escape(name)}</th>'
        f'<td style="{_ANYWHERE};padding:.15rem 0;border:0;vertical-align:top;font-variant-numeric:tabular-nums">{escape(shown(text))}</td></tr>'
        for name, text in rows
    )
    st.html(f'<table style="border-collapse:collapse;border:0">{body}</table>')


def tiles(rows: Sequence[tuple[str, str]]) -> None:
    """Show a few values large, two beside each other on a phone.

    Args:
        rows: One of the page's own words, and any text.
    """
    body = "".join(
        f'<div style="border:1px solid #c9ced6;border-radius:.3rem;padding:.5rem .7rem;{_ANYWHERE}">'
        f'<span style="color:{QUIET};font-size:.9rem">{escape(name)}</span><br>'
        f'<strong style="font-size:1.35rem;font-variant-numeric:tabular-nums">{escape(shown(text))}</strong></div>'
        for name, text in rows
    )
    st.html(
        f'<div style="display:grid;grid-template-columns:repeat(auto-fit,minmax(9.2rem,1fr));gap:.5rem">{body}</div>'
    )


def marks(rows: Iterable[tuple[str, Verdict, str]]) -> None:
    """Show shapes in a row, each with its name; the state stands behind for those who can't see it.

    Args:
        rows: Name, verdict, and the state as one of the page's own words.
    """
    body = "".join(
        f'<span style="display:inline-flex;align-items:center;gap:.25rem;margin:0 .8rem .3rem 0;white-space:nowrap">'
        f"{mark(verdict, 1.2)}{escape(shown(name))}"
        f'<span style="position:absolute;left:-9999px"> {escape(said)}</span></span>'
        for name, verdict, said in rows
    )
    st.html(f'<div style="display:flex;flex-wrap:wrap">{body}</div>')


def verdict_line(verdict: Verdict, said: str, text: str) -> None:
    """Show a verdict by shape and word, then what it is about.

    Args:
        verdict: The verdict.
        said: The verdict in words.
        text: What it is about.
    """
    st.html(
        f'<div style="display:flex;gap:.6rem;align-items:flex-start">{mark(verdict)}'
        f'<div style="{_ANYWHERE}"><strong>{escape(shown(text))}</strong>'
        f'<br><span style="color:{QUIET}">{escape(said)}</span></div></div>'
    )


def notice(verdict: Verdict | None, title: str, text: str, where: str = "") -> None:
    """Show something that must be seen: a bar of colour, a shape, a title and a text.

    Args:
        verdict: What shape and colour it has; None for something that is no verdict.
        title: One of the page's own sentences.
        text: Any text.
        where: What it is about.
    """
    drawn = "" if verdict is None else mark(verdict, 1.7)
    about = f'<br><span style="color:{QUIET};font-size:.9rem">{escape(shown(where))}</span>' if where else ""
    st.html(
        f'<div role="status" style="display:flex;gap:.7rem;align-items:flex-start;border:1px solid #c9ced6;'
        f'border-left:6px solid {INK if verdict is None else COLOUR[verdict]};border-radius:.3rem;padding:.7rem .9rem;{_ANYWHERE}">'
        f"{drawn}<div><strong>{escape(title)}</strong><br>{escape(shown(text))}{about}</div></div>"
    )


def fault(title: str, error: VerifierError, *, verdict: Verdict = "inconclusive", where: bool = True) -> None:
    """Show what is wrong, what to do about it, and where, in the reader's language.

    Args:
        title: One of the page's own sentences.
        error: What was met.
        verdict: What shape and colour it has.
        where: Whether to say where; not in a form, where the person has just typed it.
    """
    about = words.said(error.where) if where else ""
    notice(verdict, title, f"{words.said(error.wrong)} {words.said(error.todo)}".rstrip(), about)


def source(of: Source) -> str:
    """Where a limit comes from, in one line and in the reader's language.

    Args:
        of: The source.

    Returns:
        Document, clause, how well it is known, and a note where there is one.
    """
    note = f": {words.said(of.note)}" if of.note else ""
    return f"{words.said(of.document)}, {words.said(of.clause)} ({words.said(of.status)}){note}"


def mark(verdict: Verdict, size_rem: float = 1.25) -> str:
    """The shape of a verdict as an image in a text.

    Args:
        verdict: The verdict.
        size_rem: Height and width, in the size of the page's letters.

    Returns:
        HTML.
    """
    drawn = f"<svg xmlns='http://www.w3.org/2000/svg' viewBox='0 0 20 20'>{verdict_mark(verdict, 10, 10, 8)}</svg>"
    size = f"width:{size_rem}rem;height:{size_rem}rem"
    return f'<img alt="" src="{image_source(drawn)}" style="{size};margin-top:.15rem;flex:none">'


def figure(svg: str, alt: str, *, most_px: int = 640) -> None:
    """Show a drawn figure with its text for those who can't see it.

    Args:
        svg: SVG text.
        alt: The same in words.
        most_px: Largest width on the page, px.
    """
    st.html(
        f'<img alt="{escape(shown(alt), quote=True)}" src="{image_source(svg)}" style="width:100%;max-width:{most_px}px">'
    )


def safe(text: str) -> str:
    """Any text, ready to stand inside HTML.

    Args:
        text: Any text.

    Returns:
        The text with every sign that HTML would read escaped.
    """
    return escape(shown(text), quote=True)


def shown(text: str) -> str:
    """Make signs that turn the direction of writing visible, so that a name can't pose as another.

    Args:
        text: Any text.

    Returns:
        The text, each such sign and each control sign replaced by its number.

    Source:
        Unicode Standard Annex 9 (bidirectional formatting characters); Unicode Technical Report 36, 2.5.
    """
    return "".join(
        f"[U+{ord(c):04X}]" if c in _TURNS or (ord(c) < 32 and c not in "\n\t") else c for c in text
    )


def label(text: str) -> str:
    """Any text as the label of a button or a fold, which would read Markdown in it.

    Args:
        text: Any text.

    Returns:
        The text with every sign that Markdown could read escaped.

    Source:
        CommonMark 0.31, 2.4: any ASCII punctuation may be escaped by a backslash.
    """
    return "".join(f"\\{c}" if c in string.punctuation else c for c in shown(text).replace("\n", " "))


_TURNS = frozenset("\u061c\u200e\u200f\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")


def image_source(svg: str) -> str:
    """A drawn figure as the address of an image: an image can neither run nor fetch anything.

    Args:
        svg: SVG text.

    Returns:
        A data address.
    """
    return "data:image/svg+xml;base64," + base64.b64encode(svg.encode()).decode()
