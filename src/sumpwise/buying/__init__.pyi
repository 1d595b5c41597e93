from sumpwise.buying.packs import cheapest_packs as cheapest_packs
from sumpwise.buying.packs import give_leftovers as give_leftovers
from sumpwise.buying.quotes import check_claim as check_claim
from sumpwise.buying.quotes import claim_bounds as claim_bounds
from sumpwise.buying.quotes import cost_per_litre_year as cost_per_litre_year
from sumpwise.buying.quotes import cost_per_point as cost_per_point
from sumpwise.buying.shortfall import tolerable_negative_error as tolerable_negative_error

__all__ = [
    "cheapest_packs",
    "check_claim",
    "claim_bounds",
    "cost_per_litre_year",
    "cost_per_point",
    "give_leftovers",
    "tolerable_negative_error",
]
