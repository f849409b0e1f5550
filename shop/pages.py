"""Addresses of the ground app."""

from django.contrib.auth.views import LoginView, LogoutView
from django.urls import path

from .views import clock, documents, visits

app_name = "shop"
urlpatterns = [
    path("", visits.home, name="home"),
    path(
        "sign-in/",
        LoginView.as_view(template_name="shop/sign_in.html", redirect_authenticated_user=True),
        name="sign_in",
    ),
    path("sign-out/", LogoutView.as_view(), name="sign_out"),
    path("visits/", visits.visits, name="visits"),
    path("visits/<int:pk>/", visits.visit, name="visit"),
    path("visits/<int:pk>/arrive/", visits.arrive, name="arrive"),
    path("visits/<int:pk>/come-back/", visits.come_back, name="come_back"),
    path("visits/<int:pk>/sign/", visits.sign, name="sign"),
    path("visits/<int:pk>/correct/", visits.correct, name="correct"),
    path("visits/<int:pk>/report.pdf", visits.report, name="report"),
    path("visits/<int:pk>/clock/", clock.clock, name="clock"),
    path("visits/<int:pk>/times/", clock.times, name="times"),
    path("spells/<int:pk>/", clock.spell, name="spell"),
    path("spells/<int:pk>/remove/", clock.remove, name="remove_spell"),
    path("documents/<int:pk>/", documents.document, name="document"),
    path("check/<slug:code>/", documents.check, name="check"),
    path("my-settings/", visits.my_settings, name="my_settings"),
]
