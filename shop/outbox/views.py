"""The page of mail that waits or could not be sent."""

from django.contrib import messages
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_POST, require_safe

from .models import OutgoingMail
from .services import send_again

MOST_SHOWN = 100


@require_safe
def outgoing_mail(request):
    """What a person's mail came to, what is in trouble first; all of the site's for its keeper."""
    mine = OutgoingMail.objects.visible_to(request.user)
    unsent = mine.unsent()[:MOST_SHOWN]
    context = {
        "unsent": sorted(unsent, key=lambda mail: not mail.trouble),
        "sent": mine.exclude(sent_at=None).order_by("-sent_at")[:20],
    }
    return render(request, "shop/outgoing_mail.html", context)


@require_POST
def try_again(request, pk):
    """Send a mail that could not be sent once more."""
    mail = get_object_or_404(OutgoingMail.objects.visible_to(request.user).unsent(), pk=pk)
    send_again(mail)
    messages.success(request, f"The mail to {mail.to} is tried again now.")
    return redirect("shop:outgoing_mail")
