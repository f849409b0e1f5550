"""Answers of an owner that came by phone, by mail or on paper, entered by the contractor."""

from django.db import models

from shop.record import FROM_THE_BEGINNING, Goes, Record
from shop.web.models import Entry
from shop.web.wording import day_text

from .billed_to import billed_to
from .people import Firm, Role, Shop

# What is read with a record that shows how its answer came, behind its field `told`.
TOLD = ("shop", "reply__made_by")


class ToldAnswerQuerySet(models.QuerySet):
    def visible_to(self, user):
        """Those of the person's shops: an owner sees all, a contractor the own firm's."""
        return self.filter(billed_to(user))

    def waiting_for(self, user):
        """Those that nobody has replied to, at the shops that the person owns."""
        owned = user.memberships.current().filter(role=Role.OWNER)
        return self.filter(shop__in=owned.values("shop"), reply__isnull=True)


class ToldAnswer(Entry):
    """That somebody of the shop told the firm an answer; `made_by` is who wrote it down.

    What it answered points here: a step of a recommendation, the answer to an item of a quote, the
    day of a visit.
    """

    record_rules = Record(
        handover=Goes("recommendation_steps__recommendation__machine"),
        frozen=FROM_THE_BEGINNING,
        part_of=("shop",),
    )

    class How(models.TextChoices):
        PHONE = "phone", "by phone"
        MAIL = "mail", "by mail"
        PAPER = "paper", "on paper"
        TALK = "talk", "face to face"

    shop = models.ForeignKey(Shop, on_delete=models.PROTECT, related_name="told_answers")
    firm = models.ForeignKey(Firm, on_delete=models.PROTECT, related_name="told_answers")
    told_by = models.CharField(max_length=120)
    how = models.CharField(max_length=5, choices=How)
    told_on = models.DateField()
    what = models.CharField(max_length=300, help_text="What was answered, in one sentence.")

    objects = ToldAnswerQuerySet.as_manager()

    class Meta:
        ordering = ["-made_at", "-pk"]

    def __str__(self):
        return f"told by {self.told_by}, {self.get_how_display()}, on {day_text(self.told_on)}"

    @property
    def in_words(self):
        """Who told it, how and when, and what an owner said to that since; runs SQL once."""
        reply = getattr(self, "reply", None)
        return f"{self}; {reply}" if reply else str(self)


class ToldReply(Entry):
    """What an owner says to an answer that was entered for them: said once."""

    record_rules = Record(
        belongs_to=("told",),
        handover=Goes("told__recommendation_steps__recommendation__machine"),
        frozen=FROM_THE_BEGINNING,
    )

    told = models.OneToOneField(ToldAnswer, on_delete=models.PROTECT, related_name="reply")
    objects_to_it = models.BooleanField()
    why = models.CharField(max_length=200, blank=True)

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=models.Q(objects_to_it=False) | ~models.Q(why=""),
                name="an_objection_says_why",
                violation_error_message="Say what is wrong about it.",
            )
        ]

    def __str__(self):
        day = day_text(self.made_at.astimezone(self.told.shop.zone).date())
        if self.objects_to_it:
            return f"{self.made_by.name} objected on {day}: {self.why}"
        return f"confirmed by {self.made_by.name} on {day}"
