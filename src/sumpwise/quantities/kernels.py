"""A kernel at work: run on internal values that may be plain numbers, arrays or uncertain, with what is uncertain carried through."""

from __future__ import annotations

from sumpwise.errors import RangeError, SumpwiseError
from sumpwise.quantities.magnitudes import has_objects

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Sequence
    from typing import Any, NoReturn


def evaluate(
    kernel: Callable[..., Any], values: list[Any], shares: tuple[bool, ...], judge: Callable[..., None] | None = None,
    counted: bool = False,
) -> Any:  # fmt: skip
    """What a kernel returns for internal values, some of which may be arrays or uncertain, with their uncertainty propagated.

    The kernel is elementwise, with one positional argument for each value; `shares` says of each of its answers whether it is a share of
    one. `judge` is called with the nominal values first, and raises if something is wrong. If the answer is `counted`, nominal values are
    all it depends on, and it has no uncertainty.
    """
    best, uncertain, arrays = apart(values, range(len(values)))
    return run(kernel, values, best, () if counted else uncertain, arrays, shares, judge)


def apart(values: list[Any], unplain: Iterable[int]) -> tuple[list[Any], list[int], bool]:
    """Values without their uncertainty, the positions of those that have one, and whether any is an array."""
    best, uncertain, arrays = values[:], [], False
    for i in unplain:
        value = values[i]
        if hasattr(value, "nominal_value"):
            column = bool(getattr(value, "ndim", 0))
            arrays = arrays or column
            best[i] = value.nominal_value if column else float(value.nominal_value)
            uncertain.append(i)
        elif hasattr(value, "dtype"):
            arrays = True
            if has_objects(value):
                from sumpwise import uncertainty

                best[i] = uncertainty.nominals(value)
                uncertain.append(i)
    return best, uncertain, arrays


def run(
    kernel: Callable[..., Any], values: list[Any], best: list[Any], uncertain: Sequence[int], arrays: bool, shares: tuple[bool, ...],
    judge: Callable[..., None] | None = None,
) -> Any:  # fmt: skip
    """As `evaluate`, for values whose nominal parts are already known."""
    try:
        if not arrays:
            if judge is not None:
                judge(*best)
            return _propagation()(kernel, values, best, uncertain, shares) if uncertain else kernel(*best)
        import numpy

        from sumpwise import _blocks

        with numpy.errstate(all="ignore"):
            shape = None if uncertain else _blocks.alike(best)
            if shape is not None:
                return _blocks.elementwise(judged(kernel, judge), best, shape)
            best = list(map(_blocks.wide, best))
            if uncertain:
                if judge is not None:
                    judge(*best)
                return _propagation()(kernel, values, best, uncertain, shares)
            result = judged(kernel, judge)(*best)
            if isinstance(result, tuple):
                return tuple(_own_memory(part, best) for part in result)
            return _own_memory(result, best)
    except SumpwiseError:
        raise
    except (ArithmeticError, ValueError) as error:
        failed(kernel, error)


def judged(kernel: Callable[..., Any], judge: Callable[..., None] | None) -> Callable[..., Any]:
    """A kernel that first shows its values to a judge, who raises if something is wrong with them."""
    if judge is None:
        return kernel

    def asked(*values: Any) -> Any:
        judge(*values)
        return kernel(*values)

    return asked


def _propagation() -> Any:
    """The function `propagate`, imported when the first uncertain value comes."""
    global _propagate
    if _propagate is None:
        from sumpwise.uncertainty import propagate

        _propagate = propagate
    return _propagate


_propagate: Any = None


def _own_memory(answer: Any, values: list[Any]) -> Any:
    """The answer, copied if it shares memory with an array of the caller."""
    if getattr(answer, "ndim", 0):
        import numpy

        if any(getattr(v, "ndim", 0) and numpy.may_share_memory(answer, v) for v in values):
            return answer.copy()
    return answer


def failed(kernel: Any, error: Exception) -> NoReturn:
    """Say that a kernel has no answer for its arguments; what it says of them itself stays as it is."""
    if isinstance(error, SumpwiseError):
        raise error
    raise RangeError(f"{kernel.__name__} has no answer for these arguments: {error}", code="answer.none") from error
