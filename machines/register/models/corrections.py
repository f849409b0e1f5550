"""What records of a visit have in common that a correction may replace."""

from django.db import models
from django.db.models import F, Q
from django.db.models.functions import Coalesce


def corrections_index(name):
    """An index of the few records that correct another.

    In the whole index of `corrects` nearly every row is NULL. SQLite takes its statistics of that
    for the rows it would find, and reads the table through instead.
    """
    return models.Index(fields=["corrects"], condition=Q(corrects__isnull=False), name=name)


def first_said(path):
    """What stands at `path` of the record that was said first, for an annotation: a correction
    says anew what was found when the record it corrects was made, and counts for its visit."""
    return Coalesce(f"corrects__corrects__{path}", f"corrects__{path}", path)


def said_first(record):
    """The record that a correction, or a correction of one, says anew; itself if it is none."""
    while record.corrects is not None:
        record = record.corrects
    return record


class VisitRelatedQuerySet(models.QuerySet):
    """Records of a visit, which a correction may replace.

    What counts is decided here: a record counts from when it is entered, its visit signed or not,
    until a correction, signed or not, says it anew. What a visit said when it was signed stays.
    """

    def with_measured_at(self):
        """Annotate `measured_at`, when what the record says was found: a correction speaks of the
        time of what it corrects, so nothing may go by when it was entered."""
        return self.annotate(measured_at=first_said("made_at"))

    def not_superseded(self, at=None):
        """Without those a correction replaced, by the moment `at` or by now."""
        uncorrected = Q(corrected_by__isnull=True)
        if at is not None:
            uncorrected |= Q(corrected_by__made_at__gt=at)
        return self.filter(uncorrected)

    def counting_for(self, visit=None):
        """Those that count for what `visit` says: until it is signed by now, from then on by the
        moment it was. Without a visit by now."""
        return self.not_superseded(at=visit.signed_at if visit else None)

    def newest_first(self):
        """By when it was found, those of one moment by their order."""
        return self.with_measured_at().order_by(F("measured_at").desc(), F("pk").desc())

    def oldest_first(self):
        return self.with_measured_at().order_by("measured_at", "pk")
