"""What the page of due work shows: some of it, by pages, in buckets."""

from itertools import groupby

from django import forms
from django.core.paginator import Paginator
from django.db.models import Count

from machines.engineering.due import BUCKETS
from machines.register.models import Machine
from shop.people.models import Shop
from shop.web.listing import whole_number

from .due_times import items_of, standing_dues
from .models import Plan

PAGE_SIZE = 50
# More machines than this nobody finds in a list to choose from.
MOST_TO_CHOOSE_FROM = 100


class DueFilter(forms.Form):
    """Which machine, shop and kind of work to show; nothing chosen shows all."""

    shop = forms.ModelChoiceField(Shop.objects.none(), required=False, empty_label="Every shop")
    machine = forms.ModelChoiceField(
        Machine.objects.none(), required=False, empty_label="Every machine"
    )
    kind = forms.ChoiceField(choices=[("", "Every kind of work"), *Plan.Kind.choices])
    kind.required = False

    def __init__(self, *args, user, **kwargs):
        super().__init__(*args, **kwargs)
        self.user = user
        shops = Shop.objects.visible_to(user)
        self.fields["shop"].queryset = shops
        self._offer_machines()
        if shops.count() == 1:
            del self.fields["shop"]
        self.is_valid()

    def _offer_machines(self):
        """The machines of the chosen shop, or of the shop the chosen machine stands in."""
        machines = Machine.objects.visible_to(self.user).select_related("shop")
        shop, machine = (str(self.data.get(name) or "") for name in ("shop", "machine"))
        if key := whole_number(shop):
            machines = machines.filter(shop__pk=key)
        elif key := whole_number(machine):
            machines = machines.filter(shop__machines__pk=key)
        elif machines[MOST_TO_CHOOSE_FROM:].exists():
            del self.fields["machine"]
            self.fields["shop"].help_text = "Then its machines can be chosen."
            return
        self.fields["machine"].queryset = machines
        self.fields["machine"].label_from_instance = lambda m: f"{m.number} {m.name}, {m.shop.name}"

    def _chosen(self, name):
        return getattr(self, "cleaned_data", {}).get(name)

    @property
    def any_chosen(self):
        return any(self._chosen(name) for name in self.fields)

    def dues(self):
        """The `DueTime`s asked for: the next time of each plan."""
        shops = Shop.objects.visible_to(self.user)
        if shop := self._chosen("shop"):
            shops = shops.filter(pk=shop.pk)
        dues = standing_dues(shops).next_times()
        if machine := self._chosen("machine"):
            dues = dues.filter(machine=machine)
        if kind := self._chosen("kind"):
            dues = dues.filter(plan__kind=kind)
        return dues


class DuePages(Paginator):
    """Due items by pages, of which only those of a page are loaded; `total` of them."""

    def __init__(self, dues, total):
        super().__init__(dues.most_pressing_first(), PAGE_SIZE)
        self.total = total

    @property
    def count(self):
        return self.total

    def _get_page(self, dues, *args):
        return super()._get_page(items_of(dues), *args)


def counts_of(dues):
    """(bucket, how many) of `DueTime`s, in order; one query."""
    counts = dues.order_by("rank").values_list("rank").annotate(Count("pk"))
    return [(BUCKETS[rank], count) for rank, count in counts]


def buckets_of(items):
    """(bucket, its items) in order; buckets without an item are left out."""
    return [(bucket, list(these)) for bucket, these in groupby(items, lambda item: item.bucket)]
