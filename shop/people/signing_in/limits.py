"""How often strangers can have the site mail somebody, and how often an address is changed."""

import ipaddress
from datetime import timedelta

from shop.people.rate_limit import once_more

from .sessions import client_address

LINKS_TO_ONE_ADDRESS = 3
LINKS_FROM_ONE_CLIENT = 10
CHANGES_OF_ONE_ACCOUNT = 5
# Whoever has one address of an IPv6 network this long has them all.
IPV6_BITS = 64


def may_mail_link(request, address):
    """Whether a link for a new password may go to an address once more within the hour.

    Counts alike whether or not anybody here has that address.
    """
    hour, client = timedelta(hours=1), client_network(request)
    if client and not once_more(f"link from {client}", most=LINKS_FROM_ONE_CLIENT, within=hour):
        return False
    return once_more(f"link to {address.lower()}", most=LINKS_TO_ONE_ADDRESS, within=hour)


def may_change_address(user):
    """Whether a person may change their mail address once more today; the former one is told."""
    what = f"address of {user.pk}"
    return once_more(what, most=CHANGES_OF_ONE_ACCOUNT, within=timedelta(days=1))


def client_network(request):
    """What counts as one client; None when it cannot be told."""
    address = client_address(request)
    if address is None or ipaddress.ip_address(address).version == 4:
        return address
    return str(ipaddress.ip_network(f"{address}/{IPV6_BITS}", strict=False))
