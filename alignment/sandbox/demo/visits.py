"""What is planned for each of the demo's visits; all of it invented."""

from dataclasses import dataclass, field


@dataclass(frozen=True)
class Answer:
    """What the owner says to a recommendation at the visit that raised it, or that the contractor
    ordered it."""

    machine: str
    subject: str
    state: str
    note: str = ""


@dataclass(frozen=True)
class DemoVisit:
    """A visit, told in days before today; days ahead are below zero.

    teeth: (machine, belt) to the conditions found on it; where none is named at a machine, its
    belts are looked at in turn and are sound. fitted: (machine, belt) of the replacements fitted.
    """

    shop: str
    days_ago: int
    purpose: str
    machines: tuple[str, ...]
    teeth: dict = field(default_factory=dict)
    answers: tuple[Answer, ...] = ()
    fitted: tuple[tuple[str, str], ...] = ()
    findings: dict = field(default_factory=dict)
    come_back_for: str = ""
    after_crash: bool = False


QUARLOW, PINTLOW = ("1", "2", "3"), ("A", "B", "C")
ROUND = "half-yearly round"
VISITS = [
    DemoVisit("quarlow", 716, "first measurement of all machines", QUARLOW),
    DemoVisit(
        "pintlow",
        702,
        "first measurement of all machines",
        PINTLOW,
        teeth={("A", "guide bushing belt"): {31: "marked"}},
        findings={"A": "One tooth of the guide bushing belt is damaged; watched."},
    ),
    DemoVisit(
        "quarlow",
        583,
        ROUND,
        QUARLOW,
        teeth={("3", "main spindle belt"): {12: "worn"}},
    ),
    DemoVisit("pintlow", 561, ROUND, PINTLOW),
    DemoVisit("quarlow", 450, ROUND, QUARLOW),
    DemoVisit(
        "pintlow",
        422,
        ROUND,
        PINTLOW,
        teeth={("A", "guide bushing belt"): {31: "marked", 32: "marked"}},
        answers=(Answer("A", "guide bushing belt", "approved", "at the next visit"),),
        findings={"A": "The mark on the guide bushing belt has spread to the tooth beside it."},
    ),
    DemoVisit(
        "quarlow",
        318,
        ROUND,
        QUARLOW,
        teeth={("3", "main spindle belt"): {12: "worn", 13: "worn"}},
        answers=(
            Answer("3", "main spindle belt", "deferred", "light work only until the summer stop"),
        ),
    ),
    DemoVisit(
        "pintlow",
        282,
        ROUND,
        PINTLOW,
        teeth={("A", "guide bushing belt"): {}},
        fitted=(("A", "guide bushing belt"),),
    ),
    DemoVisit(
        "quarlow",
        186,
        ROUND,
        QUARLOW,
        teeth={("3", "main spindle belt"): {12: "worn", 13: "worn", 14: "worn", 40: "marked"}},
        fitted=(("3", "main spindle belt"),),
        findings={"3": "The main spindle belt had to come off; a new one is on and tensioned."},
    ),
    DemoVisit(
        "pintlow",
        131,
        ROUND,
        PINTLOW,
        teeth={("C", "sub-spindle belt"): {22: "cracked"}},
        fitted=(("C", "sub-spindle belt"),),
        come_back_for="A's sub-spindle collet is worn; measured with a borrowed one. "
        "Measure again once the new collet has come.",
    ),
    DemoVisit(
        "quarlow",
        36,
        "realign machine 1 after the crash",
        ("1",),
        teeth={
            ("1", "jack shaft belt"): {},
            ("1", "guide bushing belt"): {17: "marked", 18: "marked"},
        },
        answers=(
            Answer("1", "guide bushing belt", "approved", "order it with the collet"),
            Answer("1", "guide bushing belt", "ordered", "with the collet, 6 days"),
        ),
        findings={
            "1": "The guide bushing housing and the sub-spindle were shifted; the headstock was "
            "not. Both are back within the factory's limits. Two teeth of the guide bushing belt "
            "are damaged."
        },
        after_crash=True,
    ),
    DemoVisit(
        "quarlow",
        24,
        "fit the guide bushing belt that was ordered",
        ("1",),
        teeth={("1", "guide bushing belt"): {}},
        fitted=(("1", "guide bushing belt"),),
        findings={"1": "The new guide bushing belt is on, tensioned, and runs without a noise."},
    ),
]
NEXT_ROUND = DemoVisit("pintlow", -9, "half-yearly round, and the new collet of A", PINTLOW)
