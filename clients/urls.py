from clients.views import demo, health, items, journal, notes, people, phone, phone_reports, places, search, sheet_files

urlpatterns = [
    *people.urlpatterns,
    *items.urlpatterns,
    *notes.urlpatterns,
    *health.urlpatterns,
    *places.urlpatterns,
    *journal.urlpatterns,
    *search.urlpatterns,
    *phone.urlpatterns,
    *phone_reports.urlpatterns,
    *sheet_files.urlpatterns,
    *demo.urlpatterns,
]
