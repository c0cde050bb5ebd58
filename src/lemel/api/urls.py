"""The addresses under /api/."""

from __future__ import annotations

from lemel.api.routes import api

urlpatterns, app_name, _ = api.urls
