from programs.views import editing, library, outlines, photos

urlpatterns = [*editing.urlpatterns, *library.urlpatterns, *outlines.urlpatterns, *photos.urlpatterns]
