"""Every address of the site."""

from django.contrib import admin
from django.urls import include, path

urlpatterns = [
    path("", include("shop.pages")),
    path("", include("machines.urls")),
    path("", include("alignment.urls")),
    path("admin/", admin.site.urls),
]
