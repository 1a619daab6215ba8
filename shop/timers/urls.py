"""Addresses of the clocks."""

from django.urls import path

from shop.timers import views

urlpatterns = [
    path("jobs/<int:number>/clocks/", views.running, name="clocks"),
    path("jobs/<int:number>/timers/", views.start, name="timer-start"),
    path("timers/<int:key>/stop/", views.stop, name="timer-stop"),
]
