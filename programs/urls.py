from programs.views import browsing, comparing, editing, favourites, library, outlines, photos

urlpatterns = [
    *browsing.urlpatterns,
    *comparing.urlpatterns,
    *editing.urlpatterns,
    *favourites.urlpatterns,
    *library.urlpatterns,
    *outlines.urlpatterns,
    *photos.urlpatterns,
]
