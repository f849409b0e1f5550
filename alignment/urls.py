"""Addresses of the alignment app."""

app_name = "alignment"
urlpatterns = []
