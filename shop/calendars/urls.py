"""Addresses of the calendar."""

from django.urls import path

from shop.calendars import views

urlpatterns = [
    path("account/calendar/", views.calendar, name="calendar"),
    path("calendar/<str:token>.ics", views.calendar_feed, name="calendar-feed"),
]
