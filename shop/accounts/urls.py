"""Addresses of accounts: those of the library that a shop has use for, and ours."""

from allauth.account import views as library
from django.urls import include, path
from django.views.generic import RedirectView

from shop.accounts import first_visit, people_views, single_keys, views

urlpatterns = [
    path("keys/", single_keys.keys, name="keys"),
    path("sign-in/", library.login, name="sign-in"),
    path("sign-out/", library.logout, name="sign-out"),
    path("account/", views.account, name="account"),
    path("tour/", first_visit.dismiss, name="tour"),
    path("account/sign-ins/", views.sign_ins, name="sign-ins"),
    path("people/", people_views.people_page, name="people"),
    path("people/invite/", people_views.invite, name="people-invite"),
    path("people/<int:key>/", people_views.change_person, name="people-change"),
    path("people/links/<int:key>/end/", people_views.take_link_back, name="people-link-end"),
    path("join/<str:token>/", people_views.join, name="account-link"),
    # By the names that the library itself asks for.
    path("sign-in/", library.login, name="account_login"),
    path("sign-out/", library.logout, name="account_logout"),
    path("account/inactive/", library.account_inactive, name="account_inactive"),
    path("account/sign-up/", library.signup, name="account_signup"),
    path("account/confirm/", library.reauthenticate, name="account_reauthenticate"),
    path("account/password/", library.password_change, name="account_change_password"),
    path("account/first-password/", library.password_set, name="account_set_password"),
    path("account/email/", RedirectView.as_view(pattern_name="reminders"), name="account_email"),
    path("account/second-factor/", include("allauth.mfa.urls")),
    path("account/sessions/", include("allauth.usersessions.urls")),
]
