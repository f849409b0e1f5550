"""May a machine run: the strictest of all that is known of it. Free of Django."""

from dataclasses import dataclass

NO, NOT_YET, YES = "no", "not yet", "yes"


@dataclass(frozen=True)
class MayRun:
    """`word` is NO, NOT_YET or YES; `causes` say why not, the strictest first, one each."""

    word: str
    causes: tuple[str, ...] = ()

    @property
    def words(self):
        """Both on one line, such as "no: stopped until looked at"."""
        return f"{self.word}: {'; '.join(self.causes)}" if self.causes else self.word


def may_run(*, stopped="", before_it_runs=(), outside=(), before_a_crash=()):
    """The `MayRun` of a machine.

    stopped: that it stands stopped, in words, "" for not. before_it_runs: what open advice asks for
    before it runs again. outside: what was last measured outside its limits. before_a_crash: what
    was not measured since a crash. It does not run while it is stopped or such advice is open; what
    is outside or was not measured since a crash is settled first.
    """
    no = [stopped] if stopped else []
    no += [f"before it runs again: {what}" for what in before_it_runs]
    not_yet = [f"outside its limits: {what}" for what in outside]
    not_yet += before_a_crash
    word = NO if no else NOT_YET if not_yet else YES
    return MayRun(word, (*no, *not_yet))
