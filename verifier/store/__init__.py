"""Database and file storage behind one small face: originals under their hash, ledger rows that only grow."""

from verifier.store.folder import PourFolder
from verifier.store.objects import Objects, Sweep, sha256_of
from verifier.store.rows import Rows

__all__ = ["Objects", "PourFolder", "Rows", "Sweep", "sha256_of"]
