from programs.views import (
    browsing,
    caps,
    comparing,
    editing,
    exchange,
    favourites,
    library,
    outline_editor,
    outlines,
    photos,
    weights,
)

urlpatterns = [
    *browsing.urlpatterns,
    *caps.urlpatterns,
    *comparing.urlpatterns,
    *editing.urlpatterns,
    *exchange.urlpatterns,
    *favourites.urlpatterns,
    *library.urlpatterns,
    *outline_editor.urlpatterns,
    *outlines.urlpatterns,
    *photos.urlpatterns,
    *weights.urlpatterns,
]
