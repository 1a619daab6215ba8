"""Addresses of pictures."""

from django.urls import path

from shop.photos import mark_views, views

urlpatterns = [
    path("jobs/<int:number>/photos/", views.photos, name="photos"),
    path("jobs/<int:number>/photos/add/", views.add, name="photo-add"),
    path("jobs/<int:number>/photos/strip/", views.strip, name="photo-strip"),
    path("photos/<int:key>/<slug:size>.jpg", views.picture, name="picture"),
    path("photos/<int:key>/marks/", mark_views.marks, name="photo-marks"),
    path("photos/marks/<int:key>/back/", mark_views.back, name="photo-mark-back"),
    path("photos/<int:key>/show/", views.show, name="photo-show"),
    path("photos/<int:key>/remove/", views.remove, name="photo-remove"),
]
