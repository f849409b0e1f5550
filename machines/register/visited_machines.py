"""What a page of a visit asks of the machines worked on at it."""

from shop.web.request_memo import request_memo


def machines_at(visit):
    """The machines visited; one query, once a page."""
    visited = visit.visited.select_related("machine__shop")
    return request_memo(("machines at", visit.pk), lambda: [here.machine for here in visited])
