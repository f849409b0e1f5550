"""May machines run, as papers say it: what was measured, with the stops and the advice."""

from machines.drive.standing import advice_open, before_it_runs, stopped_words
from machines.engineering.may_run import may_run

from .models import Check


def standings(machines, chains, until, visit=None, advice=None):
    """Machine pk to its `MayRun` at a moment; a fixed number of queries.

    chains: what `chains_at` gives for that moment. advice: what `advice_open` gives, where it is at
    hand.
    """
    stopped = stopped_words(machines, until)
    advice = advice_open(machines, visit, until) if advice is None else advice
    return {
        machine.pk: may_run(
            stopped=stopped.get(machine.pk, ""),
            before_it_runs=before_it_runs(advice[machine.pk]),
            **_measured(chains[machine.pk]),
        )
        for machine in machines
    }


def _measured(chain):
    items = [one for state in chain for one in state.items]
    return {
        "outside": [
            str(one.item)
            for one in items
            if one.state.counts and one.state.word == Check.Verdict.OUTSIDE
        ],
        "before_a_crash": [
            f"{one.item}: {one.state.words}" for one in items if one.state.is_before_a_crash
        ],
    }
