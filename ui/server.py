"""What runs the page: the views behind the entrance."""

from __future__ import annotations

from starlette.middleware import Middleware
from streamlit.starlette import App

from ui.entrance import ROUTES, Gate

app = App("app.py", routes=ROUTES, middleware=[Middleware(Gate)])
