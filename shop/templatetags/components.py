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
from django.utils.safestring import SafeString

register = template.Library()


@register.inclusion_tag("includes/crumbs.html")
def crumbs(*pairs):
    """The way back up: an address and its text, then the next; without a text it is left out."""
    return {"crumbs": list(zip(pairs[::2], pairs[1::2], strict=True))}


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
component("figure", "caption")
component("machine_picture", "caption")
