"""A synthetic fleet: as many machines over as many years as asked, written in bulk.

It is for measuring how pages and lists bear many machines and for testing estimators against a
truth that is known. Everything is invented and drawn from one seed, by the steps that
`alignment.sandbox.demo.steps` names in order. Unlike the demo it does not go through the services:
no digest of a signed record is listed, and one page stands for all statements of a firm.
"""

from .scene import Asked, Fleet, make_fleet

__all__ = ["Asked", "Fleet", "make_fleet"]
