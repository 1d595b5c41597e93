"""These are programs, not tests."""

collect_ignore_glob = ["*.py"]
