"""Addresses of manuals and their pages."""

from django.urls import path

from shop.manuals import link_views, page_views, views

urlpatterns = [
    path("jobs/<int:number>/manuals/", views.job_manuals, name="job-manuals"),
    path("models/manuals/", views.model_manuals, name="model-manuals"),
    path("parts/<int:number>/manuals/", views.part_manuals, name="part-manuals"),
    path("manuals/<int:key>/", page_views.manual, name="manual"),
    path("manuals/<int:key>/file.pdf", page_views.pdf, name="manual-pdf"),
    path("manuals/<int:key>/remove/", views.remove, name="manual-remove"),
    path("manuals/<int:key>/page/", page_views.turn, name="manual-turn"),
    path("manuals/<int:key>/page/<int:page>/", page_views.page, name="manual-page"),
    path(
        "manuals/<int:key>/page/<int:page>/<slug:size>.jpg",
        page_views.picture,
        name="manual-picture",
    ),
    path("manuals/<int:key>/page/<int:page>/link/", link_views.link, name="manual-link"),
    path("manuals/links/<int:key>/remove/", link_views.unlink, name="manual-unlink"),
]
