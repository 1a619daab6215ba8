"""Addresses of the reminders."""

from django.urls import path

from shop.reminders import views

urlpatterns = [
    path("reminders/", views.reminders, name="reminders"),
    path("reminders/snooze/", views.snooze_many, name="snooze-many"),
    path("reminders/mail/", views.mail, name="mail"),
    path("reminders/<int:number>/snooze/", views.snooze, name="snooze"),
]
