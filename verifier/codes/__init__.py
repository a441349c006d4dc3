"""Published limits as data files with clause, edition and provenance, and a thin loader."""

from verifier.codes.code import Code
from verifier.codes.limit import Limit, Status
from verifier.codes.load import known_codes, load_code

__all__ = ["Code", "Limit", "Status", "known_codes", "load_code"]
