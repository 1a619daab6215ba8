"""Addresses of what passes between the shop and owners."""

from django.urls import path

from shop.messages import views

urlpatterns = [
    path("jobs/<int:number>/owner/", views.owner_side, name="owner-side"),
    path("jobs/<int:number>/owner/link/", views.link, name="owner-link"),
    path("jobs/<int:number>/owner/reply/", views.reply, name="owner-reply"),
    path("jobs/<int:number>/owner/shipped/", views.shipped, name="owner-shipped"),
    path("messages/", views.outbox, name="outbox"),
    path("messages/<int:key>/done/", views.done, name="message-done"),
    path("messages/<int:key>/again/", views.again, name="message-again"),
    path("wordings/<slug:about>/", views.words, name="wording"),
]
