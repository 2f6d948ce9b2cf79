"""Every address of the service."""

from django.contrib import admin
from django.urls import include, path
from drf_spectacular.views import SpectacularSwaggerView

from config import health
from config.document import TheDocument
from config.metrics.view import metrics
from config.office import OfficeSignIn

admin.site.login_form = OfficeSignIn

api = [
    path("", include("beats.urls")),
    path("", include("bookings.urls")),
    path("", include("sessions.urls")),
    path("", include("safety.urls")),
    path("schema/", TheDocument.as_view(), name="schema"),
    path("docs/", SpectacularSwaggerView.as_view(url_name="schema"), name="docs"),
]
urlpatterns = [
    path("api/v1/", include(api)),  # first: an address is looked for in this order, and programs ask most often
    path("", include("beats.urls_pages")),
    path("", include("bookings.urls_pages")),
    path("", include("sessions.urls_pages")),
    path("", include("safety.urls_pages")),
    path("office/", admin.site.urls),
    path("health/live", health.live, name="health-live"),
    path("health/ready", health.ready, name="health-ready"),
    path("health/watch", health.watch, name="health-watch"),
    path("metrics", metrics, name="metrics"),
]

handler400 = "config.problems.bad_request"
handler403 = "config.problems.forbidden"
handler404 = "config.problems.not_found"
handler500 = "config.problems.server_error"
