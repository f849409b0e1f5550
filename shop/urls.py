"""Addresses of the ground app."""

from django.contrib.auth.views import LogoutView
from django.urls import path

from .begin import views as begin
from .billing.views import charges, firms, quotes, statements
from .calendar import views as planning
from .customers import views as customers
from .outbox import views as outbox
from .paper import views as paper_views
from .people import told_views as told
from .people import views as people_views
from .people.changes import changes
from .people.devices import views as devices
from .people.signing_in import views as signing_in
from .records import views as records_views
from .visits.views import clock, visits
from .web import health, offline

app_name = "shop"
urlpatterns = [
    path("", visits.home, name="home"),
    path("begin/", begin.begin, name="begin"),
    path("begin/<str:token>/", begin.begin, name="begin_with"),
    path("trust/", begin.trust, name="trust"),
    path("trust/sweepbook.crt", begin.authority, name="authority"),
    path("sign-in/", signing_in.SignInView.as_view(), name="sign_in"),
    path("sign-in/code/", signing_in.sign_in_code, name="sign_in_code"),
    path("forgotten/", signing_in.ForgotPassword.as_view(), name="forgotten"),
    path("forgotten/sent/", signing_in.forgotten_sent, name="forgotten_sent"),
    path("reset/<uidb64>/<token>/", signing_in.reset, name="reset"),
    path("sign-out/", LogoutView.as_view(), name="sign_out"),
    path("mail/", outbox.outgoing_mail, name="outgoing_mail"),
    path("mail/<int:pk>/again/", outbox.try_again, name="try_mail_again"),
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
    path("visits/<int:pk>/charges/first-price/", charges.first_price, name="first_price"),
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
    path("firms/<int:pk>/numbers/", firms.numbers, name="numbers"),
    path("firms/<int:pk>/change/<slug:part>/", firms.firm_form, name="firm_form"),
    path("firms/<int:pk>/rates/new/", firms.add_rate, name="add_rate"),
    path("rates/<int:pk>/", firms.rate, name="rate"),
    path("firms/<int:pk>/taxes/new/", firms.add_tax, name="add_tax"),
    path("taxes/<int:pk>/", firms.tax, name="tax"),
    path("firms/<int:pk>/customers/", customers.customers, name="customers"),
    path("firms/<int:pk>/customers/new/", customers.new_customer, name="new_customer"),
    path("shops/<int:pk>/", customers.shop, name="shop"),
    path("shops/<int:pk>/change/", customers.edit_shop, name="edit_shop"),
    path("shops/<int:pk>/customer/", customers.customer, name="customer"),
    path("shops/<int:pk>/close/", customers.close_customer, name="close_customer"),
    path("shops/<int:pk>/reopen/", customers.reopen_customer, name="reopen_customer"),
    path("shops/<int:pk>/told-answers/", told.told_answers, name="told_answers"),
    path("told-answers/<int:pk>/", told.told_answer, name="told_answer"),
    path("shops/<int:pk>/people/", people_views.people, name="people"),
    path("firms/<int:pk>/people/", people_views.firm_people, name="firm_people"),
    path("memberships/<int:pk>/", people_views.membership, name="membership"),
    path("firm-memberships/<int:pk>/", people_views.firm_membership, name="firm_membership"),
    path("invitations/<int:pk>/link/", people_views.invitation_link, name="invitation_link"),
    path("invitations/<int:pk>/send/", people_views.resend, name="resend_invitation"),
    path("invitations/<int:pk>/take-back/", people_views.revoke, name="revoke_invitation"),
    path("welcome/<str:token>/", people_views.welcome, name="welcome"),
    path("invitation/<str:token>/", people_views.invitation, name="invitation"),
    path("documents/<int:pk>/", paper_views.document, name="document"),
    path("documents/<int:pk>/send/", paper_views.send, name="send"),
    path("check/<slug:code>/", paper_views.check, name="check"),
    path("healthz", health.healthz, name="healthz"),
    path("changes/<slug:app>/<slug:model>/<int:pk>/", changes, name="changes"),
    path("waiting/", offline.waiting, name="waiting"),
    path("service-worker.js", offline.service_worker, name="service_worker"),
    path("my-settings/", signing_in.account, name="my_settings"),
    path("my-settings/password/", signing_in.ChangePassword.as_view(), name="password"),
    path("my-settings/second-factor/", signing_in.second_factor_page, name="second_factor"),
    path(
        "my-settings/second-factor/key.svg",
        signing_in.second_factor_picture,
        name="second_factor_picture",
    ),
    path("my-settings/sign-ins/", signing_in.sign_ins, name="sign_ins"),
    path("my-settings/sign-ins/<int:pk>/end/", signing_in.end_sign_in, name="end_sign_in"),
    path("my-settings/sign-ins/end/", signing_in.end_other_sign_ins, name="end_other_sign_ins"),
    path("my-pin/", devices.my_pin, name="my_pin"),
    path("device/", devices.device, name="device"),
    path("device/people/<int:pk>/", devices.pin, name="device_pin"),
    path("device/done/", devices.done, name="device_done"),
    path("device/set-up/<slug:code>/", devices.set_up, name="device_set_up"),
    path("shops/<int:pk>/devices/", devices.devices, name="devices"),
    path("devices/<int:pk>/code/", devices.device_code, name="device_code"),
    path("devices/<int:pk>/take-back/", devices.revoke_device, name="revoke_device"),
    path("visits/<int:pk>/move/", planning.move_visit, name="move_visit"),
    path("visits/<int:pk>/call-off/", planning.call_off, name="call_off"),
    path("calendar/", planning.calendar, name="calendar"),
    path("calendar/address/", planning.feed_address, name="feed_address"),
    path("calendar/<str:secret>.ics", planning.feed, name="feed"),
    path("shops/<int:pk>/take-out/", records_views.export_shop, name="export"),
    path("shops/<int:pk>/closed-days/", planning.closed_days, name="closed_days"),
    path("shops/<int:pk>/closed-weekdays/", planning.closed_weekdays, name="closed_weekdays"),
    path("closed-days/<int:pk>/open-again/", planning.open_again, name="open_again"),
]
