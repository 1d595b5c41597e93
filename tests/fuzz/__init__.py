"""Generated arguments for every public function: a finite answer or a sumpwise error, at once and in little memory.

    cd tests && python -m fuzz --cases 1000000 --seed 1

runs that many cases spread over all surfaces and prints a report; `--surface NAME --case N` repeats a single one.
"""
