"""Pieces that pages share, as tags; the markup of each is in `templates/includes/`.

    {% crumbs parts_url "Parts" part.get_absolute_url part %}
    {% nothing_here title="No part is on record" url=new_url action="Add part" %}
      Parts are what invoices and quotes are made of.
    {% endnothing_here %}
    {% caution %}Lock the machine out first.{% endcaution %}

A block's text may break over lines. None of them sees the page's own variables.
"""

from django import template
from django.template.loader import render_to_string
from django.utils.html import format_html
from django.utils.safestring import SafeString

register = template.Library()


@register.inclusion_tag("includes/crumbs.html")
def crumbs(*pairs):
    """The way back up: an address and its text, then the next; without a text it is left out."""
    return {"crumbs": list(zip(pairs[::2], pairs[1::2], strict=True))}


@register.simple_tag
def in_place(fold_id):
    """The attributes of a form within a fold that is sent without leaving the page: what the fold
    shows is taken from the answer, and with it what is next and what is missing. Without a script
    the form is sent as any other, and comes back to its anchor."""
    also = f"#{fold_id}-told, #next-thing, #before-signing"
    return format_html(
        'hx-boost="true" hx-push-url="false" hx-target="#{0}-in" hx-select="#{0}-in" '
        'hx-swap="outerHTML show:none" hx-select-oob="{1}"',
        fold_id,
        also,
    )


def component(name: str, text_as: str = "text"):
    """Register the block tag `name` for `includes/<name>.html`, which gets the text within.

    The text comes from a template, which has escaped what needs it.
    """

    def render(context, content, **given):
        given[text_as] = SafeString(content.strip())
        given["csrf_token"] = context.get("csrf_token")
        return render_to_string(f"includes/{name}.html", given)

    register.simple_block_tag(render, name=name, takes_context=True)


component("nothing_here")
component("caution")
component("confirm")
component("fold")
component("figure", "caption")
component("machine_picture", "caption")
