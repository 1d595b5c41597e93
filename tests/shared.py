"""What several modules of tests use: the example wagon's circuit, and short ways to look at an answer."""

from __future__ import annotations

import xml.etree.ElementTree as ET
from typing import Any

from sumpwise import Circuit, Sheet, budget, check_text

SVG = "{http://www.w3.org/2000/svg}"


def wagon(**changed: Any) -> Circuit:
    """The example wagon's circuit."""
    given = {
        "sump": "3.9 L", "converter": "2.45 L", "cooler": "0.62 L", "clutches": "0.83 L", "pockets": "1.05 L", "sump_floor": "1.6 L",
        "bypass": 0.35, "clutch_circulation": 0.25, "pocket_circulation": 0.017,
    }  # fmt: skip
    return Circuit(**(given | changed))


def said(sheet: Sheet, key: str) -> str:
    """The lines of a section of a sheet."""
    return " ".join(sheet.section(key).lines)


def grades(text: str) -> list[str]:
    """What is found in a text: how badly each number is off, or the verdict on it."""
    return [finding.grade or finding.verdict for finding in check_text(text)]


def contributions(volume: Any) -> dict[str, float]:
    """What each source adds to a volume, in litres."""
    return {row.name: row.contribution.m_as("L") for row in budget(volume).rows}


def texts(svg: str) -> list[str]:
    """The texts of a picture."""
    return [element.text or "" for element in ET.fromstring(svg).iter(f"{SVG}text")]
