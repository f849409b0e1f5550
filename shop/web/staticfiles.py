"""Static files under names that change with what is in them."""

from whitenoise.storage import CompressedManifestStaticFilesStorage


class HashedOnceCollected(CompressedManifestStaticFilesStorage):
    """Hashed and compressed once `collectstatic` has run; under their plain names until then."""

    def stored_name(self, name):
        return super().stored_name(name) if self.hashed_files else name
