"""What is said of visits that were brought in: from where, for whom, and whether that is proved."""

from dataclasses import dataclass

from shop.records.signatures import signed_troubles
from shop.visits.models import SignedRecord, Visit
from shop.web.site_key import Proof


@dataclass(frozen=True)
class Origin:
    """Where something is brought in from, the shop its visits were signed for unless they say so
    themselves, and the `Proof`."""

    came_from: str
    signed_for: str
    proof: Proof


def say_where_from(pks, origin):
    """Write at visits (keys) where they came from, before they are sealed.

    What was signed is held against its digests as well: a site can give out, under its signature,
    what was edited in it. A visit that was not proved where it comes from is not proved here.
    """
    visits, proof = Visit.objects.filter(pk__in=list(pks)), origin.proof
    visits.update(came_from=origin.came_from)
    if proof.proved and any(signed_troubles(SignedRecord.objects.filter(visit__in=visits))):
        proof = Proof(False, "what was signed is not what is in it")
    visits.filter(signed_for="").update(signed_for=origin.signed_for)
    told = visits.exclude(proved=False) if proof.proved else visits
    told.update(proved=proof.proved, not_proved_why=proof.why)
