"""What a sheet has to say, section by section: numbers and verdicts with stable ids, and no sentence."""
