"""Which triggers should be there, by the rules of freezing, the trail and the counting."""

from collections import defaultdict
from dataclasses import dataclass, field

from shop.audit import freezing, postgres, sqlite
from shop.audit.install import MESSAGE
from shop.audit.tables import trailed
from shop.audit.trigger_catalogue import Function, Trigger
from shop.snapshots import triggers as counting

TRAIL = {"sqlite": sqlite, "postgresql": postgres}


@dataclass
class Wanted:
    """tables: {table: {name: `Trigger`}}; functions: {name: `Function`} of PostgreSQL."""

    tables: dict = field(default_factory=lambda: defaultdict(dict))
    functions: dict = field(default_factory=dict)

    def add(self, one):
        """Take a `Trigger` or `Function` in."""
        if isinstance(one, Function):
            self.functions[one.name] = one
        else:
            self.tables[one.table][one.name] = one

    def shared(self):
        """Names of the functions that triggers of several tables run."""
        callers = defaultdict(set)
        for trigger in self.triggers():
            callers[trigger.calls].add(trigger.table)
        return {name for name, tables in callers.items() if name and len(tables) > 1}

    def triggers(self) -> list[Trigger]:
        return [one for of_table in self.tables.values() for one in of_table.values()]


def wanted_triggers(vendor):
    """What should be there on a database of that vendor once every table is."""
    wanted = Wanted()
    for rule in freezing.rules():
        for one in rule.triggers(vendor):
            wanted.add(one)
    for one in TRAIL[vendor].triggers(trailed().values(), MESSAGE):
        wanted.add(one)
    for one in counting.triggers(vendor):
        wanted.add(one)
    return wanted
