"""Addresses of the ground app."""

app_name = "shop"
urlpatterns = []
