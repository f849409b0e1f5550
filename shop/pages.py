"""Addresses of the ground app."""

from django.contrib.auth.views import LoginView, LogoutView
from django.urls import path

from . import views

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
    path("my-settings/", views.my_settings, name="my_settings"),
]
