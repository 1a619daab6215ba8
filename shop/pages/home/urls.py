"""The address of home."""

from django.urls import path

from shop.pages.home import views

urlpatterns = [path("", views.home, name="home")]
