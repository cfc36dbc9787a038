"""PURE. The files of a programme's folder, one reader for each."""
