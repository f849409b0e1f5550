"""Form fields of countries and time zones, which fill each other in on the page."""

import json

from django import forms

from shop.web.regions import COUNTRIES, region_of
from shop.web.zones import UnknownZone, zone_named, zone_names

from .models import LENGTH_UNITS, validate_currency


class ListInput(forms.TextInput):
    """A box to type into, with a list that narrows as one types."""

    template_name = "shop/widgets/list_input.html"
    options = ()

    def get_context(self, name, value, attrs):
        context = super().get_context(name, value, attrs)
        context["widget"] |= {
            "options": self.options,
            "list_id": f"{context['widget']['attrs'].get('id', name)}_list",
        }
        context["widget"]["attrs"]["list"] = context["widget"]["list_id"]
        return context


class ZoneInput(ListInput):
    """Time zones; a script puts the browser's own in where the box is empty."""

    def __init__(self):
        super().__init__(attrs={"autocomplete": "off", "data-zone": ""})
        self.options = zone_names()


class ZoneField(forms.CharField):
    """A time zone, by its name or by what people call it."""

    widget = ZoneInput

    def __init__(self, **kwargs):
        kwargs.setdefault("label", "Time zone")
        kwargs.setdefault("help_text", "Type a city or a name, such as Chicago or Central Time.")
        super().__init__(max_length=60, **kwargs)

    def clean(self, value):
        text = super().clean(value)
        try:
            return zone_named(text) if text else text
        except UnknownZone as error:
            raise forms.ValidationError(str(error)) from error


class CountryField(forms.ChoiceField):
    """A country; choosing one fills in the unit and the currency that are usual there."""

    def __init__(self, **kwargs):
        kwargs.setdefault("label", "Country")
        kwargs.setdefault("help_text", "Sets paper size, dates and week; each can be changed.")
        usual = {
            code: [region.length_unit, region.currency]
            for code, region in ((code, region_of(code)) for code, _name in COUNTRIES)
        }
        widget = forms.Select(attrs={"data-usual": json.dumps(usual, separators=(",", ":"))})
        super().__init__(choices=[("", "Choose"), *COUNTRIES], widget=widget, **kwargs)


class UnitField(forms.ChoiceField):
    """Inch or millimetre."""

    def __init__(self, **kwargs):
        kwargs.setdefault("label", "Lengths in")
        widget = forms.RadioSelect(attrs={"class": "choices row"})
        super().__init__(choices=LENGTH_UNITS, widget=widget, **kwargs)


class CurrencyField(forms.CharField):
    """A currency by its three letters; empty where that is allowed."""

    def __init__(self, **kwargs):
        kwargs.setdefault("label", "Currency")
        super().__init__(max_length=3, **kwargs)

    def clean(self, value):
        code = super().clean(value).upper()
        if code:
            validate_currency(code)
        return code
