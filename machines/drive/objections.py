"""What follows in the machines app when an owner objects to an answer entered for them."""

from .models import Evidence, Recommendation, RecommendationStep


def advise_again(reply):
    """Recommend anew what was entered as declined: the owner decides it, on the same evidence."""
    declined = RecommendationStep.objects.filter(
        told=reply.told, state=RecommendationStep.State.DECLINED
    )
    for step in declined.select_related("recommendation"):
        _again(step.recommendation, reply)


def _again(advice, reply):
    names = ("machine", "rule", "subject", "belt", "bearing", "what", "part", "quantity")
    more = ("urgency", "by_date", "reason", "safety_relevant")
    kept = {name: getattr(advice, name) for name in (*names, *more)}
    new = Recommendation.objects.create(**kept, made_by=reply.made_by, made_at=reply.made_at)
    Evidence.objects.bulk_create(
        Evidence(
            recommendation=new,
            content_type=one.content_type,
            object_id=one.object_id,
            sentence=one.sentence,
        )
        for one in advice.evidence.all()
    )
