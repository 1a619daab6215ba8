"""Addresses of what passes between the shop and customers."""

from django.urls import path
from django.views.generic import RedirectView

from shop.messages import views

urlpatterns = [
    path("jobs/<int:number>/customer/", views.customer_side, name="customer-side"),
    path("jobs/<int:number>/customer/link/", views.link, name="customer-link"),
    path("jobs/<int:number>/customer/reply/", views.reply, name="customer-reply"),
    path("jobs/<int:number>/customer/write/", views.write, name="customer-write"),
    path("jobs/<int:number>/customer/shipped/", views.shipped, name="customer-shipped"),
    path("messages/", views.outbox, name="outbox"),
    path("messages/<int:key>/done/", views.done, name="message-done"),
    path("messages/<int:key>/again/", views.again, name="message-again"),
    path("wordings/<slug:about>/", views.words, name="wording"),
    # Where it was before.
    path("jobs/<int:number>/owner/", RedirectView.as_view(pattern_name="customer-side")),
]
