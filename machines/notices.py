"""Mail about machines."""

from django.conf import settings
from django.core.mail import send_mail
from django.db import transaction

from shop.models import Role, User
from shop.wording import one_line, time_text


def tell_owners_it_stopped(stop, *, by=None):
    """Mail the shop's owners, once the stop is saved, that a machine does not run; runs SQL.

    Whoever stopped it is not told. Trouble with the mail goes to the log and stops nothing.
    """
    machine = stop.machine
    owners = User.objects.filter(
        memberships__in=machine.shop.memberships.current().filter(role=Role.OWNER)
    ).exclude(email="")
    to = [owner.email for owner in owners if owner != by]
    if to:
        subject, body = one_line(f"Machine {machine} is stopped"), _body(stop, by)

        def tell():
            send_mail(subject, body, None, to)

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
    return "\n".join([*lines, "", f"{settings.SITE_ADDRESS}{page}", ""])
