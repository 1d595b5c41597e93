"""A form in a garage app, answered in twenty lines: any text in, plain JSON out."""

from __future__ import annotations

import json
import sys

from sumpwise import SumpwiseError, cheapest_packs, drain_refill, drains_needed


def answer(form: dict[str, str]) -> dict[str, object]:
    """The answer to the form, or which field is wrong and how to fix it."""
    try:
        drained, capacity = form.get("drained"), form.get("capacity")
        fresh = drain_refill(drained, capacity, times=form.get("times", 1))
        bought = cheapest_packs({"5 L": 46.50, "1 L": 9.90}, form.get("need"))
        return {
            "fresh": round(getattr(fresh, "nominal_value", fresh), 3),
            "u_fresh": round(getattr(fresh, "std_dev", 0.0), 3),
            "drains_to_90": drains_needed(drained, capacity, "90 %"),
            "buy": str(bought),
        }
    except SumpwiseError as error:
        return {"field": error.argument, "code": error.code, "problem": error.problem, "hint": error.hint or error.allowed}


if __name__ == "__main__":
    print(json.dumps(answer(dict(word.split("=", 1) for word in sys.argv[1:])), ensure_ascii=False))
