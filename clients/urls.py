from clients.views import health, items, journal, notes, people, places

urlpatterns = [
    *people.urlpatterns,
    *items.urlpatterns,
    *notes.urlpatterns,
    *health.urlpatterns,
    *places.urlpatterns,
    *journal.urlpatterns,
]
