"""Every address of the site."""

from django.contrib import admin
from django.contrib.auth.decorators import login_not_required
from django.http import Http404
from django.shortcuts import redirect
from django.urls import include, path, reverse_lazy
from django.utils.http import urlencode


def admin_sign_in(request):
    """The admin has no way in of its own: a password alone would be enough there. For whoever is
    signed in and does not keep the site it does not exist."""
    if request.user.is_authenticated:
        raise Http404("the admin is for who keeps the site")
    where = {"next": request.GET.get("next", reverse_lazy("admin:index"))}
    return redirect(f"{reverse_lazy('shop:sign_in')}?{urlencode(where)}")


admin.site.login = login_not_required(admin_sign_in)

urlpatterns = [
    path("", include("shop.urls")),
    path("", include("machines.urls")),
    path("", include("alignment.urls")),
    path("admin/", admin.site.urls),
]
