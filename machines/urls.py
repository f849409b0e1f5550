"""Addresses of the machines app."""

app_name = "machines"
urlpatterns = []
