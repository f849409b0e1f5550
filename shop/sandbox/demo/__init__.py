"""The demo: two invented shops, the firm that serves both, and two years of visits.

Everything is made through the services that the pages use, by the steps that
`alignment.sandbox.demo.steps` names in order.
"""

from .scene import Scene, SignIn, make_demo, sign_ins, write_report

__all__ = ["Scene", "SignIn", "make_demo", "sign_ins", "write_report"]
