"""All methods, in the order in which they are shown."""

from __future__ import annotations

from sumpwise.service.methods.bursts import Bursts
from sumpwise.service.methods.drains import ONCE, THRICE, YEARLY, Nothing
from sumpwise.service.methods.machine import After, Machine, Plug
from sumpwise.service.methods.method import Method

METHODS: tuple[Method, ...] = (Nothing(), ONCE, THRICE, YEARLY, Bursts(), Machine(), Plug(), After())
BY_KEY = {method.key: method for method in METHODS}
