from sumpwise.verification.entries import evidence as evidence
from sumpwise.verification.runner import verify as verify

__all__ = [
    "evidence",
    "verify",
]
