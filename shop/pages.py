"""Addresses of the ground app."""

from django.contrib.auth.views import LoginView, LogoutView
from django.urls import path

from . import offline
from .planning import views as planning
from .trail.page import changes
from .views import charges, clock, documents, firms, quotes, statements, visits

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
    path("visits/<int:pk>/charges/", charges.charges, name="charges"),
    path("visits/<int:pk>/charges/fill-in/", charges.fill_in, name="fill_in"),
    path("visits/<int:pk>/charges/fixed/", charges.add_fixed, name="add_fixed"),
    path("visits/<int:pk>/charges/new/", charges.add, name="add_charge"),
    path("visits/<int:pk>/statement/", statements.issue, name="issue_statement"),
    path("visits/<int:pk>/statement.pdf", statements.draft, name="statement_draft"),
    path("charges/<int:pk>/", charges.edit, name="charge"),
    path("charges/<int:pk>/remove/", charges.remove, name="remove_charge"),
    path("statements/", statements.statements, name="statements"),
    path("statements/lines.csv", statements.lines_csv, name="statement_lines"),
    path("statements/<int:pk>/", statements.statement, name="statement"),
    path("statements/<int:pk>/credit/", statements.credit, name="credit"),
    path("quotes/", quotes.quotes, name="quotes"),
    path("quotes/<int:pk>/", quotes.quote, name="quote"),
    path("quotes/<int:pk>/plan/", quotes.plan, name="plan_quote"),
    path("shops/<int:pk>/quotes/new/", quotes.new, name="new_quote"),
    path("firms/<int:pk>/", firms.firm, name="firm"),
    path("firms/<int:pk>/rates/new/", firms.add_rate, name="add_rate"),
    path("rates/<int:pk>/", firms.rate, name="rate"),
    path("firms/<int:pk>/taxes/new/", firms.add_tax, name="add_tax"),
    path("taxes/<int:pk>/", firms.tax, name="tax"),
    path("documents/<int:pk>/", documents.document, name="document"),
    path("documents/<int:pk>/send/", documents.send, name="send"),
    path("check/<slug:code>/", documents.check, name="check"),
    path("changes/<slug:app>/<slug:model>/<int:pk>/", changes, name="changes"),
    path("waiting/", offline.waiting, name="waiting"),
    path("service-worker.js", offline.service_worker, name="service_worker"),
    path("my-settings/", visits.my_settings, name="my_settings"),
    path("visits/<int:pk>/move/", planning.move_visit, name="move_visit"),
    path("visits/<int:pk>/call-off/", planning.call_off, name="call_off"),
    path("calendar/", planning.calendar, name="calendar"),
    path("calendar/address/", planning.feed_address, name="feed_address"),
    path("calendar/<str:secret>.ics", planning.feed, name="feed"),
    path("shops/<int:pk>/closed-days/", planning.closed_days, name="closed_days"),
    path("shops/<int:pk>/closed-weekdays/", planning.closed_weekdays, name="closed_weekdays"),
    path("closed-days/<int:pk>/open-again/", planning.open_again, name="open_again"),
]
