"""Addresses of recordings, inputs and test signals."""

from django.urls import path

from shop.sound import input_views, views

urlpatterns = [
    path("jobs/<int:number>/recording/", views.recording, name="recording"),
    path("sound/", input_views.sound, name="sound"),
    path("sound/<int:number>/retire/", input_views.sound_retire, name="sound-retire"),
    path("sound/signals/<slug:kind>.wav", input_views.sound_signal, name="sound-signal"),
]
