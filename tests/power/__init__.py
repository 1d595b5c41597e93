"""The power of the check values: plausible wrong formulas, and whether a check value rejects each."""
