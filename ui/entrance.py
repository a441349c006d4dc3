"""The entrance of the page: where accounts are kept, nothing but the log-in form is given out without a visit.

The form is plain HTML without a script, so that passphrase keepers and screen readers know it; the visit is a cookie that
no script can read. Streamlit's own pages, uploads, pictures and its connection lie behind it.
"""

from __future__ import annotations

from collections.abc import Callable, MutableMapping
from datetime import datetime
from html import escape
from types import ModuleType
from typing import Any, Final
from urllib.parse import parse_qs, quote, urlsplit

from anyio import CapacityLimiter, to_thread
from starlette.datastructures import MutableHeaders
from starlette.requests import HTTPConnection, Request
from starlette.responses import HTMLResponse, RedirectResponse, Response
from starlette.routing import Route

from ui.parts.visits import COOKIE, book, provider_is_set
from ui.words import LANGUAGES
from ui.words.sentences import said_in
from verifier.accounts.book import Book, Tried
from verifier.errors import BadInput

PATH: Final = "/log-in"
FREE: Final = (
    PATH,
    "/_stcore/health",
    "/_stcore/host-config",
    "/_stcore/allowed-message-origins",
    "/static/",
    "/favicon",
)
"""What is given out to everybody: the form, signs of life, and the files that every such page has alike."""

AT_ONCE: Final = 2
"""Passphrases looked at at the same time; each takes 64 MiB and some tenths of a second."""

LONGEST_FORM: Final = 20_000

_HEADERS: Final = {
    "Cache-Control": "no-store",
    "Content-Security-Policy": "default-src 'none'; style-src 'unsafe-inline'; form-action 'self'; frame-ancestors 'none'; "
    "base-uri 'none'",
    "Referrer-Policy": "same-origin",
    "X-Content-Type-Options": "nosniff",
}
_STYLE: Final = """
body {font: 17px/1.5 "Source Sans", "Source Sans 3", system-ui, sans-serif; color: #1c1f24; background: #fff; margin: 0}
main {max-width: 26rem; margin: 0 auto; padding: 1.5rem 1rem 4rem}
h1 {font-size: 1.6rem; margin: 0 0 .5rem}
label {display: block; margin: 1rem 0 .25rem}
input {box-sizing: border-box; width: 100%; min-height: 3rem; font: inherit; padding: .4rem .8rem; border: 1px solid #6b7280;
  border-radius: .3rem}
button {width: 100%; min-height: 3rem; margin-top: 1.5rem; font: inherit; font-weight: 600; color: #fff; background: #00507d;
  border: 0; border-radius: .3rem}
[role=alert] {border: 1px solid #c9ced6; border-left: 6px solid #d55e00; border-radius: .3rem; padding: .6rem .8rem; margin: 1rem 0}
:focus-visible {outline: 3px solid #00507d; outline-offset: 2px}
"""
_TURNS: Final = CapacityLimiter(AT_ONCE)
Scope = MutableMapping[str, Any]


class Gate:
    """Lets through who has a visit, and sends everybody else to the form.

    Args:
        app: The page behind it.
    """

    def __init__(self, app: Callable[..., Any]) -> None:
        self._app = app

    async def __call__(self, scope: Scope, receive: Any, send: Any) -> None:
        """Handle one request or connection."""
        if scope["type"] in ("http", "websocket") and not await self._open_to(scope):
            await self._turned_away(scope, receive, send)
            return
        await self._app(scope, receive, _framed_by_nobody(send) if scope["type"] == "http" else send)

    async def _open_to(self, scope: Scope) -> bool:
        kept = book()
        if kept is None or not kept.begun or provider_is_set():
            return True
        if scope["type"] == "http" and str(scope["path"]).startswith(FREE):
            return True
        token = HTTPConnection(scope).cookies.get(COOKIE, "")
        # An idle visit is let through: the page itself asks for the passphrase and keeps what was typed.
        return await to_thread.run_sync(lambda: kept.visit(token, _now())) is not None

    async def _turned_away(self, scope: Scope, receive: Any, send: Any) -> None:
        if scope["type"] == "websocket":
            await receive()
            await send({"type": "websocket.close", "code": 1008})
            return
        request = Request(scope)
        asks_for_page = request.method == "GET" and "text/html" in request.headers.get("accept", "")
        query = f"?{request.url.query}" if request.url.query else ""
        answer = (
            RedirectResponse(f"{PATH}?next={quote(request.url.path + query)}", 303, _HEADERS)
            if asks_for_page
            else Response(status_code=401, headers=_HEADERS)
        )
        await answer(scope, receive, send)


