"""Lists that people import: as a CSV file, or as its lines typed."""

from django import forms

LARGEST_FILE = 2 * 1024 * 1024


class ListForm(forms.Form):
    """A list as a CSV file or its lines typed; once valid it has the `text` and the `rows` of it.

    What it is read with stands in boxes of the subclass, named in `READ_WITH`; `read` reads it.
    """

    READ_WITH = ()

    file = forms.FileField(
        label="File",
        required=False,
        help_text="A CSV file of up to 2 MB.",
        widget=forms.FileInput(attrs={"accept": ".csv,.txt,text/csv,text/plain"}),
    )
    text = forms.CharField(
        label="Or the lines themselves",
        required=False,
        strip=False,
        max_length=LARGEST_FILE,
        widget=forms.Textarea(attrs={"rows": 6, "spellcheck": "false"}),
    )

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        first = [name for name in self.fields if name not in ("file", "text")]
        self.order_fields([*first, "file", "text"])

    def read(self, given):
        """The rows of ``given["text"]``; raises ValueError, in words, for what is no such list."""
        raise NotImplementedError

    def clean_file(self):
        """The text of the file."""
        file = self.cleaned_data["file"]
        if file is None:
            return ""
        if file.size > LARGEST_FILE:
            raise forms.ValidationError(
                "This file is over 2 MB. Is it the right one? Choose another."
            )
        try:
            return file.read().decode("utf-8-sig")
        except UnicodeDecodeError as error:
            raise forms.ValidationError(
                "This is no text file in UTF-8. Save the list as CSV (UTF-8) and choose that."
            ) from error

    def clean(self):
        given = super().clean()
        given["text"] = given.get("file") or given.get("text", "")
        if any(name not in given for name in ("file", *self.READ_WITH)):
            return given
        if not given["text"].strip():
            self.add_error("file", "Choose a file, or type the lines below.")
            return given
        try:
            given["rows"] = self.read(given)
        except ValueError as error:
            self.add_error("file" if given["file"] else "text", str(error))
        return given
