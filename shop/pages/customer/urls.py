"""Addresses of the customer's pages."""

from django.urls import path

from shop.pages.customer import announce_views, views

urlpatterns = [
    path("announce/<str:token>/", announce_views.announce, name="announce"),
    path("your-unit/<str:token>/", views.your_unit, name="your-unit"),
    path("your-unit/<str:token>/answer/", views.answer, name="your-answer"),
    path("your-unit/<str:token>/ask/", views.ask, name="your-question"),
    path("your-unit/<str:token>/bills/<int:key>.pdf", views.bill, name="your-bill"),
    path("your-unit/<str:token>/photos/<int:key>/<slug:size>.jpg", views.photo, name="your-photo"),
]
