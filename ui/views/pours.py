"""The pours of this folder: how each stands, and the way into it."""

from __future__ import annotations

from ui.parts import queue, visits, where

queue.show(where.several(), visits.person())
