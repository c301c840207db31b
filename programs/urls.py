from programs.views import browsing, comparing, editing, favourites, library, outline_editor, outlines, photos

urlpatterns = [
    *browsing.urlpatterns,
    *comparing.urlpatterns,
    *editing.urlpatterns,
    *favourites.urlpatterns,
    *library.urlpatterns,
    *outline_editor.urlpatterns,
    *outlines.urlpatterns,
    *photos.urlpatterns,
]
