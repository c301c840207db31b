from programs.views import editing, library, outlines

urlpatterns = [*editing.urlpatterns, *library.urlpatterns, *outlines.urlpatterns]
