"""What runs the page: the views behind the entrance, with all that they need at hand before the first visitor comes."""

from __future__ import annotations

from importlib import import_module
from pkgutil import walk_packages

from starlette.middleware import Middleware
from streamlit.starlette import App

from ui import parts
from ui.entrance import ROUTES, Gate

for part in walk_packages(parts.__path__, f"{parts.__name__}."):
    import_module(part.name)

app = App("app.py", routes=ROUTES, middleware=[Middleware(Gate)])
