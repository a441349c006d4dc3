"""The pours of this folder: how each stands, and the way into it."""

from __future__ import annotations

from ui.parts import visits, where
from ui.parts.review import queue

queue.show(where.several(), visits.person())
