"""Addresses of the ground app."""

from django.contrib.auth.views import LoginView, LogoutView
from django.urls import path

from . import offline, views
from .planning import views as planning

app_name = "shop"
urlpatterns = [
    path("", views.home, name="home"),
    path(
        "sign-in/",
        LoginView.as_view(template_name="shop/sign_in.html", redirect_authenticated_user=True),
        name="sign_in",
    ),
    path("sign-out/", LogoutView.as_view(), name="sign_out"),
    path("visits/", views.visits, name="visits"),
    path("visits/<int:pk>/", views.visit, name="visit"),
    path("visits/<int:pk>/arrive/", views.arrive, name="arrive"),
    path("visits/<int:pk>/come-back/", views.come_back, name="come_back"),
    path("visits/<int:pk>/sign/", views.sign, name="sign"),
    path("visits/<int:pk>/correct/", views.correct, name="correct"),
    path("visits/<int:pk>/report.pdf", views.report, name="report"),
    path("waiting/", offline.waiting, name="waiting"),
    path("service-worker.js", offline.service_worker, name="service_worker"),
    path("my-settings/", views.my_settings, name="my_settings"),
    path("visits/<int:pk>/move/", planning.move_visit, name="move_visit"),
    path("visits/<int:pk>/call-off/", planning.call_off, name="call_off"),
    path("calendar/", planning.calendar, name="calendar"),
    path("calendar/address/", planning.feed_address, name="feed_address"),
    path("calendar/<str:secret>.ics", planning.feed, name="feed"),
    path("shops/<int:pk>/closed-days/", planning.closed_days, name="closed_days"),
    path("shops/<int:pk>/closed-weekdays/", planning.closed_weekdays, name="closed_weekdays"),
    path("closed-days/<int:pk>/open-again/", planning.open_again, name="open_again"),
]
