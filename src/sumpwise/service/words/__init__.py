"""The sentences of a sheet, by language: one folder each, of which the first speaks where none is asked for."""

from __future__ import annotations

from sumpwise.service.words.english import catalogue

__all__ = ["catalogue"]
