"""The guided fuzzer needs atheris and is run by itself; the suite does not collect it."""

collect_ignore = ["guided.py"]
