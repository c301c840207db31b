from django.contrib import admin
from django.urls import include, path

from coachdesk import views

handler404 = "coachdesk.views.not_found"
handler500 = "coachdesk.views.server_error"

urlpatterns = [
    path("theme/", views.set_theme, name="set-theme"),
    path("", include("coachdesk.practice.urls")),
    path("", include("programs.urls")),
    path("", include("clients.urls")),
    path("support/", admin.site.urls),
]
