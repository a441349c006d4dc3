"""A small OpenID Connect provider that says at once who somebody is: enough of the standard for the page's log-in.

Source: OpenID Connect Core 1.0, 3.1 (authorization code flow), from memory.
"""

from __future__ import annotations

import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from typing import Any
from urllib.parse import parse_qs, urlencode

import uvicorn
from browser_page import free_port
from joserfc import jwt
from joserfc.jwk import KeySet, RSAKey
from starlette.applications import Starlette
from starlette.requests import Request
from starlette.responses import JSONResponse, RedirectResponse, Response
from starlette.routing import Route


@dataclass
class Provider:
    """The provider; ``claims`` is what it says of whoever comes next.

    Attributes:
        url: Its address.
        claims: Claims of the identity token besides those that every token has.
    """

    url: str
    claims: dict[str, Any] = field(default_factory=dict)


@contextmanager
def provider() -> Iterator[Provider]:
    """Run the provider.

    Yields:
        The provider.
    """
    port = free_port()
    here = Provider(f"http://localhost:{port}")
    key = RSAKey.generate_key(2048, {"kid": "test", "use": "sig", "alg": "RS256"})
    asked: dict[str, str] = {}

    async def settings(_: Request) -> Response:
        return JSONResponse(
            {
                "issuer": here.url,
                "authorization_endpoint": f"{here.url}/authorize",
                "token_endpoint": f"{here.url}/token",
                "jwks_uri": f"{here.url}/keys",
                "response_types_supported": ["code"],
                "subject_types_supported": ["public"],
                "id_token_signing_alg_values_supported": ["RS256"],
            }
        )

    async def authorize(request: Request) -> Response:
        q = request.query_params
        asked["nonce"] = q.get("nonce", "")
        return RedirectResponse(f"{q['redirect_uri']}?{urlencode({'code': 'one', 'state': q['state']})}", 302)

    async def token(request: Request) -> Response:
        assert parse_qs((await request.body()).decode())["code"] == ["one"]
        now = int(time.time())
        claims = {"iss": here.url, "aud": "page", "iat": now, "exp": now + 600, "nonce": asked["nonce"]}
        signed = jwt.encode({"alg": "RS256", "kid": "test"}, claims | here.claims, key)
        return JSONResponse(
            {"access_token": "x", "token_type": "Bearer", "expires_in": 600, "id_token": signed}
        )

    async def keys(_: Request) -> Response:
        return JSONResponse(KeySet([key]).as_dict(private=False))

    app = Starlette(
        routes=[
            Route("/.well-known/openid-configuration", settings),
            Route("/authorize", authorize),
            Route("/token", token, methods=["POST"]),
            Route("/keys", keys),
        ]
    )
    server = uvicorn.Server(uvicorn.Config(app, port=port, log_level="error"))
    thread = threading.Thread(target=server.run, daemon=True)
    thread.start()
    while not server.started:
        time.sleep(0.05)
    try:
        yield here
    finally:
        server.should_exit = True
        thread.join()
