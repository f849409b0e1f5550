"""Mail about machines."""

from machines.register.contacts import contractors_looking_after
from shop.outbox.services import post
from shop.people.models import Role, User
from shop.web.served import absolute
from shop.web.wording import one_line, time_text


def tell_it_stopped(stop, *, by=None):
    """Mail the shop's owners and the contractor who looks after it that a machine does not run,
    each by a mail of their own; runs SQL. Whoever stopped it is not told.
    """
    machine = stop.machine
    owners = User.objects.filter(
        memberships__in=machine.shop.memberships.current().filter(role=Role.OWNER)
    )
    told = {*owners, *contractors_looking_after(machine)} - {by}
    to = sorted({person.email for person in told if person.email})
    if to:
        subject, body = one_line(f"Machine {machine} is stopped"), _body(stop, by)
        for address in to:
            post(to=address, subject=subject, body=body, made_by=by)


def _body(stop, by):
    machine, incident = stop.machine, stop.incident
    lines = [
        f"Machine {machine} is stopped until looked at, since "
        f"{time_text(stop.began_at, machine.shop.zone)}."
    ]
    if incident:
        how_hard = incident.get_severity_display()
        lines.append(f"{incident}{f' ({how_hard})' if how_hard else ''}.".capitalize())
    if by:
        lines.append(f"Logged by {by.name}.")
    page = (incident or machine).get_absolute_url()
    return "\n".join([*lines, "", f"{absolute(page)}", ""])
