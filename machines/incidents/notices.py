"""Mail about machines."""

from django.core.mail import send_mail
from django.db import transaction

from machines.register.contacts import contractors_looking_after
from shop.people.models import Role, User
from shop.web.served import absolute
from shop.web.wording import one_line, time_text


def tell_it_stopped(stop, *, by=None):
    """Mail the shop's owners and the contractor who looks after it, once the stop is saved, that a
    machine does not run; runs SQL.

    Whoever stopped it is not told. Trouble with the mail goes to the log and stops nothing.
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
            _mail_once_saved(subject, body, address)


def _mail_once_saved(subject, body, address):
    """Mail one person by a mail of their own: trouble with one keeps none of the others."""

    def tell():
        send_mail(subject, body, None, [address])

    transaction.on_commit(tell, robust=True)


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
