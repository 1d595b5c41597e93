"""The check of a description: megabytes a second, and linear growth."""

from __future__ import annotations

from timing import Row, once, peak

from sumpwise import check_text

PARAGRAPH = (
    "First I drained 3.6 L (3.8 US qt) through the plug, then tightened it to 34 N·m (25 ft-lb). The pan took 0.41 L more. "
    "After a drive of 12 km at 80 °C (176 °F) the stick read 5 mm over the mark, so nothing was poured. Thanks for watching, and mind the "
    "hot fluid, the stands and the chocks. There is nothing to be read in most of a text, which is words and again words.\n"
)


PROSE = "There is nothing to be read in most of a text, which is words and again words. Thanks for watching, and mind the hot fluid.\n"


def rows() -> list[Row]:
    small, large = PARAGRAPH * 300, PARAGRAPH * 1200
    taken = [min(once(lambda text=text: check_text(text), 1) for _ in range(3)) for text in (small, large)]
    rate = len(large.encode()) / 1e6 / taken[1]
    dense = ", ".join(f"{count / 100} L" for count in range(100, 100_000))
    prose = PROSE * 8000
    rates = [len(text) / 1e6 / min(once(lambda text=text: check_text(text), 1) for _ in range(3)) for text in (dense, prose)]
    held = [peak(lambda text=text: check_text(text)) for text in (dense, prose, large)]
    return [
        Row("description check: seconds for a megabyte of numbers side by side", 0.5, 1 / rates[0], 1 / rates[0], 1 / rates[0], "s",
            held[0]),
        Row("description check: seconds for a megabyte of prose", 0.125, 1 / rates[1], 1 / rates[1], 1 / rates[1], "s", held[1]),
        Row(f"description check: seconds for a megabyte (1 / {rate:.2g} MB/s)", 1.0, 1 / rate, 1 / rate, taken[1], "s", held[2]),
        Row("description check: time for four times the text", 6.0, taken[1] / taken[0], taken[1] / taken[0], taken[1], memory=held[2]),
    ]  # fmt: skip
