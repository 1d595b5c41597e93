"""What to buy: the cheapest set of packs for a need, and where the leftover fluid can go."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Any, NamedTuple

from sumpwise.buying.covering import Covering
from sumpwise.errors import RangeError, SumpwiseError, UnitError, expect, listed, printable
from sumpwise.quantities.boundary import answer, argument
from sumpwise.quantities.magnitudes import best_of, inward, spread_of
from sumpwise.quantities.reading import Inside, Read, inside
from sumpwise.quantities.units import Unit, internal_unit

TYPE_CHECKING = False
if TYPE_CHECKING:
    from sumpwise.accepted import FractionLike, VolumeLike

LARGEST_PACK = 1_000_000
"""The most litres in one pack; anything larger is a typo."""
MOST_RISK = 0.5
_VOLUME, _NEED = argument("volume", scalar=True), argument("volume", minimum=0, scalar=True)
_SIZE = argument("volume", scalar=True, exact="put the uncertainty into the need")
_RISK = argument("fraction", minimum=0, maximum=MOST_RISK, scalar=True)
EXACT = Fraction(1, 10**12)
"""A need counts as met if at most this share of it is missing: 0.1 L + 0.2 L as floats is 0.3 L."""


class Pack(NamedTuple):
    """A pack on sale: nominal contents at 20 °C, price, and a name for the shopping list."""

    size: Any
    price: Any
    name: str = ""


@dataclass(frozen=True, slots=True)
class Purchase:
    """A set of packs.

    Attributes
    ----------
    cost : float
        Total cost, in the currency of the prices.
    count : int
        Number of packs.
    volume : Quantity
        Total contents, in the unit of the need.
    packs : dict of str to int
        How many of each, by name.
    probability_short : float
        Probability that the need is larger than the volume (normal distribution); 0 or 1 for a need without uncertainty.
    left_over : Quantity
        Volume minus need; uncertain if the need is.
    currency : str
        Only a label.
    next_up : Purchase or None
        The cheapest set that holds more than this one.
    cost_per_extra_litre : float or None
        Cost of each additional litre in `next_up`.
    litres : Quantity
        The volume in litres, with an exact ratio as its magnitude.
    """

    cost: float
    count: int
    volume: Any
    packs: dict[str, int]
    probability_short: float
    left_over: Any
    currency: str
    next_up: Purchase | None
    cost_per_extra_litre: float | None
    litres: Any

    def __str__(self) -> str:
        listed = " + ".join(f"{n} × {printable(name)}" for name, n in self.packs.items()) or "nothing"
        return f"{listed} = {self.cost:.2f}{' ' if self.currency else ''}{self.currency}"

    def __repr__(self) -> str:
        more = f"; next up {self.next_up}" if self.next_up else ""
        return f"<Purchase: {self}, {float(self.litres.magnitude):g} L, chance of running short {100 * self.probability_short:.2g} %{more}>"


def cheapest_packs(packs: Any, need: VolumeLike, risk: FractionLike = 0.05, currency: str = "") -> Purchase:
    """Find the cheapest set of packs for which the probability of running short is at most a given risk.

    Parameters
    ----------
    packs : mapping of size to price, or iterable of (size, price), (size, price, name) or tables with these keys
        Sizes as volumes (text or Quantity), of which any number can be bought; prices as numbers in one currency.
    need : volume
        What the job takes; an uncertain need is treated as normal with its standard uncertainty ("12.37(45) L" states it directly; the
        half-width of "12.37 ± 0.45 L" is 1.7 standard uncertainties).
    risk : fraction
        Accepted probability of running short, 0 to 0.5. It has no effect on an exact need.
    currency : str
        A label for the answer.

    Returns
    -------
    Purchase
        `.cost`, `.count`, `.volume`, `.packs`, `.probability_short`, `.left_over`, `.next_up`, `.cost_per_extra_litre`.

    Raises
    ------
    SumpwiseError
        For packs or a need that cannot be read, a risk of 0 with an uncertain need, or prices or sizes that are too finely divided.

    Notes
    -----
    An integer programme: minimise Σ nᵢ·priceᵢ subject to Σ nᵢ·sizeᵢ ≥ need + z·u, with z the normal quantile of 1 - risk. Among sets of
    equal cost, the one with less left over is chosen, then the one with fewer packs. Sizes are exact ratios of a litre and prices exact
    decimals, so quarts and litres combine without rounding, and the optimum is exact (dynamic programming, Martello and Toth, Knapsack
    Problems, 1990, chapter 3, by commensurable sizes).

    Examples
    --------
    >>> from sumpwise import cheapest_packs
    >>> bought = cheapest_packs({"5 L": 46.50, "1 L": 9.90}, "12.37(45) L")
    >>> print(bought, "|", bought.volume)
    2 × 5 L + 4 × 1 L = 132.60 | 14.0 liter
    >>> print(bought.next_up, "|", round(bought.cost_per_extra_litre, 2))
    3 × 5 L = 139.50 | 6.9
    """
    expect(currency, str, "currency")
    shelf = _shelf(packs)
    asker = _NEED.read(need, "need")
    litres_needed = asker.value
    standard = spread_of(litres_needed)
    best = Fraction(best_of(litres_needed)) if hasattr(litres_needed, "nominal_value") else _exact(asker)
    accepted = best_of(_RISK.value(risk, "risk"))
    required = best * (1 - EXACT)
    if standard:
        if accepted == 0:
            raise RangeError(
                "cannot be met: an uncertain need has no largest value", code="target.unreachable", argument="risk", value=risk,
                allowed="above 0",
            )  # fmt: skip
        from statistics import NormalDist

        required = best + Fraction(NormalDist().inv_cdf(1 - accepted) * standard)
    covering = Covering([p.size for p in shelf], [p.price for p in shelf], required)

    def purchase(counts: Sequence[int], more: Sequence[int] | None = None) -> Purchase:
        litres, cost = _total(shelf, counts)
        listed: dict[str, int] = {}
        for n, p in zip(counts, shelf, strict=True):
            if n:
                listed[p.name] = listed.get(p.name, 0) + n
        extra = None
        if more is not None:
            larger, dearer = _total(shelf, more)
            extra = float((dearer - cost) / (larger - litres))
        return Purchase(
            cost=float(cost),
            count=sum(counts),
            volume=_volume(litres, asker),
            packs=listed,
            probability_short=_short(best - litres, standard),
            left_over=answer(float(litres) - litres_needed, "volume", asker),
            currency=currency,
            next_up=None if more is None else purchase(more),
            cost_per_extra_litre=extra,
            litres=_built(litres, internal_unit("volume"), asker),
        )

    counts = covering.solve()
    return purchase(counts, covering.solve(beyond=counts))


def _volume(litres: Fraction, need: Read) -> Any:
    """An exact volume in the unit of the need: three quarts are 3.0 quart."""
    unit = need.unit or internal_unit("volume")
    return _built(float(litres * Fraction(unit.den, unit.num)), unit, need)


def _built(magnitude: Any, unit: Unit, need: Read) -> Any:
    if need.registry is Inside:
        return inside(inward(magnitude, unit), "volume")
    from sumpwise.quantities import _pint

    return _pint.build(magnitude, unit, need.registry)


def _total(shelf: Sequence[Pack], counts: Sequence[int]) -> tuple[Fraction, Fraction]:
    """Total litres and cost of a set, exactly."""
    bought = [(n, p) for n, p in zip(counts, shelf, strict=True) if n]
    return sum((n * p.size for n, p in bought), Fraction(0)), sum((n * p.price for n, p in bought), Fraction(0))


def _short(missing: Fraction, standard: float) -> float:
    """Probability that the need exceeds the volume."""
    return math.erfc(-float(missing) / (standard * math.sqrt(2))) / 2 if standard else float(missing > EXACT)


def _shelf(packs: Any) -> list[Pack]:
    """The packs with exact litres and exact prices."""
    if isinstance(packs, Mapping):
        packs = packs.items()
    shelf = []
    for number, pack in enumerate(listed(packs, "packs", "{'5 L': 46.50, …} or [('5 L', 46.50), …]"), 1):
        place = f"packs, {number}"
        if isinstance(pack, Mapping) and {"size", "price"} <= set(pack) <= {"size", "price", "name"}:
            pack = (pack["size"], pack["price"], pack.get("name", ""))
        if not isinstance(pack, (tuple, list)) or len(pack) not in (2, 3):
            raise UnitError("is not a pack", code="list.entry", argument=place, value=pack, allowed="(size, price) or (size, price, name)")
        size = _exact(_SIZE.read(pack[0], f"{place}, size"))
        if size <= 0:
            raise RangeError("must be above zero", code="range.outside", argument=f"{place}, size", value=pack[0])
        if size > LARGEST_PACK:
            raise RangeError(
                "is too large for a pack", code="range.outside", argument=f"{place}, size", value=pack[0],
                allowed="at most 1000000 L", limits=(0.0, LARGEST_PACK, "L"),
            )  # fmt: skip
        shelf.append(Pack(size, _price(pack[1], f"{place}, price"), str(pack[2]) if len(pack) == 3 and pack[2] else str(pack[0])))
    if not shelf:
        raise RangeError("is empty: no packs", code="list.empty", argument="packs", value=packs)
    return shelf


def _exact(read: Read) -> Fraction:
    """A volume as an exact ratio of a litre: a text as written, a magnitude by its shortest decimal."""
    written, unit = read.written, read.unit or internal_unit("volume")
    if written is not None:
        return Fraction(written.num * unit.num, written.den * unit.den)
    shown = read.value if read.registry is Inside else getattr(read.given, "magnitude", read.given)
    return Fraction(repr(float(shown))) * Fraction(unit.num, unit.den)


def _price(value: Any, place: str) -> Fraction:
    """A price as the decimal it is written as."""
    try:
        price = Fraction(str(value)) if not isinstance(value, bool) and len(str(value)) <= 40 else None
    except (ValueError, ZeroDivisionError):
        price = None
    if price is None:
        raise UnitError("is not a price", code="value.type", argument=place, value=value, allowed="a number such as 46.50")
    if price < 0:
        raise RangeError("is negative", code="range.outside", argument=place, value=value)
    return price


class Leftovers(NamedTuple):
    """Where the leftover fluid goes: volumes by component, what remains, and which components get none and why."""

    given: dict[str, Any]
    remaining: Any
    refused: dict[str, str]


def give_leftovers(left_over: VolumeLike, components: Iterable[Any], specification: str) -> Leftovers:
    """Allot leftover fluid to other components that take exactly the same fluid.

    Parameters
    ----------
    left_over : volume
        What is left of the purchase; if uncertain, only what is certain (best value minus two standard uncertainties) is given away.
    components : iterable of (name, volume, specification)
        In order of preference; a component is filled completely or not at all.
    specification : str
        Specification of the fluid at hand. It is compared as text: no fluid is ever called compatible here.

    Returns
    -------
    Leftovers
        `.given` (name -> volume), `.remaining`, `.refused` (name -> reason).

    Raises
    ------
    SumpwiseError
        For a missing specification or a component that cannot be read.

    Examples
    --------
    >>> from sumpwise import give_leftovers
    >>> cases = [("transfer case", "0.92 L", "example fluid 6"), ("rear axle", "0.7 L", "gear oil 75W-90")]
    >>> given = give_leftovers("1.6 L", cases, "Example fluid 6")
    >>> print({name: str(volume) for name, volume in given.given.items()}, given.remaining.round(2), given.refused)
    {'transfer case': '0.92 liter'} 0.68 liter {'rear axle': 'takes a different specification: gear oil 75W-90'}
    """
    wanted = _specification(specification, "specification")
    rest = _VOLUME.read(left_over, "left_over")
    sure = max(0.0, best_of(rest.value, -2))
    given: dict[str, Any] = {}
    refused: dict[str, str] = {}
    for number, component in enumerate(listed(components, "components", "(name, volume, specification) each"), 1):
        place = f"components, {number}"
        try:
            name, volume, takes = component
        except (TypeError, ValueError):
            raise UnitError(
                "is not a component", code="list.entry", argument=place, value=component, allowed="(name, volume, specification)"
            ) from None
        if not isinstance(name, str):
            raise RangeError("is not a name", code="argument.missing", argument=place, value=name)
        if name in given or name in refused:
            raise RangeError("appears twice", code="name.taken", argument=place, value=name)
        read = _NEED.read(volume, f"{place}, volume")
        litres = best_of(read.value, 2)
        if _specification(takes, f"{place}, specification") != wanted:
            refused[name] = f"takes a different specification: {takes}"
        elif litres > sure * (1 + 1e-12):
            refused[name] = "not enough is left to fill it"
        else:
            given[name] = answer(litres, "volume", read, rest)
            sure = max(0.0, sure - litres)
    return Leftovers(given, answer(sure, "volume", rest), refused)


def _specification(text: Any, place: str) -> str:
    if not isinstance(text, str) or not text.strip():
        raise SumpwiseError(
            "is missing: take it from the vehicle's own service information", code="specification.missing", argument=place, value=text
        )
    return " ".join(text.casefold().split())
