"""Where the areas lie. An area keeps its own addresses in its `urlpatterns`."""

from django.urls import include, path
from django.views.generic.base import RedirectView

from lemel.web.areas import AREAS

urlpatterns = [
    # A browser asks for it beside a paper or a picture, which name no mark of their own.
    path("favicon.ico", RedirectView.as_view(url="/static/web/mark.svg")),
    path("door/", include("lemel.web.door")),
    path("units/", include("lemel.web.units_page")),
    *(path(begins, include(f"lemel.web.{area}")) for area, begins in AREAS.items()),
]
