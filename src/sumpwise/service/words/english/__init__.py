"""Every sentence of a sheet in English: id -> text with `{slots}`, `{count#one|many}` and `**emphasis**`.

The sentences are in modules by subject. A translation is another folder with the same ids; a test keeps ids and slots equal to what the
facts ask for.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from types import MappingProxyType

from sumpwise.service.keys import Default, Doubt
from sumpwise.service.schema import LISTS, TABLES
from sumpwise.service.words.english import assumed, beyond, log, safety, small, ways, work
from sumpwise.service.words.english.columns import COLUMNS

PARTS = (small, ways, work, log, safety, assumed, beyond)
WORDS: dict[str, str] = {id_: text for part in PARTS for id_, text in part.WORDS.items()}


@cache
def catalogue() -> Mapping[str, str]:
    """All sentences, including the meanings and reasons of the schema."""
    words = WORDS | {f"{head}.means": meaning for head, meaning in COLUMNS.items()}
    for table, keys in (TABLES | LISTS).items():
        for name, key in keys.items():
            words[f"meaning.{table}.{name}"] = key.meaning
            words[f"find.{key.find}"] = key.find
            for taken in (key.default, key.doubt):
                if isinstance(taken, (Default, Doubt)):
                    words[f"reason.{taken.reason}"] = taken.reason
    return MappingProxyType(words | {f"reason.{reason}": reason for reason in assumed.REASONS})
