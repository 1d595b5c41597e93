"""The sentences of a sheet, one folder per language; the first language is the default."""

from __future__ import annotations

from sumpwise.service.words.english import catalogue

__all__ = ["catalogue"]
