"""All methods, in the order in which they are shown."""

from __future__ import annotations

from sumpwise.service.methods import bursts, drains, machine
from sumpwise.service.methods.method import Method

METHODS: tuple[Method, ...] = (*drains.FAMILY, *bursts.FAMILY, *machine.FAMILY)
BY_KEY = {method.key: method for method in METHODS}