def _framed_by_nobody(send: Any) -> Any:
    """Forbid other pages to lay this one under their own, where a touch meant for them would land here."""

    async def sent(message: MutableMapping[str, Any]) -> None:
        if message["type"] == "http.response.start":
            MutableHeaders(scope=message).setdefault("X-Frame-Options", "DENY")
        await send(message)

    return sent


async def log_in(request: Request) -> Response:
    """Show the form, or take what was typed into it.

    Args:
        request: GET shows it; POST carries ``name``, ``passphrase`` and ``next``.

    Returns:
        The form, or the way on with the cookie of the visit.
    """
    kept, words = book(), _words(request)
    if kept is None or not kept.begun:
        return RedirectResponse("/", 303, _HEADERS)
    if request.method == "GET":
        return _form(words, way_on(request.query_params.get("next", "/")))
    if urlsplit(request.headers.get("origin", "")).netloc != request.headers.get("host"):
        return _form(words, "/", words.LOG_IN_ELSEWHERE_SENT, status=403)
    body = b""
    async for piece in request.stream():
        body += piece
        if len(body) > LONGEST_FORM:
            return _form(words, "/", words.LOG_IN_WRONG, status=413)
    typed = {k: v[0] for k, v in parse_qs(body.decode("utf-8", "replace"), keep_blank_values=True).items()}
    name, target = typed.get("name", ""), way_on(typed.get("next", "/"))
    try:
        tried = await to_thread.run_sync(_tried, kept, name, typed.get("passphrase", ""), limiter=_TURNS)
        if tried.name is None:
            return _form(words, target, _told(words, tried), name=name, status=401)
        answer = RedirectResponse(target, 303, _HEADERS)
        https = "https" in (request.url.scheme, request.headers.get("x-forwarded-proto"))
        # Lax and not Strict: a link in a mail must find the visit that is there.
        answer.set_cookie(
            COOKIE,
            kept.begin(tried.name, _now()),
            httponly=True,
            samesite="lax",
            secure=https,
        )
        return answer
    except BadInput as error:
        return _form(
            words, target, said_in(_language(words), f"{error.wrong} {error.todo}"), name=name, status=503
        )


ROUTES: Final = (Route(PATH, log_in, methods=["GET", "POST"]),)


def way_on(target: str) -> str:
    """Take only a way on within this page.

    Args:
        target: Where to go, as the address or the form says.

    Returns:
        The same if it is a path here, else the start.
    """
    plain = target.startswith("/") and not target.startswith(("//", "/\\")) and target.isprintable()
    return target if plain and "\\" not in target and not target.startswith(PATH) else "/"


def _tried(kept: Book, name: str, passphrase: str) -> Tried:
    return kept.try_passphrase(name, passphrase, _now())


def _told(words: ModuleType, tried: Tried) -> str:
    if tried.again is None:
        return str(words.LOG_IN_WRONG)
    return str(words.LOG_IN_WAIT.format(when=f"{tried.again:%H:%M:%S}"))


def _language(words: ModuleType) -> str:
    return next(key for key, book_of in LANGUAGES.items() if book_of is words)


def _words(request: Request) -> ModuleType:
    asked = [part.strip()[:2].lower() for part in request.headers.get("accept-language", "").split(",")]
    return LANGUAGES[next((name for name in asked if name in LANGUAGES), "en")]


def _form(
    words: ModuleType, target: str, told: str = "", *, name: str = "", status: int = 200
) -> HTMLResponse:
    alert = f'<p role="alert">{escape(told)}</p>' if told else ""
    language = _language(words)
    text = f"""<!doctype html>
<html lang="{language}"><head><meta charset="utf-8"><meta name="viewport" content="width=device-width, initial-scale=1">
<title>{escape(words.LOG_IN)} · {escape(words.TITLE)}</title><style>{_STYLE}</style></head>
<body><main><h1>{escape(words.TITLE)}</h1><p>{escape(words.LOG_IN_SAYS)}</p>{alert}
<form method="post" action="{PATH}"><input type="hidden" name="next" value="{escape(target)}">
<label for="name">{escape(words.LOG_IN_NAME)}</label>
<input id="name" name="name" value="{escape(name)}" autocomplete="username" autocapitalize="none" required{"" if name else " autofocus"}>
<label for="passphrase">{escape(words.LOG_IN_PASSPHRASE)}</label>
<input id="passphrase" name="passphrase" type="password" autocomplete="current-password" required{" autofocus" if name else ""}>
<button>{escape(words.LOG_IN)}</button></form></main></body></html>"""
    return HTMLResponse(text, status, _HEADERS)


def _now() -> datetime:
    return datetime.now().astimezone()
