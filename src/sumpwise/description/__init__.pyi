from sumpwise.description.checking import check_text as check_text

__all__ = [
    "check_text",
]
