"""Where the areas lie. An area keeps its own addresses in its `urlpatterns`."""

from django.urls import include, path

from lemel.web.areas import AREAS

urlpatterns = [
    path("door/", include("lemel.web.door")),
    path("units/", include("lemel.web.units_page")),
    *(path(begins, include(f"lemel.web.{area}")) for area, begins in AREAS.items()),
]
