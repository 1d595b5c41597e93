"""The circuit of compartments: its state, how fluid flows through it, and the history of operations."""

from sumpwise.mixing.circuit.model import Circuit as Circuit

__all__ = ["Circuit"]
