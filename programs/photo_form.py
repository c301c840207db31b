"""The form that puts up a picture of an exercise."""

from typing import Any, ClassVar

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext_lazy as _

from programs.models import Photo
from programs.photos import LARGEST_UPLOAD_BYTES, NotAPhoto, Rewritten, rewritten


class PhotoForm(forms.Form):
    """A picture to put up, checked and written anew, and what it shows in words."""

    REFUSED: ClassVar = {
        "too_large": _("This file is larger than 12 MB. Choose a smaller one."),
        "not_a_picture": _("This is not a whole JPEG, PNG or WebP picture. Choose another file."),
        "too_many_pixels": _("This picture has more than 64 million pixels. Choose a smaller one."),
        "too_much_work": _("This picture could not be opened safely. Save it as a JPEG and choose that."),
    }

    picture = forms.FileField(
        label=_("Picture"),
        widget=forms.FileInput(attrs={"accept": "image/jpeg,image/png,image/webp"}),
        error_messages={"required": _("Choose a picture."), "empty": REFUSED["not_a_picture"]},
        help_text=_("JPEG, PNG or WebP, at most 12 MB. It is made smaller; where and when it was taken is not kept."),
    )
    shows = forms.CharField(
        label=_("What it shows"),
        max_length=200,
        help_text=_("Read out to people who do not see it, such as “Start: elbows under the bar”."),
    )

    def __init__(self, *args: Any, present: Photo | None, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        # With one there, words alone may be changed.
        self.fields["picture"].required = present is None
        if present is not None:
            self.fields["picture"].label = _("Another picture")
            self.fields["shows"].initial = present.shows

    def clean_picture(self) -> Rewritten | None:
        upload = self.cleaned_data["picture"]
        if upload is None:
            return None
        try:
            if upload.size > LARGEST_UPLOAD_BYTES:
                raise NotAPhoto("too_large")
            return rewritten(upload.read())
        except NotAPhoto as refused:
            raise ValidationError(self.REFUSED[refused.code]) from refused
