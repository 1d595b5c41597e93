"""The whole job: what to buy, which method, step by step, what the log says, when to stop."""

from sumpwise import _face

TYPE_CHECKING = False
if TYPE_CHECKING:
    from sumpwise.service.job import Job as Job
    from sumpwise.service.planning import plan as plan
    from sumpwise.service.sheet import Sheet as Sheet

__getattr__, __dir__, __all__ = _face.lazy(__name__)
