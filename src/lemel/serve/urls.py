"""Where everything lies: the API under /api/, the pages under everything else."""

from django.urls import include, path

urlpatterns = [path("api/", include("lemel.api.urls")), path("", include("lemel.web.urls"))]
handler400 = "lemel.web.shell.bad_request"
handler403 = "lemel.web.shell.not_allowed"
handler404 = "lemel.web.shell.not_found"
handler500 = "lemel.web.shell.our_fault"
