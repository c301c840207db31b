from django.urls import path

from coachdesk.practice.views import account

urlpatterns = [
    path("set-up/", account.set_up, name="set-up"),
    path("sign-in/", account.sign_in, name="sign-in"),
    path("sign-out/", account.sign_out, name="sign-out"),
    path("account/", account.account, name="account"),
    path("practice/", account.practice, name="practice"),
    path("practice/coaches/new/", account.coach_new, name="coach-new"),
    path("practice/coaches/<uuid:public_id>/active/", account.coach_active, name="coach-active"),
]
