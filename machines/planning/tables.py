"""Lists of plans, of what is due and of what became of it."""

from datetime import timedelta

import django_tables2 as tables

from shop.web.wording import day_text, time_text

from .models import Plan, PlanClosing


class PlanTable(tables.Table):
    """Plans that run."""

    what = tables.Column(linkify=True)
    whose = tables.Column(verbose_name="for", orderable=False)
    shop = tables.Column()
    kind = tables.Column()
    how_often = tables.Column(orderable=False, verbose_name="how often")

    class Meta:
        model = Plan
        fields = ("what", "whose", "shop", "kind", "how_often")
        order_by = ("shop", "what")
        empty_text = "No plan yet"


class DueTable(tables.Table):
    """Due items, for taking out."""

    bucket = tables.Column(verbose_name="when")
    due = tables.Column(accessor="due__on")
    earliest = tables.Column(accessor="due__earliest")
    latest = tables.Column(accessor="due__latest")
    why = tables.Column(accessor="due__reason")
    what = tables.Column(accessor="plan__what")
    kind = tables.Column(accessor="plan__kind")
    machine = tables.Column(accessor="machine__number")
    shop = tables.Column(accessor="machine__shop__name")
    visit = tables.Column(accessor="visit__number")


class ClosingTable(tables.Table):
    """What became of a plan each time, newest first."""

    counted_from = tables.Column(verbose_name="when")
    machine = tables.Column(accessor="machine__number", verbose_name="machine")
    outcome = tables.Column()
    due_on = tables.Column(verbose_name="was due")
    note = tables.Column(orderable=False)
    visit = tables.Column(linkify=True, orderable=False)
    made_by = tables.Column(accessor="made_by__name", verbose_name="by", orderable=False)

    class Meta:
        model = PlanClosing
        fields = ("counted_from", "machine", "outcome", "due_on", "note", "visit", "made_by")
        order_by = "-counted_from"
        empty_text = "Not done yet under this plan"

    def render_counted_from(self, record, value):
        return time_text(value, record.machine.shop.zone)

    def render_outcome(self, record, value):
        return f"{value}, undone" if record.taken_back_at else value

    def value_counted_from(self, value):
        return value.isoformat()

    def render_due_on(self, value):
        return day_text(value)

    def value_due_on(self, value):
        return value.isoformat()


class YearTable(tables.Table):
    """The months of a year, for taking out."""

    month = tables.Column(accessor="first")
    planned = tables.Column()
    done = tables.Column()
    skipped = tables.Column()
    planned_cost = tables.Column()
    spent = tables.Column()
    stopped = tables.Column(verbose_name="Hours stopped")

    def value_month(self, value):
        return f"{value:%Y-%m}"

    def value_stopped(self, value):
        return round(value / timedelta(hours=1), 2)
