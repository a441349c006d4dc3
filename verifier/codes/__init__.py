"""Published limits as data files with clause, edition and provenance, and a thin loader."""
