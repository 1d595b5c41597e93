from sumpwise.service.cards import number_card as number_card
from sumpwise.service.differing import compare as compare
from sumpwise.service.drawing import draw_pictures as draw_pictures
from sumpwise.service.drawing import save_pictures as save_pictures
from sumpwise.service.job import Job as Job
from sumpwise.service.many import plan_many as plan_many
from sumpwise.service.planning import compare_methods as compare_methods
from sumpwise.service.planning import plan as plan
from sumpwise.service.record import ServiceRecord as ServiceRecord
from sumpwise.service.sheet import Sheet as Sheet

__all__ = [
    "Job",
    "ServiceRecord",
    "Sheet",
    "compare",
    "compare_methods",
    "draw_pictures",
    "number_card",
    "plan",
    "plan_many",
    "save_pictures",
]
