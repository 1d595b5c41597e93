"""Uncertain numbers: how they are made, told apart, inspected and propagated through a computation."""

from __future__ import annotations

from sumpwise.uncertainty.columns import Column as Column
from sumpwise.uncertainty.columns import is_column as is_column
from sumpwise.uncertainty.columns import measurements as measurements
from sumpwise.uncertainty.propagation import AT_BOUND as AT_BOUND
from sumpwise.uncertainty.propagation import CURVED as CURVED
from sumpwise.uncertainty.propagation import STENCIL as STENCIL
from sumpwise.uncertainty.propagation import bends as bends
from sumpwise.uncertainty.propagation import derivative as derivative
from sumpwise.uncertainty.propagation import propagate as propagate
from sumpwise.uncertainty.propagation import resulting as resulting
from sumpwise.uncertainty.propagation import spread_over as spread_over
from sumpwise.uncertainty.propagation import stride as stride
from sumpwise.uncertainty.sources import SHAPES as SHAPES
from sumpwise.uncertainty.sources import Deferred as Deferred
from sumpwise.uncertainty.sources import Doubtful as Doubtful
from sumpwise.uncertainty.sources import Source as Source
from sumpwise.uncertainty.sources import alone as alone
from sumpwise.uncertainty.sources import by_source as by_source
from sumpwise.uncertainty.sources import caution as caution
from sumpwise.uncertainty.sources import combine as combine
from sumpwise.uncertainty.sources import common as common
from sumpwise.uncertainty.sources import contributed as contributed
from sumpwise.uncertainty.sources import contributions as contributions
from sumpwise.uncertainty.sources import converted as converted
from sumpwise.uncertainty.sources import derivatives as derivatives
from sumpwise.uncertainty.sources import dof_of as dof_of
from sumpwise.uncertainty.sources import is_uncertain as is_uncertain
from sumpwise.uncertainty.sources import new_uid as new_uid
from sumpwise.uncertainty.sources import nominal as nominal
from sumpwise.uncertainty.sources import nominals as nominals
from sumpwise.uncertainty.sources import shape_of as shape_of
from sumpwise.uncertainty.sources import shared as shared
from sumpwise.uncertainty.sources import source as source
from sumpwise.uncertainty.sources import standard as standard
from sumpwise.uncertainty.sources import standards as standards
